package daemon

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	packtext "antidotary/compliance/written"
	"antidotary/daemon/answer"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// RecheckAnswer says that somebody read a pack's text again and found it
// unchanged.
type RecheckAnswer struct {
	answer.Telling
	Format  int     `json:"format"`
	File    string  `json:"file"`
	By      string  `json:"by"`
	ReadOn  day.Day `json:"read_on"`
	Review  day.Day `json:"review_by"`
	WasRead day.Day `json:"was_read_on"`
	WasDue  day.Day `json:"was_review_by"`
}

// RecheckRules notes in a pack that its text was read again today and is
// unchanged: two values of the file are new, and not a byte else. A pack that
// comes along is part of the program and is refused.
func RecheckRules(opt Options, pack, by string) (*RecheckAnswer, error) {
	opt.settle()
	file, err := opt.ownPack(pack)
	if err != nil {
		return nil, err
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read the pack: %w", err)
	}
	if _, err := compliance.ReadPack(file, text); err != nil {
		return nil, fmt.Errorf("the pack has mistakes, and is left as it is:\n%w", err)
	}
	today := day.In(opt.Clock(), time.UTC)
	r, err := packtext.Recheck(file, string(text), today)
	if err != nil {
		return nil, err
	}
	if err := replaceFile(file, []byte(r.Text)); err != nil {
		return nil, err
	}
	return &RecheckAnswer{Format: answer.Format, File: file, By: by, ReadOn: today, Review: r.Due, WasRead: r.WasRead, WasDue: r.WasDue}, nil
}

// ownPack finds a pack's file by its path, or by its name among the folders
// that are loaded.
func (o *Options) ownPack(pack string) (string, error) {
	if info, err := os.Stat(pack); err == nil && !info.IsDir() {
		return pack, nil
	}
	own, err := packsAt(o.Config.Rules)
	if err != nil {
		return "", err
	}
	for _, f := range own {
		if packName(f) == pack {
			return f.name, nil
		}
	}
	shipped, err := shippedFiles()
	if err != nil {
		return "", err
	}
	for _, f := range shipped {
		if packName(f) == pack || f.name == pack {
			return "", fmt.Errorf("the pack %s comes along with the program and cannot be changed: antidotary rules copy FOLDER makes copies of your own first", pack)
		}
	}
	return "", fmt.Errorf("there is no file %s and no loaded pack of that name", pack)
}

// replaceFile puts new contents in the place of a file, whole or not at all.
func replaceFile(file string, data []byte) (err error) {
	info, err := os.Stat(file)
	if err != nil {
		return fmt.Errorf("write the pack: %w", err)
	}
	temp, err := os.CreateTemp(filepath.Dir(file), ".recheck-*")
	if err != nil {
		return fmt.Errorf("write the pack: %w", err)
	}
	defer func() {
		if err != nil {
			os.Remove(temp.Name())
		}
	}()
	_, wrong := temp.Write(data)
	if err := errors.Join(wrong, temp.Chmod(info.Mode().Perm()), temp.Sync(), temp.Close()); err != nil {
		return fmt.Errorf("write the pack: %w", err)
	}
	if err := os.Rename(temp.Name(), file); err != nil {
		return fmt.Errorf("write the pack: %w", err)
	}
	return nil
}

// WriteText prints the answer for a terminal.
func (r *RecheckAnswer) WriteText(w io.Writer) error {
	_, err := io.WriteString(w, words.Wrapped(fmt.Sprintf(
		"%s: read again by %s on %s (before: %s) and unchanged, to be read again by %s (before: %s). Nothing else in the file is new, and it does not keep who read it: say so where you keep its history.",
		r.File, r.By, words.Day(r.ReadOn), r.WasRead, words.Day(r.Review), r.WasDue), 88))
	return err
}

// CopyRulesAnswer says which packs were copied.
type CopyRulesAnswer struct {
	answer.Telling
	Format int      `json:"format"`
	Files  []string `json:"files"`
	Folder string   `json:"folder"`
}

// CopyRules copies the packs that come along into a folder, with the schema.
// It writes over nothing.
func CopyRules(folder string) (*CopyRulesAnswer, error) {
	files, err := shippedFiles()
	if err != nil {
		return nil, err
	}
	out := &CopyRulesAnswer{Format: answer.Format, Folder: folder}
	var to []string
	for _, f := range files {
		path := filepath.Join(folder, baseName(f.name))
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%s is there already: choose another folder; nothing was written", path)
		}
		to = append(to, path)
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("make the folder: %w", err)
	}
	for i, f := range files {
		if err := writeNew(to[i], []byte(f.text)); err != nil {
			return nil, err
		}
	}
	out.Files = slices.Clone(to)
	return out, writeSchema(folder)
}

// WriteText prints the answer for a terminal.
func (c *CopyRulesAnswer) WriteText(w io.Writer) error {
	_, err := fmt.Fprintf(w, "Copied: %s.\n\nFor these to stand in the place of those that come along, write in the configuration:\n  rules: [%s]\n  shipped_rules: false\n",
		strings.Join(c.Files, ", "), c.Folder)
	return err
}
