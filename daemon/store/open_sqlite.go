package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/uptrace/bun"
	"github.com/uptrace/bun/dialect/sqlitedialect"
)

// dsn names the database with what measurements showed to be needed: WAL with
// full synchronisation, foreign keys on each connection (a PRAGMA by Exec
// reaches one of the pool), and immediate transactions (a deferred one that
// reads before it writes fails at once when another writes). What is erased
// is overwritten (secure_delete), not only marked as free.
func dsn(path string, readOnly bool) string {
	// Path-escape what would end the name or begin the parameters.
	name := (&url.URL{Path: filepath.ToSlash(path)}).EscapedPath()
	s := "file:" + name + "?_pragma=busy_timeout(5000)&_pragma=foreign_keys(1)&_pragma=trusted_schema(0)&_time_format=sqlite"
	if readOnly {
		return s + "&_pragma=query_only(1)"
	}
	return s + "&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=secure_delete(1)&_txlock=immediate"
}

// Open opens a SQLite file for writing, makes it where it is missing, and
// brings its schema up to date. A second process is refused: two daemons on
// one file would each tell people of the same things.
func Open(ctx context.Context, path string, opt Options) (_ *Store, err error) {
	s := &Store{dialect: sqliteDialect, clock: opt.Clock}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.Close())
		}
	}()
	if s.lock, err = lockFile(path + ".lock"); err != nil {
		return nil, fmt.Errorf("open the database %s: %w", path, err)
	}
	driver := s.dialect.driver
	if opt.Driver != "" {
		driver = opt.Driver
	}
	if s.writer, err = connect(driver, dsn(path, false), 1); err != nil {
		return nil, err
	}
	if err := check(ctx, s.writer); err != nil {
		return nil, fmt.Errorf("open the database %s: %w", path, err)
	}
	if err := migrate(ctx, s.writer, s.dialect); err != nil {
		return nil, err
	}
	if s.reader, err = connect(driver, dsn(path, true), 4); err != nil {
		return nil, err
	}
	return s, nil
}

// OpenReadOnly opens a SQLite file to be asked, beside a daemon that writes.
func OpenReadOnly(ctx context.Context, path string) (_ *Store, err error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no database %s: name it in the configuration, or make one with antidotary demo --keep FOLDER", path)
	}
	s := &Store{dialect: sqliteDialect, clock: func() time.Time { return time.UnixMicro(0) }}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.Close())
		}
	}()
	if s.reader, err = connect(s.dialect.driver, dsn(path, true), 4); err != nil {
		return nil, err
	}
	return s, s.read(ctx, func(ctx context.Context, tx bun.Tx) error { return sameSchema(ctx, tx, s.dialect) })
}

func connect(driver, dsn string, most int) (*bun.DB, error) {
	db, err := sql.Open(driver, dsn)
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	db.SetMaxOpenConns(most)
	db.SetMaxIdleConns(most)
	return bun.NewDB(db, sqlitedialect.New()), nil
}

// emptyLog brings the write-ahead log into the file and cuts it off: older
// pages are in it until then.
func emptyLog(ctx context.Context, db *bun.DB) error {
	var busy, inLog, moved int
	if err := db.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &inLog, &moved); err != nil {
		return fmt.Errorf("empty the write-ahead log: %w", classified(err))
	}
	if busy != 0 {
		return fmt.Errorf("empty the write-ahead log: %w", ErrBusy)
	}
	return nil
}

// check refuses a file that is damaged.
func check(ctx context.Context, db *bun.DB) error {
	var verdict string
	if err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&verdict); err != nil {
		return fmt.Errorf("check the file: %w", classified(err))
	}
	if verdict != "ok" {
		return fmt.Errorf("the file is damaged (%s): restore a backup", verdict)
	}
	return nil
}
