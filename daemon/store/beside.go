package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/uptrace/bun"
)

// OpenBeside opens a database to change records, whether a daemon runs on it
// or not: what happened must be written down at once, and the daemon is asked
// every few seconds whether records changed. On a file that nobody holds the
// schema is brought up to date first, as Open does; on one that a daemon
// holds it must be the daemon's own. Nothing is held in the end, so that a
// daemon may start meanwhile.
func OpenBeside(ctx context.Context, database string, opt Options) (*Store, error) {
	s, err := Open(ctx, database, opt)
	if errors.Is(err, ErrBusy) && !IsServer(database) {
		return besideDaemon(ctx, database, opt)
	}
	if err != nil {
		return nil, err
	}
	if err := s.release(); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// release lets others open the file.
func (s *Store) release() error {
	lock := s.lock
	s.lock = nil
	if lock == nil {
		return nil
	}
	if err := lock.Close(); err != nil {
		return fmt.Errorf("release the lock: %w", err)
	}
	return nil
}

// besideDaemon opens a file that a daemon holds.
func besideDaemon(ctx context.Context, path string, opt Options) (*Store, error) {
	s := &Store{clock: opt.Clock, dialect: sqliteDialect}
	open := func() (err error) {
		if s.writer, err = connect(s.dialect, opt.Driver, dsn(path, false), 1); err != nil {
			return err
		}
		s.reader, err = connect(s.dialect, opt.Driver, dsn(path, true), 4)
		return err
	}
	err := open()
	if err == nil {
		err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error { return sameSchema(ctx, tx, s.dialect) })
	}
	return s.orClosed(err, opt)
}
