package faults

import (
	"context"
	"crypto/rand"
	"database/sql"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/lib/pq"
	_ "modernc.org/sqlite"
)

// database is one that a test has to itself, with an empty table entry.
type database struct {
	driver, dsn string
	plain       *sql.DB // past all faults
}

func sqliteDatabase(t *testing.T) database {
	t.Helper()
	dsn := "file:" + filepath.ToSlash(filepath.Join(t.TempDir(), "faults.db")) + "?_txlock=immediate&_pragma=busy_timeout(2000)&_pragma=journal_mode(WAL)"
	return filled(t, "sqlite", dsn)
}

// postgresDatabase makes a database on the server that ANTIDOTARY_POSTGRES
// names, and drops it after the test.
func postgresDatabase(t *testing.T) (database, pq.Config) {
	t.Helper()
	server := os.Getenv("ANTIDOTARY_POSTGRES")
	if server == "" {
		t.Skip("NOT TESTED ON POSTGRESQL: set ANTIDOTARY_POSTGRES to the DSN of a server where tests may create databases")
	}
	cfg, err := pq.NewConfig(server)
	if err != nil {
		t.Fatal(err)
	}
	admin := opened(t, "postgres", keywords(cfg))
	cfg.Database = "faults_" + strings.ToLower(rand.Text())
	if _, err := admin.ExecContext(t.Context(), "CREATE DATABASE "+cfg.Database); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if _, err := admin.ExecContext(context.Background(), "DROP DATABASE "+cfg.Database+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return filled(t, "postgres", keywords(cfg)), cfg
}

func keywords(cfg pq.Config) string {
	quote := strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace
	return fmt.Sprintf("host='%s' port=%d user='%s' password='%s' dbname='%s' sslmode=disable",
		quote(cfg.Host), cfg.Port, quote(cfg.User), quote(cfg.Password), quote(cfg.Database))
}

// through gives the DSN of the same database behind a proxy.
func through(t *testing.T, p *Proxy, cfg pq.Config) string {
	t.Helper()
	host, port, err := net.SplitHostPort(p.Addr())
	if err != nil {
		t.Fatal(err)
	}
	number, err := strconv.ParseUint(port, 10, 16)
	if err != nil {
		t.Fatal(err)
	}
	cfg.Host, cfg.Port = host, uint16(number)
	return keywords(cfg)
}

func opened(t *testing.T, driver, dsn string) *sql.DB {
	t.Helper()
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db
}

func filled(t *testing.T, driver, dsn string) database {
	t.Helper()
	d := database{driver, dsn, opened(t, driver, dsn)}
	if _, err := d.plain.ExecContext(t.Context(), "CREATE TABLE entry (name text NOT NULL)"); err != nil {
		t.Fatal(err)
	}
	return d
}

// by opens the database by a plan, with one connection: if a fault left it in
// a transaction, or locked, the next one would notice.
func (d database) by(t *testing.T, plan *Plan) *sql.DB {
	t.Helper()
	name, err := Register(d.driver, plan)
	if err != nil {
		t.Fatal(err)
	}
	db := opened(t, name, d.dsn)
	db.SetMaxOpenConns(1)
	return db
}

// rows gives how many entries are there, whoever made them.
func (d database) rows(t *testing.T) (n int) {
	t.Helper()
	if err := d.plain.QueryRowContext(context.Background(), "SELECT count(*) FROM entry").Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// onEach runs a test on both databases.
func onEach(t *testing.T, test func(t *testing.T, d database)) {
	t.Run("sqlite", func(t *testing.T) { test(t, sqliteDatabase(t)) })
	t.Run("postgres", func(t *testing.T) {
		d, _ := postgresDatabase(t)
		test(t, d)
	})
}
