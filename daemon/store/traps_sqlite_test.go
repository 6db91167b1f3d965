package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// TestTrapPragmaReachesOneConnection: foreign keys and all else hold on each
// connection of the pools, also on those that replace a lost one.
func TestTrapPragmaReachesOneConnection(t *testing.T) {
	st, _ := opened(t)
	want := map[string]string{"foreign_keys": "1", "busy_timeout": "5000", "journal_mode": "wal", "trusted_schema": "0"}
	for round := range 2 {
		for range 4 {
			c, err := st.reader.Conn(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			defer c.Close()
			holdsPragmas(t, &c, want, map[string]string{"query_only": "1"})
			if round == 0 {
				lose(t, &c)
			}
		}
		c, err := st.writer.Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		holdsPragmas(t, &c, want, map[string]string{"query_only": "0", "synchronous": "2", "secure_delete": "1"})
		if round == 0 {
			lose(t, &c)
		} else if err := c.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func holdsPragmas(t *testing.T, c *bun.Conn, wants ...map[string]string) {
	t.Helper()
	for _, want := range wants {
		for name, value := range want {
			var got string
			if err := c.QueryRowContext(t.Context(), `PRAGMA `+name).Scan(&got); err != nil || got != value {
				t.Errorf("%s is %q, want %q (%v)", name, got, value, err)
			}
		}
	}
}

// lose makes the pool throw a connection away.
func lose(t *testing.T, c *bun.Conn) {
	t.Helper()
	if err := c.Conn.Raw(func(any) error { return driver.ErrBadConn }); !errors.Is(err, driver.ErrBadConn) {
		t.Fatal(err)
	}
}

// TestTrapDeferredTransactionsFailAtOnce: with eight connections that read
// before they write, every one of their transactions commits.
func TestTrapDeferredTransactionsFailAtOnce(t *testing.T) {
	st, path := opened(t)
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	const writers, each = 8, 10
	_, err := outsider(t, path).ExecContext(t.Context(), `CREATE TABLE tally (n INTEGER NOT NULL)`)
	if err != nil {
		t.Fatal(err)
	}
	failed := make(chan error, writers*each)
	var all sync.WaitGroup
	for range writers {
		db, err := connect(sqliteDialect, "sqlite", dsn(path, false), 1)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		all.Go(func() {
			for range each {
				failed <- tallied(t.Context(), db)
			}
		})
	}
	all.Wait()
	close(failed)
	for err := range failed {
		if err != nil {
			t.Error(err)
		}
	}
	var n, distinct int
	if err := outsider(t, path).QueryRowContext(t.Context(), `SELECT count(*), count(DISTINCT n) FROM tally`).Scan(&n, &distinct); err != nil || n != writers*each || distinct != n {
		t.Errorf("%d rows of which %d are distinct, want %d (%v)", n, distinct, writers*each, err)
	}
}

// tallied reads, and writes what follows from it.
func tallied(ctx context.Context, db *bun.DB) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM tally`).Scan(&n); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO tally VALUES (?)`, n); err != nil {
		return err
	}
	return tx.Commit()
}

// TestTrapPathIsNoURL: a path may hold what means something in a URL.
func TestTrapPathIsNoURL(t *testing.T) {
	for _, name := range []string{"a b.db", "a?b.db", "a#b.db", "a%20b.db", "a&_pragma=query_only(1).db", "schlangenhaus-ü.db", "a:b.db"} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), name)
			committed(t, reopened(t, path), compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
			if _, err := os.Stat(path); err != nil {
				t.Errorf("the file is not where it was asked for: %v", err)
			}
			asks, err := OpenReadOnly(t.Context(), path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			defer asks.Close()
			if view, err := asks.Read(t.Context()); err != nil || view.Snapshot.Species.Len() != 1 {
				t.Errorf("asking: %v", err)
			}
		})
	}
}

// TestTrapSecondProcess: a second daemon on one file is refused, and let in
// once the first has gone, also if that one failed to open it.
func TestTrapSecondProcess(t *testing.T) {
	st, path := opened(t)
	for range 2 {
		if _, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon }}); !errors.Is(err, ErrBusy) {
			t.Fatalf("%v, want ErrBusy", err)
		}
	}
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	future(t, path)
	for range 2 { // the refused opening left no lock behind
		if _, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon }}); !errors.Is(err, ErrNewer) || errors.Is(err, ErrBusy) {
			t.Fatalf("%v, want ErrNewer alone", err)
		}
	}
	run(t, outsider(t, path), `DELETE FROM schema_version WHERE number = 9999`)
	if view, err := reopened(t, path).Read(t.Context()); err != nil || view.Snapshot.Species.Len() != 1 {
		t.Errorf("after all: %v", err)
	}
}

// future marks a file as made by a newer program.
func future(t *testing.T, path string) {
	t.Helper()
	run(t, outsider(t, path), `INSERT INTO schema_version VALUES (9999, 'future')`)
}
