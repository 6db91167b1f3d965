package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

// Restored is what a restore brought back.
type Restored struct {
	Copied
	Made string // when the backup was made; empty where no manifest says so
	Why  string // what the hold on mail says
}

// Restore brings a backup into a database that must be empty or not there yet,
// in one transaction, and holds all mail: what waited when the backup was made
// may have been sent since. Nothing is deleted, neither the backup nor what
// stands where the database shall be.
func Restore(ctx context.Context, backup, database string, opt Options, withoutManifest bool) (r Restored, err error) {
	if info, err := os.Stat(backup); err != nil || !info.Mode().IsRegular() {
		return r, errors.Join(fmt.Errorf("there is no backup %s: name the file that antidotary backup made", backup), err)
	}
	m, err := readManifest(backup + manifestEnding)
	switch {
	case errors.Is(err, ErrNoManifest) && withoutManifest:
	case errors.Is(err, ErrNoManifest):
		return r, fmt.Errorf("%w: bring %s too, or say --without-manifest", err, filepath.Base(backup)+manifestEnding)
	case err != nil:
		return r, err
	default:
		if err := m.holds(backup); err != nil {
			return r, err
		}
	}
	if err := vacant(ctx, database, opt); err != nil {
		return r, fmt.Errorf("restore into this database: %w", err)
	}
	from, end, err := openBackup(ctx, backup, opt.Clock)
	if err != nil {
		return r, err
	}
	defer func() { err = errors.Join(err, end()) }()
	r.Made, r.Why = m.made, "restored from "+filepath.Base(backup)
	if r.Made != "" {
		r.Why += ", made " + r.Made
	}
	r.Copied, err = from.into(ctx, database, opt, r.Why)
	return r, err
}

// openBackup opens a backup to be read, and finds it whole. One that an older
// program made is brought up to date in a copy that goes with end.
func openBackup(ctx context.Context, backup string, clock func() time.Time) (st *Store, end func() error, err error) {
	st, err = OpenReadOnly(ctx, backup, Options{Clock: clock})
	end = func() error { return st.Close() }
	if errors.Is(err, ErrOlder) {
		st, end, err = openOlder(ctx, backup, clock)
	}
	if err != nil {
		return nil, nil, fmt.Errorf("open the backup: %w", err)
	}
	if err := st.sound(ctx); err != nil {
		return nil, nil, errors.Join(fmt.Errorf("read the backup: %w", err), end())
	}
	return st, end, nil
}

func (s *Store) sound(ctx context.Context) error {
	if err := check(ctx, s.reader); err != nil {
		return err
	}
	report, err := s.Verify(ctx)
	if err == nil && report.Problem != "" {
		err = fmt.Errorf("its journal does not hold: %s; take another backup", report.Problem)
	}
	return err
}

func openOlder(ctx context.Context, backup string, clock func() time.Time) (st *Store, end func() error, err error) {
	folder, err := os.MkdirTemp("", "antidotary-restore-")
	if err != nil {
		return nil, nil, fmt.Errorf("make a copy of an older backup: %w", err)
	}
	newer := filepath.Join(folder, "older.db")
	if err = copyFile(backup, newer); err == nil {
		st, err = Open(ctx, newer, Options{Clock: clock})
	}
	if err != nil {
		return nil, nil, errors.Join(err, os.RemoveAll(folder))
	}
	return st, func() error { return errors.Join(st.Close(), os.RemoveAll(folder)) }, nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("read %s: %w", from, err)
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("copy %s: %w", from, err)
	}
	_, err = io.Copy(out, in)
	if err := errors.Join(err, out.Close()); err != nil {
		return fmt.Errorf("copy %s: %w", from, err)
	}
	return nil
}

// into copies everything into an empty database elsewhere, and reads it back.
func (s *Store) into(ctx context.Context, database string, opt Options, hold string) (c Copied, err error) {
	if err := ownFile(database); err != nil {
		return c, err
	}
	to, err := Open(ctx, database, opt)
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, to.Close()) }()
	if c, err = s.copyInto(ctx, to, hold); err != nil {
		return c, withoutPassword(err, opt.Password)
	}
	holds := int64(0)
	if hold != "" {
		holds = 1
	}
	return c, withoutPassword(to.proven(ctx, c, holds), opt.Password)
}
