package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/lint"
	"antidotary/daemon/store"
	"antidotary/deploy"
	"antidotary/inventory/day"
)

// shippedName begins the name of a pack that comes along.
const shippedName = "shipped/"

// packFile is the text of a rule pack, and where it is.
type packFile struct {
	name    string // as it is told: a path, or shipped/us.yaml
	text    string
	shipped bool
}

// loadedFiles reads the packs that the configuration names.
func (o *Options) loadedFiles() (all []packFile, err error) {
	if o.Config.Shipped {
		if all, err = shippedFiles(); err != nil {
			return nil, err
		}
	}
	own, err := packsAt(o.Config.Rules)
	return append(all, own...), err
}

func shippedFiles() (all []packFile, err error) {
	names, err := fs.Glob(deploy.Rules(), "*.yaml")
	if err != nil {
		return nil, fmt.Errorf("list the packs that come along: %w", err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(deploy.Rules(), name)
		if err != nil {
			return nil, fmt.Errorf("read a pack that comes along: %w", err)
		}
		all = append(all, packFile{shippedName + name, string(text), true})
	}
	return all, nil
}

// packsAt reads files, and the packs in folders.
func packsAt(paths []string) (all []packFile, err error) {
	for _, path := range paths {
		files := []string{path}
		info, err := os.Stat(path)
		if err != nil {
			return nil, fmt.Errorf("read rule packs: %w", err)
		}
		if info.IsDir() {
			if files, err = filepath.Glob(filepath.Join(path, "*.yaml")); err != nil {
				return nil, fmt.Errorf("read rule packs: %w", err)
			}
			if len(files) == 0 {
				return nil, fmt.Errorf("read rule packs: the folder %s has no file whose name ends in .yaml", path)
			}
		}
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				return nil, fmt.Errorf("read rule packs: %w", err)
			}
			all = append(all, packFile{file, string(text), false})
		}
	}
	return all, nil
}

// asked gives the files that somebody asks about and the loaded ones that
// stand beside them; without paths all that are loaded are asked about.
func (o *Options) askedFiles(paths []string) (asked, beside []packFile, err error) {
	loaded, err := o.loadedFiles()
	if err != nil || len(paths) == 0 {
		return loaded, nil, err
	}
	if asked, err = packsAt(paths); err != nil {
		return nil, nil, err
	}
	for _, f := range loaded {
		if !slices.ContainsFunc(asked, func(a packFile) bool { return sameFile(a.name, f.name) }) {
			beside = append(beside, f)
		}
	}
	return asked, beside, nil
}

func sameFile(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// bookOf makes a rulebook of files; those of files that are not asked about
// and have mistakes are left out.
func (o *Options) bookOf(asked, beside []packFile) (*compliance.Rulebook, error) {
	holidays, err := holidaysOf(o.Config)
	if err != nil {
		return nil, err
	}
	texts := make(map[string]string)
	for _, f := range asked {
		texts[f.name] = f.text
	}
	for _, f := range beside {
		if _, err := compliance.ReadPack(f.name, []byte(f.text)); err == nil {
			texts[f.name] = f.text
		}
	}
	book, err := compliance.ReadFiles(holidays, texts)
	if err != nil {
		return nil, fmt.Errorf("read rule packs:\n%w", err)
	}
	return book, nil
}

// recordedHouses are the records, if there are any, and the demo house. why is
// why the records could not be read; empty where they were, or there are none.
func (o *Options) recordedHouses(ctx context.Context, holidays *day.Holidays) (houses []lint.House, why string, err error) {
	q := Question{}
	book := &compliance.Rulebook{Holidays: holidays}
	_, missing := os.Stat(o.Config.Database)
	if store.IsServer(o.Config.Database) || !errors.Is(missing, fs.ErrNotExist) {
		s, err := records(ctx, *o, book, q)
		if err != nil {
			why = err.Error()
		} else {
			houses = append(houses, lint.House{Name: "the records", Snapshot: s})
		}
	}
	q.Demo = "full"
	s, err := records(ctx, *o, book, q)
	if err != nil {
		return nil, why, err
	}
	return append(houses, lint.House{Name: "the demo house", Demo: true, Snapshot: s}), why, nil
}

// baseName is the name of a file without its folder.
func baseName(name string) string { return name[strings.LastIndexAny(name, `/\`)+1:] }
