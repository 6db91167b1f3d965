package store

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"

	"antidotary/inventory"
)

// PostgresVariable names the server on which tests may make databases:
// postgres://USER@HOST:PORT/NAME?sslmode=disable. Without it what needs
// PostgreSQL is skipped, and said so; .ci/run starts a server of its own.
const postgresVariable = "ANTIDOTARY_POSTGRES"

// onServer gives the address of a new, empty database of this test alone.
func onServer(t testing.TB) string {
	t.Helper()
	server := os.Getenv(postgresVariable)
	if server == "" {
		t.Skipf("NOT TESTED ON POSTGRESQL: %s is not set; see DEVELOPERS.md, Tests", postgresVariable)
	}
	id := inventory.NewID()
	name := fmt.Sprintf("antidotary_%x", id[:])
	administrator(t, server, `CREATE DATABASE `+name)
	t.Cleanup(func() { administrator(t, server, `DROP DATABASE `+name+` WITH (FORCE)`) })
	u, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	u.Path = "/" + name
	return u.String()
}

func administrator(t testing.TB, server, statement string) {
	t.Helper()
	db, err := sql.Open("postgres", server)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(context.Background(), statement); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}

// fresh gives where a new database may be, by the name of its dialect.
var fresh = map[string]func(testing.TB) string{
	"sqlite":   func(t testing.TB) string { return t.TempDir() + "/records.db" },
	"postgres": onServer,
}

// besides opens a connection of its own to a database, beside the store.
func besides(t testing.TB, database string) *sql.DB {
	t.Helper()
	driver, dsn := "sqlite", "file:"+database+"?_pragma=busy_timeout(5000)"
	if strings.HasPrefix(database, "postgres") {
		driver, dsn = "postgres", database
	}
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// with gives the address of a server's database with one more setting.
func with(t testing.TB, address, setting, value string) string {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	q.Set(setting, value)
	u.RawQuery = q.Encode()
	return u.String()
}
