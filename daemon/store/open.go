package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/uptrace/bun"
)

// Options is what a store is opened with.
type Options struct {
	Clock func() time.Time // of transactions; must be set to write
	// SharedClock takes the time of a transaction from the database, where
	// several processes share one: a lease must not depend on whose clock is
	// right. It means nothing to SQLite.
	SharedClock bool
	Password    string // of the database server; kept out of the address
	// Driver replaces the name of the database/sql driver; tests use it to
	// make the n-th operation fail.
	Driver string
}

// IsServer says whether a database is an address of a PostgreSQL server; else
// it is the path of a SQLite file.
func IsServer(database string) bool {
	return strings.HasPrefix(database, "postgres://") || strings.HasPrefix(database, "postgresql://")
}

// Open opens a database for writing and brings its schema up to date. A
// SQLite file is made where it is missing, and a second process on it is
// refused; a PostgreSQL server may serve several.
func Open(ctx context.Context, database string, opt Options) (*Store, error) {
	s := &Store{clock: opt.Clock}
	err := s.open(ctx, database, opt, false)
	if err == nil {
		err = migrate(ctx, s.writer, s.dialect)
	}
	return s.orClosed(err, opt)
}

// OpenReadOnly opens a database to be asked, beside a daemon that writes.
func OpenReadOnly(ctx context.Context, database string, opt Options) (*Store, error) {
	s := &Store{clock: opt.Clock}
	if s.clock == nil {
		s.clock = func() time.Time { return time.UnixMicro(0) }
	}
	err := s.open(ctx, database, opt, true)
	if err == nil {
		err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error { return sameSchema(ctx, tx, s.dialect) })
	}
	return s.orClosed(err, opt)
}

func (s *Store) open(ctx context.Context, database string, opt Options, readOnly bool) error {
	if IsServer(database) {
		return s.openPostgres(ctx, database, opt, readOnly)
	}
	return s.openSQLite(ctx, database, opt, readOnly)
}

func (s *Store) orClosed(err error, opt Options) (*Store, error) {
	if err != nil {
		return nil, withoutPassword(errors.Join(err, s.Close()), opt.Password)
	}
	return s, nil
}

// connect makes a pool.
func connect(d dialect, driver, dsn string, most int) (*bun.DB, error) {
	if driver == "" {
		driver = d.driver
	}
	db, err := sql.Open(driver, dsn)
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	db.SetMaxOpenConns(most)
	db.SetMaxIdleConns(most)
	return bun.NewDB(db, d.bun()), nil
}
