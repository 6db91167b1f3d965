package sweep_test

import (
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"antidotary/daemon/store"
	"antidotary/inventory"
)

// postgresVariable names the server on which tests may make databases. Without
// it what needs PostgreSQL is skipped, and said so; .ci/run starts a server of
// its own.
const postgresVariable = "ANTIDOTARY_POSTGRES"

// fresh gives where a new database may be, and copied gives a copy of one that
// nobody has open. Both are this test's alone.
var (
	fresh = map[string]func(testing.TB) string{
		"sqlite":   func(t testing.TB) string { return filepath.Join(t.TempDir(), "house.db") },
		"postgres": func(t testing.TB) string { return onServer(t, "") },
	}
	copied = map[string]func(testing.TB, string) string{"sqlite": copiedFile, "postgres": onServer}
)

func copiedFile(t testing.TB, from string) string {
	t.Helper()
	data, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "copy.db")
	if err := os.WriteFile(to, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return to
}

// onServer makes a database on the server, a copy of another if one is named.
func onServer(t testing.TB, from string) string {
	t.Helper()
	server := os.Getenv(postgresVariable)
	if server == "" {
		t.Skipf("NOT TESTED ON POSTGRESQL: %s is not set; see DEVELOPERS.md, Tests", postgresVariable)
	}
	u, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	id, like := inventory.NewID(), ""
	name := fmt.Sprintf("antidotary_%x", id[:])
	if from != "" {
		original, err := url.Parse(from)
		if err != nil {
			t.Fatal(err)
		}
		like = " TEMPLATE " + strings.TrimPrefix(original.Path, "/")
	}
	administrator(t, server, `CREATE DATABASE `+name+like)
	t.Cleanup(func() { administrator(t, server, `DROP DATABASE IF EXISTS `+name+` WITH (FORCE)`) })
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
	if _, err := db.Exec(statement); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}

// dropped ends a copy before its test ends: hundreds of them fill a disk.
func dropped(t testing.TB, database string) {
	t.Helper()
	if !store.IsServer(database) {
		return // the folder of the test goes with it
	}
	u, err := url.Parse(database)
	if err != nil {
		t.Fatal(err)
	}
	administrator(t, os.Getenv(postgresVariable), `DROP DATABASE `+strings.TrimPrefix(u.Path, "/")+` WITH (FORCE)`)
}

// driverOf names the driver of a database, and how to open it past the store.
func driverOf(database string) (driver, dsn string) {
	if store.IsServer(database) {
		return "postgres", database
	}
	return "sqlite", "file:" + database + "?_pragma=query_only(1)"
}
