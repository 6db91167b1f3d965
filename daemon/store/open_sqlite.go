package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	"github.com/uptrace/bun"
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

// openSQLite opens a file. Two daemons on one file would each tell people of
// the same things, so whoever writes holds a lock.
func (s *Store) openSQLite(ctx context.Context, path string, opt Options, readOnly bool) (err error) {
	s.dialect = sqliteDialect
	if readOnly {
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("there is no database %s: name it in the configuration, or make one with antidotary demo --keep FOLDER", path)
		}
		s.reader, err = connect(s.dialect, opt.Driver, dsn(path, true), 4)
		return err
	}
	if s.lock, err = lockFile(path + ".lock"); err != nil {
		return fmt.Errorf("open the database %s: %w", path, err)
	}
	if err := ownFile(path); err != nil {
		return err
	}
	if s.writer, err = connect(s.dialect, opt.Driver, dsn(path, false), 1); err != nil {
		return err
	}
	if err := check(ctx, s.writer); err != nil {
		return fmt.Errorf("open the database %s: %w", path, err)
	}
	s.reader, err = connect(s.dialect, opt.Driver, dsn(path, true), 4)
	return err
}

// ownFile makes a file that nobody else may read, where there is none: SQLite
// would make one that others may. It leaves one that is there alone: closing
// any descriptor of it drops the locks that SQLite holds in this process.
func ownFile(database string) error {
	if IsServer(database) {
		return nil
	}
	f, err := os.OpenFile(database, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("make the database's file: %w", err)
	}
	return f.Close()
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
