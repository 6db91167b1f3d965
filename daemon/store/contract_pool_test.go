package store

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/lib/pq"
)

// pools make openers for one run through the contract. What they open is as
// good as new and cheaper: a copy of an empty file, or a database of a server
// that was emptied after whoever had it before.
var pools = map[string]func(t *testing.T, zone string) opener{
	"sqlite":   copies,
	"postgres": emptied,
}

// copies opens copies of one empty file.
func copies(t *testing.T, _ string) opener {
	empty := filepath.Join(t.TempDir(), "empty.db")
	if err := reopened(t, empty).Close(); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(empty)
	if err != nil {
		t.Fatal(err)
	}
	return func(t *testing.T) *Store {
		cases.note(t)
		path := filepath.Join(t.TempDir(), "house.db")
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		return reopened(t, path)
	}
}

// emptied opens databases that are emptied afterwards and used again. Each
// has the zone as its own, and what else a careless administrator may set.
func emptied(t *testing.T, zone string) opener {
	another := func() string {
		address := onServer(t)
		u, err := url.Parse(address)
		if err != nil {
			t.Fatal(err)
		}
		for _, setting := range []string{"timezone = '" + zone + "'", "datestyle = 'German'", "bytea_output = 'escape'"} {
			administrator(t, address, "ALTER DATABASE "+strings.TrimPrefix(u.Path, "/")+" SET "+setting)
		}
		return address
	}
	free := []string{another()}
	unaltered := make(map[string]string)
	return func(inner *testing.T) *Store {
		cases.note(inner)
		if len(free) == 0 {
			free = append(free, another())
		}
		address := free[len(free)-1]
		free = free[:len(free)-1]
		inner.Cleanup(func() { // after the store was closed
			if emptiedAsNew(inner, address, unaltered[address]) {
				free = append(free, address)
			}
		})
		st := reopened(inner, address)
		if unaltered[address] == "" {
			unaltered[address] = fingerprint(inner, besides(inner, address))
		}
		return st
	}
}

// fingerprint is what emptying does not restore.
func fingerprint(t *testing.T, db *sql.DB) (print string) {
	t.Helper()
	err := db.QueryRowContext(context.Background(), `SELECT
		(SELECT string_agg(relname || relkind::text, ',' ORDER BY relname) FROM pg_class WHERE relnamespace = 'public'::regnamespace) ||
		(SELECT string_agg(tgname || tgenabled::text, ',' ORDER BY tgname) FROM pg_trigger WHERE NOT tgisinternal) ||
		(SELECT count(*) FROM schema_version)`).Scan(&print)
	if err != nil {
		t.Fatal(err)
	}
	return print
}

// emptiedAsNew takes every row out, and says whether nothing else differs.
func emptiedAsNew(t *testing.T, address, unaltered string) bool {
	db, err := sql.Open("postgres", address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	_, err = db.Exec(`DO $$ DECLARE name text; BEGIN
		SET LOCAL session_replication_role = replica;
		FOR name IN SELECT relname FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND relname <> 'schema_version' LOOP
			EXECUTE format('DELETE FROM %I', name);
		END LOOP;
		ALTER SEQUENCE sweep_number_seq RESTART;
	END $$`)
	if err != nil {
		t.Fatalf("empty the database: %v", err)
	}
	return fingerprint(t, db) == unaltered
}

// placeOf gives the database that a store is on.
func placeOf(t *testing.T, st *Store) (database string) {
	t.Helper()
	ask := `SELECT file FROM pragma_database_list WHERE name = 'main'`
	if st.dialect.name == "postgres" {
		ask = `SELECT current_database()`
	}
	if err := st.reader.QueryRowContext(t.Context(), ask).Scan(&database); err != nil {
		t.Fatal(err)
	}
	if st.dialect.name == "sqlite" {
		return database
	}
	u, err := url.Parse(os.Getenv(postgresVariable))
	if err != nil {
		t.Fatal(err)
	}
	u.Path = "/" + database
	return u.String()
}

// words are those in which PostgreSQL differs from SQLite, where these tests
// go past the store.
var words = []struct {
	sqlite   *regexp.Regexp
	postgres string
}{
	{regexp.MustCompile(`randomblob\(16\)`), `decode(md5(random()::text), 'hex')`},
	{regexp.MustCompile(`randomblob\(32\)`), `decode(md5(random()::text) || md5(random()::text), 'hex')`},
	{regexp.MustCompile(`randomblob\(15\)`), `decode(substr(md5(random()::text), 3), 'hex')`},
	{regexp.MustCompile(`zeroblob\((\d+)\)`), `decode(repeat('00', $1), 'hex')`},
	{regexp.MustCompile(`\bx'([0-9a-f]*)'`), `'\x$1'::bytea`},
	{regexp.MustCompile(`DROP TRIGGER (journal\w+)`), `ALTER TABLE journal DISABLE TRIGGER $1`},
	{regexp.MustCompile(`AS BLOB\b`), `AS bytea`},
}

// speak gives a statement in the words of a connection's database.
func speak(db *sql.DB, statement string) string {
	if _, server := db.Driver().(*pq.Driver); !server {
		return statement
	}
	for _, w := range words {
		statement = w.sqlite.ReplaceAllString(statement, w.postgres)
	}
	for n := 1; strings.Contains(statement, "?"); n++ {
		statement = strings.Replace(statement, "?", fmt.Sprintf("$%d", n), 1)
	}
	return statement
}
