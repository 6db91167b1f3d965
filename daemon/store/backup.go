package store

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Backup is a copy in a file of its own, read back and found to be whole.
type Backup struct {
	Copied
	File string
	Made time.Time
	Size int64 // bytes
	Sum  [sha256.Size]byte
}

// Backup copies everything, as it is at one instant, into a new SQLite file,
// whatever database this is and beside whoever writes to it. The file appears
// under its name, with its manifest beside it, only when it is on the disk and
// has been read back; before, it is in a folder beside that is named for it
// and goes when Backup ends. Nothing is overwritten.
func (s *Store) Backup(ctx context.Context, file string) (b Backup, err error) {
	b = Backup{File: file, Made: s.clock().UTC().Truncate(time.Second)}
	if err := unused(file); err != nil {
		return b, err
	}
	folder, err := os.MkdirTemp(filepath.Dir(file), "."+filepath.Base(file)+".partial-")
	if err != nil {
		return b, fmt.Errorf("make room for the backup: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	partial := filepath.Join(folder, filepath.Base(file))
	if b.Copied, err = s.copyToFile(ctx, partial); err != nil {
		return b, err
	}
	if b.Sum, b.Size, err = sumOf(partial); err != nil {
		return b, err
	}
	if err := writeManifest(partial+manifestEnding, b); err != nil {
		return b, err
	}
	if err := unused(file); err != nil { // somebody else's, meanwhile
		return b, err
	}
	// The manifest first: where the backup is, its manifest is too.
	for _, ending := range []string{manifestEnding, ""} {
		if err := os.Rename(partial+ending, file+ending); err != nil {
			return b, fmt.Errorf("name the backup: %w", err)
		}
	}
	return b, syncFolder(filepath.Dir(file))
}

// unused refuses to overwrite.
func unused(file string) error {
	for _, name := range []string{file, file + manifestEnding} {
		if _, err := os.Lstat(name); err == nil {
			return fmt.Errorf("%s is there already, and a backup overwrites nothing: choose another name", name)
		} else if !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("look for %s: %w", name, err)
		}
	}
	return nil
}

// copyToFile makes the copy, closes it and reads it back.
func (s *Store) copyToFile(ctx context.Context, path string) (c Copied, err error) {
	if err := ownFile(path); err != nil {
		return c, err
	}
	to, err := Open(ctx, path, Options{Clock: s.clock})
	if err != nil {
		return c, err
	}
	if c, err = s.copyInto(ctx, to, ""); err == nil {
		err = to.oneFile(ctx)
	}
	if err := errors.Join(err, to.Close()); err != nil {
		return c, fmt.Errorf("write the backup: %w", err)
	}
	if err := syncFile(path); err != nil {
		return c, err
	}
	back, err := OpenReadOnly(ctx, path, Options{})
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, back.Close()) }()
	if err := check(ctx, back.reader); err != nil {
		return c, fmt.Errorf("read the backup: %w", err)
	}
	return c, back.proven(ctx, c, 0)
}

// oneFile ends the use of a write-ahead log, so that the file is all that
// there is, and can be read from a disk that cannot be written to.
func (s *Store) oneFile(ctx context.Context) error {
	if err := s.reader.Close(); err != nil {
		return fmt.Errorf("close the readers: %w", err)
	}
	var mode string
	if err := s.writer.QueryRowContext(ctx, "PRAGMA journal_mode = delete").Scan(&mode); err != nil {
		return fmt.Errorf("end the write-ahead log: %w", classified(err))
	}
	if mode != "delete" {
		return fmt.Errorf("end the write-ahead log: it stays %q", mode)
	}
	return nil
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("put %s on the disk: %w", path, err)
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("put %s on the disk: %w", path, err)
	}
	return nil
}

func sumOf(path string) (sum [sha256.Size]byte, size int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return sum, 0, fmt.Errorf("read %s: %w", path, err)
	}
	defer f.Close()
	h := sha256.New()
	if size, err = io.Copy(h, f); err != nil {
		return sum, 0, fmt.Errorf("read %s: %w", path, err)
	}
	return [sha256.Size]byte(h.Sum(nil)), size, nil
}
