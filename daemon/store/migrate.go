package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strconv"

	"github.com/uptrace/bun"

	"antidotary/migrations"
)

// migration is one file of SQL.
type migration struct {
	number int
	name   string
	sql    string
}

var migrationName = regexp.MustCompile(`^(\d{4})_([a-z0-9_]+)\.tx\.up\.sql$`)

// known reads a dialect's migrations, which must count up from 1.
func known(d dialect) ([]migration, error) {
	folder, err := migrations.For(d.name)
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(folder, "*.sql")
	if err != nil {
		return nil, fmt.Errorf("list migrations: %w", err)
	}
	var out []migration
	for i, name := range names {
		m := migrationName.FindStringSubmatch(name)
		if m == nil {
			return nil, fmt.Errorf("migration %s is not named NNNN_name.tx.up.sql", name)
		}
		number, _ := strconv.Atoi(m[1])
		if number != i+1 {
			return nil, fmt.Errorf("migration %s has the wrong number: %04d comes next", name, i+1)
		}
		text, err := fs.ReadFile(folder, name)
		if err != nil {
			return nil, fmt.Errorf("read migration: %w", err)
		}
		out = append(out, migration{number, m[2], string(text)})
	}
	return out, nil
}

// migrate runs what is missing, each file with its mark in one transaction:
// a file that fails leaves nothing, and is not recorded as applied. (The
// library's own migrator writes the mark outside of the transaction.)
func migrate(ctx context.Context, db *bun.DB, d dialect) error {
	list, err := known(d)
	if err != nil {
		return err
	}
	for {
		done, err := migrateOne(ctx, db, list)
		if err != nil || done {
			return err
		}
	}
}

func migrateOne(ctx context.Context, db *bun.DB, list []migration) (done bool, err error) {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return false, fmt.Errorf("begin a migration: %w", classified(err))
	}
	defer tx.Rollback()
	if _, err := tx.ExecContext(ctx, `CREATE TABLE IF NOT EXISTS schema_version (number INTEGER PRIMARY KEY, name TEXT NOT NULL)`); err != nil {
		return false, fmt.Errorf("make the table of migrations: %w", classified(err))
	}
	at, err := version(ctx, tx)
	if err != nil {
		return false, err
	}
	switch {
	case at > len(list):
		return false, newer(at, len(list))
	case at == len(list):
		return true, tx.Commit()
	}
	next := list[at]
	if _, err := tx.ExecContext(ctx, next.sql); err != nil {
		return false, fmt.Errorf("run migration %04d_%s: %w", next.number, next.name, classified(err))
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO schema_version (number, name) VALUES (?, ?)`, next.number, next.name); err != nil {
		return false, fmt.Errorf("mark migration %04d_%s: %w", next.number, next.name, classified(err))
	}
	if err := tx.Commit(); err != nil {
		return false, fmt.Errorf("commit migration %04d_%s: %w", next.number, next.name, classified(err))
	}
	return false, nil
}

func version(ctx context.Context, tx bun.IDB) (at int, err error) {
	if err := tx.QueryRowContext(ctx, `SELECT coalesce(max(number), 0) FROM schema_version`).Scan(&at); err != nil {
		return 0, fmt.Errorf("read the schema's version: %w", classified(err))
	}
	return at, nil
}

// ErrNewer: the database was made by a newer program.
var ErrNewer = errors.New("the database is newer than this program")

func newer(at, most int) error {
	return fmt.Errorf("%w: its schema is %04d, and this program knows up to %04d; install the newer program", ErrNewer, at, most)
}

// sameSchema refuses a database that this program cannot read.
func sameSchema(ctx context.Context, tx bun.IDB, d dialect) error {
	list, err := known(d)
	if err != nil {
		return err
	}
	at, err := version(ctx, tx)
	switch {
	case err != nil:
		return err
	case at > len(list):
		return newer(at, len(list))
	case at < len(list):
		return fmt.Errorf("the database's schema is %04d and this program needs %04d: start antidotary serve once, which brings it up to date", at, len(list))
	}
	return nil
}
