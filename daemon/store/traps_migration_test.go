package store

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// TestTrapNewerSchema: neither to be written nor to be asked.
func TestTrapNewerSchema(t *testing.T) {
	st, path := opened(t)
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	future(t, path)
	if _, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon }}); !errors.Is(err, ErrNewer) {
		t.Errorf("%v, want ErrNewer", err)
	}
	if _, err := OpenReadOnly(t.Context(), path, Options{}); !errors.Is(err, ErrNewer) {
		t.Errorf("%v, want ErrNewer", err)
	}
}

// TestTrapFailedMigration leaves nothing, is not marked as applied, and runs
// once it is mended.
func TestTrapFailedMigration(t *testing.T) {
	for name, broken := range map[string]string{
		"a statement that fails": `CREATE TABLE half (n INTEGER); INSERT INTO half VALUES (1); CREATE TABLE half (n INTEGER);`,
		"a syntax error":         `CREATE TABLE half (n INTEGER); CREATE TABEL other (n INTEGER);`,
		"a constraint":           `CREATE TABLE half (n INTEGER CHECK (n > 1)); INSERT INTO half VALUES (1);`,
	} {
		for database, place := range fresh {
			t.Run(name+" on "+database, func(t *testing.T) {
				st := reopened(t, place(t))
				list, err := known(st.dialect)
				if err != nil {
					t.Fatal(err)
				}
				next := migration{number: len(list) + 1, name: "next", sql: broken}
				for range 2 {
					if _, err := migrateOne(t.Context(), st.writer, st.dialect, append(list, next)); err == nil || !strings.Contains(err.Error(), "next") {
						t.Fatalf("%v, want an error that names the migration", err)
					}
					if at, tables := schemaOf(t, st); at != len(list) || tables != 0 {
						t.Fatalf("it left the version %d and %d tables, want %d and none", at, tables, len(list))
					}
				}
				next.sql = `CREATE TABLE half (n INTEGER)`
				if done, err := migrateOne(t.Context(), st.writer, st.dialect, append(list, next)); err != nil || done {
					t.Fatalf("mended: done %t, %v", done, err)
				}
				if at, tables := schemaOf(t, st); at != next.number || tables != 1 {
					t.Errorf("mended: version %d, %d tables", at, tables)
				}
				if done, err := migrateOne(t.Context(), st.writer, st.dialect, append(list, next)); err != nil || !done {
					t.Errorf("nothing is left to do: done %t, %v", done, err)
				}
			})
		}
	}
}

// schemaOf gives the schema's version, and how many tables are named half.
func schemaOf(t *testing.T, st *Store) (at, tables int) {
	t.Helper()
	err := st.read(t.Context(), func(ctx context.Context, tx bun.Tx) (err error) {
		if at, err = version(ctx, tx, st.dialect); err != nil {
			return err
		}
		tables, err = st.halves(ctx, tx)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return at, tables
}

// halves counts the tables that only half a migration leaves.
func (s *Store) halves(ctx context.Context, tx bun.IDB) (n int, err error) {
	names := map[string]string{"sqlite": "sqlite_schema", "postgres": "(SELECT relname AS name FROM pg_class) c"}[s.dialect.name]
	return n, tx.QueryRowContext(ctx, `SELECT count(*) FROM `+names+` WHERE name = 'half'`).Scan(&n)
}

// TestTrapFoldersDoNotMerge: both have files of the same names, and each
// dialect is given its own.
func TestTrapFoldersDoNotMerge(t *testing.T) {
	for d, other := range map[*dialect]string{&sqliteDialect: "BYTEA", &postgresDialect: "STRICT"} {
		list, err := known(*d)
		if err != nil || len(list) < 7 {
			t.Fatalf("%s: %d migrations, %v", d.name, len(list), err)
		}
		own := 0
		for _, m := range list {
			if strings.Contains(m.sql, other) {
				t.Errorf("%s: %s is of the other folder", d.name, m)
			}
			if strings.Contains(m.sql, map[string]string{"sqlite": ") STRICT", "postgres": "BYTEA"}[d.name]) {
				own++
			}
		}
		if own < 3 {
			t.Errorf("%s: only %d migrations are surely its own", d.name, own)
		}
	}
}

// TestTrapManyStartAtOnce: each migration runs once, and all of them go on to
// work. Without a lock one in four fails.
func TestTrapManyStartAtOnce(t *testing.T) {
	const starts = 8
	for range 3 {
		database, opened := fresh["postgres"](t), make(chan *Store, starts)
		for range starts {
			go func() {
				st, err := Open(context.Background(), database, Options{Clock: func() time.Time { return noon }})
				if err == nil {
					_, err = st.Commit(context.Background(), Actor{ID: "test"}, compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: inventory.NewID().String(), Zone: "UTC"}))
				}
				if err != nil {
					t.Error(err)
				}
				opened <- st
			}()
		}
		var last *Store
		for range starts {
			if st := <-opened; st != nil {
				defer st.Close()
				last = st
			}
		}
		if last == nil {
			t.Fatal("nobody started")
		}
		list, err := known(postgresDialect)
		if err != nil {
			t.Fatal(err)
		}
		var marks int
		if err := besides(t, database).QueryRowContext(t.Context(), `SELECT count(*) FROM schema_version`).Scan(&marks); err != nil || marks != len(list) {
			t.Errorf("%d migrations are marked, want %d (%v)", marks, len(list), err)
		}
		if r := verified(t, last); r.Problem != "" || r.Entries != starts {
			t.Errorf("%+v, want %d entries", r, starts)
		}
	}
}

// TestTrapALockThatStays: that of a migration ends with the connection that
// held it. (A row that says "locked" stays for ever.)
func TestTrapALockThatStays(t *testing.T) {
	database := fresh["postgres"](t)
	db := besides(t, database)
	c, err := db.Conn(t.Context())
	ok(t, err)
	_, err = c.ExecContext(t.Context(), "BEGIN; "+postgresDialect.alone)
	ok(t, err)
	var pid int
	ok(t, c.QueryRowContext(t.Context(), `SELECT pg_backend_pid()`).Scan(&pid))
	opened := make(chan error)
	go func() {
		st, err := Open(context.Background(), database, Options{Clock: func() time.Time { return noon }})
		if err == nil {
			err = st.Close()
		}
		opened <- err
	}()
	waits := `SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND NOT granted AND database = (SELECT oid FROM pg_database WHERE datname = current_database())`
	for n := 0; n == 0; { // it waits for the one that holds the lock
		ok(t, db.QueryRowContext(t.Context(), waits).Scan(&n))
	}
	_, err = db.ExecContext(t.Context(), `SELECT pg_terminate_backend($1)`, pid)
	ok(t, err)
	if err := <-opened; err != nil {
		t.Error(err)
	}
	c.Close()
}
