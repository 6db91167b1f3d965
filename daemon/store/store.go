package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
)

// Store is an open database. It is safe for concurrent use.
type Store struct {
	dialect dialect
	clock   func() time.Time
	shared  bool    // the time of transactions is the database's
	writer  *bun.DB // nil when read only
	reader  *bun.DB // read only, several connections
	lock    *os.File

	mu         sync.Mutex
	cached     *compliance.Snapshot // records as of cachedAt, to apply changes to
	at         Head
	remembered *remembered // of findings and reminders; nil: nothing yet
}

// Close closes the database. It may be called more than once.
func (s *Store) Close() error {
	var errs []error
	if s.writer != nil {
		errs = append(errs, s.writer.Close())
	}
	if s.reader != nil {
		errs = append(errs, s.reader.Close())
	}
	if s.lock != nil {
		errs = append(errs, s.lock.Close())
		s.lock = nil
	}
	return errors.Join(errs...)
}

// errReadOnly: the store was opened only to be asked.
var errReadOnly = errors.New("this database was opened only to be read")

// write runs one explicit transaction with one now. Its error means that
// nothing was written, but for a lost answer to the commit itself: written,
// asked in a transaction of its own, says whether the work is there after
// all.
func (s *Store) write(ctx context.Context, work func(ctx context.Context, tx bun.Tx, now time.Time) error,
	written func(ctx context.Context, tx bun.Tx) (bool, error)) error {
	if s.writer == nil {
		return errReadOnly
	}
	tx, err := s.writer.BeginTx(ctx, &sql.TxOptions{})
	if err != nil {
		return fmt.Errorf("begin: %w", ended(ctx, classified(err)))
	}
	defer tx.Rollback() // after a commit this does nothing
	now, err := s.now(ctx, tx)
	if err != nil {
		return ended(ctx, err)
	}
	if err := work(ctx, tx, now); err != nil {
		return ended(ctx, err)
	}
	if err := tx.Commit(); err != nil {
		if s.landed(context.WithoutCancel(ctx), written) {
			return nil
		}
		return fmt.Errorf("commit: %w", ended(ctx, classified(err)))
	}
	return nil
}

// now is the one instant of a transaction, in microseconds: what is stored
// must be what comes back.
func (s *Store) now(ctx context.Context, tx bun.IDB) (time.Time, error) {
	if !s.shared || s.dialect.clock == "" {
		return s.clock().UTC().Truncate(time.Microsecond), nil
	}
	var us int64
	if err := tx.QueryRowContext(ctx, s.dialect.clock).Scan(&us); err != nil {
		return time.Time{}, fmt.Errorf("ask the database for the time: %w", classified(err))
	}
	return instant(us), nil
}

// alone waits until no other transaction changes records or sweeps.
func (s *Store) alone(ctx context.Context, tx bun.IDB) error {
	if s.dialect.alone == "" {
		return nil
	}
	if _, err := tx.ExecContext(ctx, s.dialect.alone); err != nil {
		return fmt.Errorf("wait for other changes: %w", classified(err))
	}
	return nil
}

// landed asks for the work of a commit whose answer was an error.
func (s *Store) landed(ctx context.Context, written func(ctx context.Context, tx bun.Tx) (bool, error)) bool {
	var found bool
	err := s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		found, err = written(ctx, tx)
		return err
	})
	return err == nil && found
}

// read runs one consistent read transaction.
func (s *Store) read(ctx context.Context, work func(ctx context.Context, tx bun.Tx) error) error {
	tx, err := s.reader.BeginTx(ctx, &s.dialect.reading)
	if err != nil {
		return fmt.Errorf("begin reading: %w", ended(ctx, classified(err)))
	}
	defer tx.Rollback()
	return ended(ctx, work(ctx, tx))
}

func micros(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMicro()
}

func instant(us int64) time.Time {
	if us == 0 {
		return time.Time{}
	}
	return time.UnixMicro(us).UTC()
}
