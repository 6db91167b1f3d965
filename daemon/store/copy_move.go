package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/uptrace/bun"
)

// ErrInUse: another program works with a database that shall be moved.
var ErrInUse = errors.New("another antidotary works with this database: stop it first")

// Move copies everything into an empty database elsewhere, reads it back, and
// then holds all mail of the old one, so that starting that by mistake mails
// nobody. why is what the hold says. An error after the copy leaves the old
// database as it was, and the copy where it is.
func Move(ctx context.Context, from string, fromOpt Options, to string, toOpt Options, why string) (c Copied, err error) {
	if err := vacant(ctx, to, toOpt); err != nil {
		return c, fmt.Errorf("move there: %w", err)
	}
	if err := unattended(ctx, from, fromOpt); err != nil {
		return c, err
	}
	old, err := Open(ctx, from, fromOpt)
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, old.Close()) }()
	if c, err = old.into(ctx, to, toOpt, ""); err != nil {
		return c, err
	}
	return c, withoutPassword(old.retire(ctx, c, why), fromOpt.Password)
}

// unattended refuses a server's database that another of our programs is
// connected to, or whose jobs somebody is running. A file has its lock.
func unattended(ctx context.Context, database string, opt Options) error {
	s, err := OpenReadOnly(ctx, database, opt)
	if err != nil {
		return err
	}
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		if s.dialect.company == "" {
			return nil
		}
		var others, running int
		if err := tx.QueryRowContext(ctx, s.dialect.company).Scan(&others); err != nil {
			return fmt.Errorf("look for other programs: %w", classified(err))
		}
		now, err := s.now(ctx, tx)
		if err != nil {
			return err
		}
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM job_run WHERE state = ? AND lease_until > ?`, RunRunning, micros(now)).Scan(&running); err != nil {
			return fmt.Errorf("look for running jobs: %w", classified(err))
		}
		if others > 0 || running > 0 {
			return ErrInUse
		}
		return nil
	})
	return withoutPassword(errors.Join(err, s.Close()), opt.Password)
}

// retire holds all mail of a database that was moved, if nothing happened in
// it since.
func (s *Store) retire(ctx context.Context, moved Copied, why string) error {
	return s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		if err := s.alone(ctx, tx); err != nil {
			return err
		}
		if err := stillAt(ctx, tx, moved.guard); err != nil {
			return fmt.Errorf("%w while they were copied: the old database goes on; stop whatever uses it, and move into another empty one", err)
		}
		return putHold(ctx, tx, why, now)
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		h, held, err := holdIn(ctx, tx)
		return held && h.Why == why, err
	})
}
