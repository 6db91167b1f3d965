package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strconv"
	"strings"

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

// statements splits a file where a line ends in a semicolon, but not within a
// function's body ($$). Each is run by itself, so that an error names the one
// that failed.
func (m migration) statements() (out []string) {
	var b strings.Builder
	body := false
	for line := range strings.Lines(m.sql) {
		code := strings.TrimSpace(line)
		if strings.HasPrefix(code, "--") || code == "" && b.Len() == 0 {
			continue
		}
		b.WriteString(line)
		if strings.Count(code, "$$")%2 == 1 {
			body = !body
		}
		if strings.HasSuffix(code, ";") && !body {
			out = append(out, strings.TrimSpace(b.String()))
			b.Reset()
		}
	}
	if rest := strings.TrimSpace(b.String()); rest != "" {
		out = append(out, rest)
	}
	return out
}

func (m migration) String() string { return fmt.Sprintf("%04d_%s", m.number, m.name) }

// migrate runs what is missing, each file with its mark in one transaction
// that waits for everybody else's: a file that fails leaves nothing, is not
// recorded as applied, and of several daemons that start at once one runs it.
// (The library's own migrator writes the mark outside of the transaction, and
// its lock is a row that a crash leaves behind.)
func migrate(ctx context.Context, db *bun.DB, d dialect) error {
	list, err := known(d)
	if err != nil {
		return err
	}
	for {
		done, err := migrateOne(ctx, db, d, list)
		if err != nil || done {
			return err
		}
	}
}

func migrateOne(ctx context.Context, db *bun.DB, d dialect, list []migration) (done bool, err error) {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return false, fmt.Errorf("begin a migration: %w", classified(err))
	}
	defer tx.Rollback()
	at, err := version(ctx, tx, d)
	if err != nil {
		return false, err
	}
	if at >= len(list) { // whoever may only use the tables need not lock them
		return true, sameVersion(at, list)
	}
	for _, first := range []string{d.patient, d.alone} {
		if _, err := tx.ExecContext(ctx, first); first != "" && err != nil {
			return false, fmt.Errorf("wait for another migration: %w", classified(err))
		}
	}
	if at, err = version(ctx, tx, d); err != nil || at >= len(list) {
		return true, errors.Join(err, sameVersion(at, list))
	}
	if err := list[at].run(ctx, tx); err != nil {
		return false, err
	}
	if err := tx.Commit(); err != nil {
		return false, fmt.Errorf("commit migration %s: %w; nothing of it is there, or all: start again", list[at], classified(err))
	}
	return false, nil
}

// run makes the tables of one file and marks it.
func (m migration) run(ctx context.Context, tx bun.IDB) error {
	if m.number == 1 {
		if _, err := tx.ExecContext(ctx, `CREATE TABLE IF NOT EXISTS schema_version (number INTEGER PRIMARY KEY, name TEXT NOT NULL)`); err != nil {
			return fmt.Errorf("make the table of migrations: %w", classified(err))
		}
	}
	for i, statement := range m.statements() {
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return fmt.Errorf("run migration %s, statement %d: %w; nothing of it was kept", m, i+1, classified(err))
		}
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO schema_version (number, name) VALUES (?, ?)`, m.number, m.name); err != nil {
		return fmt.Errorf("mark migration %s: %w", m, classified(err))
	}
	return nil
}

// version gives the number of the last migration; 0 in an empty database.
func version(ctx context.Context, tx bun.IDB, d dialect) (at int, err error) {
	var tables int
	if err := tx.QueryRowContext(ctx, d.hasSchema).Scan(&tables); err != nil {
		return 0, fmt.Errorf("look for the table of migrations: %w", classified(err))
	}
	if tables == 0 {
		return 0, nil
	}
	if err := tx.QueryRowContext(ctx, `SELECT coalesce(max(number), 0) FROM schema_version`).Scan(&at); err != nil {
		return 0, fmt.Errorf("read the schema's version: %w", classified(err))
	}
	return at, nil
}

// ErrNewer: the database was made by a newer program.
var ErrNewer = errors.New("the database is newer than this program")

// ErrOlder: the database waits for migrations.
var ErrOlder = errors.New("the database is older than this program")

// sameVersion refuses a schema that this program does not know.
func sameVersion(at int, list []migration) error {
	switch {
	case at > len(list):
		return fmt.Errorf("%w: its schema is %04d, and this program knows up to %04d; install the newer program", ErrNewer, at, len(list))
	case at < len(list):
		return fmt.Errorf("%w: its schema is %04d and %04d is needed; antidotary migrate up, or starting antidotary serve, brings it up to date", ErrOlder, at, len(list))
	}
	return nil
}

// sameSchema refuses a database that this program cannot read.
func sameSchema(ctx context.Context, tx bun.IDB, d dialect) error {
	list, err := known(d)
	if err != nil {
		return err
	}
	at, err := version(ctx, tx, d)
	if err != nil {
		return err
	}
	return sameVersion(at, list)
}

// SameSchema is nil while the database has the schema that this program knows.
func (s *Store) SameSchema(ctx context.Context) error {
	return s.read(ctx, func(ctx context.Context, tx bun.Tx) error { return sameSchema(ctx, tx, s.dialect) })
}

// Migration is one step of the schema.
type Migration struct {
	Name    string // "0001_init"
	Applied bool
}

// Migrations says which steps a database has and which it lacks, in order. A
// newer database gives ErrNewer beside those that this program knows.
func Migrations(ctx context.Context, database string, opt Options) (out []Migration, err error) {
	s := &Store{clock: opt.Clock}
	err = s.open(ctx, database, opt, true)
	if err != nil {
		_, err = s.orClosed(err, opt)
		return nil, err
	}
	defer s.Close()
	list, err := known(s.dialect)
	if err != nil {
		return nil, err
	}
	var at int
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		at, err = version(ctx, tx, s.dialect)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i, m := range list {
		out = append(out, Migration{m.String(), i < at})
	}
	if at > len(list) {
		return out, sameVersion(at, list)
	}
	return out, nil
}
