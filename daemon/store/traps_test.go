package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// The traps are those that measurements with these very libraries found,
// before the store was written; each test is named for its own.

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

// TestTrapForeignKeyIsRefused, at once or when the transaction commits, as
// ErrConflict; and the connection goes on.
func TestTrapForeignKeyIsRefused(t *testing.T) {
	st, path := opened(t)
	for name, before := range map[string]string{"at once": "SELECT 1", "at the commit": st.dialect.deferKeys} {
		err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
			if _, err := tx.ExecContext(ctx, before); err != nil {
				return err
			}
			row := rowOfEnclosure(inventory.Enclosure{ID: inventory.NewID(), Site: inventory.NewID(), Code: "e"})
			if _, err := tx.NewInsert().Model(&row).Exec(ctx); err != nil {
				return classified(err)
			}
			return nil
		}, func(context.Context, bun.Tx) (bool, error) { return false, nil })
		if !errors.Is(err, ErrConflict) {
			t.Errorf("%s: %v, want ErrConflict", name, err)
		}
		committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja " + strings.ReplaceAll(name, " ", "-")}))
	}
	var n int
	if err := outsider(t, path).QueryRowContext(t.Context(), `SELECT count(*) FROM enclosure`).Scan(&n); err != nil || n != 0 {
		t.Errorf("%d enclosures of no site, %v", n, err)
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

// TestTrapTwoChangesAtOnce: whoever commits at once with others loses
// nothing, and whoever reads meanwhile sees records and head of one moment.
func TestTrapTwoChangesAtOnce(t *testing.T) {
	st, _ := opened(t)
	const writers, each = 8, 5
	var all sync.WaitGroup
	for w := range writers {
		all.Go(func() {
			for i := range each {
				name := fmt.Sprintf("Naja w%c%c", 'a'+w, 'a'+i)
				if _, err := st.Commit(t.Context(), Actor{ID: "test"}, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: name})); err != nil {
					t.Error(err)
				}
				view, err := st.Read(t.Context())
				if err != nil {
					t.Error(err)
					return
				}
				if int64(view.Snapshot.Species.Len()) != view.Head.Position {
					t.Errorf("%d species at position %d", view.Snapshot.Species.Len(), view.Head.Position)
				}
			}
		})
	}
	all.Wait()
	if r := verified(t, st); r.Problem != "" || r.Entries != writers*each {
		t.Errorf("%+v, want %d entries", r, writers*each)
	}
}

// TestTrapDateMovesWithTheZone: a civil date is the same whatever the zone of
// the machine, of the clock and of the reader.
func TestTrapDateMovesWithTheZone(t *testing.T) {
	local := time.Local
	defer func() { time.Local = local }()
	k := newKeys()
	want, err := batchOf(fullRecords(k)).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	zones := []string{"Pacific/Kiritimati", "Pacific/Pago_Pago", "America/Sao_Paulo", "Asia/Kathmandu", "UTC"}
	for i, name := range zones {
		writes, reads := zone(t, name), zone(t, zones[(i+1)%len(zones)])
		time.Local = writes
		path := filepath.Join(t.TempDir(), "house.db")
		st, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon.In(writes) }})
		if err != nil {
			t.Fatal(err)
		}
		committed(t, st, batchOf(fullRecords(k)))
		m := mailTo("a@house.example")
		queued(t, st, m)
		if err := st.Close(); err != nil {
			t.Fatal(err)
		}
		time.Local = reads
		view, err := reopened(t, path).Read(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(recordsIn(want), recordsIn(view.Snapshot)); diff != "" {
			t.Errorf("written in %s, read in %s:\n%s", writes, reads, diff)
		}
		if !view.Digests[DigestKey{m.Recipient, m.LocalDay}] || !view.Snapshot.Pulse.Swept.Equal(noon) {
			t.Errorf("written in %s, read in %s: the digest's day or the instant moved: %v, %s", writes, reads, view.Digests, view.Snapshot.Pulse.Swept)
		}
	}
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// TestTrapNanoseconds: an instant comes back to the microsecond, in UTC, and
// before 1970 too.
func contractTrapNanoseconds(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	*now = noon.Add(123_456_789 * time.Nanosecond)
	f := fullFinding()
	f.Opened = time.Date(1969, 12, 31, 23, 59, 59, 999_999_000, time.UTC)
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{openedAs(f)}})
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if want := noon.Add(123_456 * time.Microsecond); view.Snapshot.Pulse.Swept != want {
		t.Errorf("swept at %s, want %s", view.Snapshot.Pulse.Swept, want)
	}
	if len(view.Open) != 1 || view.Open[0] != f {
		t.Errorf("opened at %+v, want %s", view.Open, f.Opened)
	}
}

// TestTrapNULInText: a NUL, which would end the statement in the middle, is
// refused or kept, and never cuts a text short; nothing of the change is
// there when it is refused, and the store goes on.
func TestTrapNULInText(t *testing.T) {
	const nul = "a\x00b"
	k := newKeys()
	for name, rec := range map[string]inventory.Record{
		"a required text": inventory.Product{ID: inventory.NewID(), Type: nul},
		"a free text":     inventory.Product{ID: inventory.NewID(), Type: "t", Form: nul},
		"a list":          inventory.Site{ID: inventory.NewID(), Organisation: k.of[inventory.KindOrganisation], Title: "n", Zone: "UTC", Contacts: []inventory.Contact{{Role: nul, Title: nul}}},
	} {
		t.Run(name, func(t *testing.T) {
			st, path := opened(t)
			committed(t, st, batchOf(bareRecords(k)))
			before := contentOf(t, path)
			_, err := st.Commit(t.Context(), Actor{ID: "test"}, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis rhinoceros"}), changeOf(rec))
			after := contentOf(t, path)
			if err != nil {
				if diff := cmp.Diff(before, after); diff != "" {
					t.Errorf("refused (%v), and it left:\n%s", err, diff)
				}
			} else if diff := cmp.Diff(rec, after.Records[rec.Ref().String()]); diff != "" {
				t.Errorf("taken, and came back otherwise:\n%s", diff)
			}
			committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis gabonica"}))
			if r := verified(t, st); r.Problem != "" {
				t.Error(r.Problem)
			}
		})
	}
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
		t.Run(name, func(t *testing.T) {
			st, _ := opened(t)
			list, err := known(sqliteDialect)
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

// schemaOf gives the schema's version, and how many tables are named half.
func schemaOf(t *testing.T, st *Store) (at, tables int) {
	t.Helper()
	err := st.read(t.Context(), func(ctx context.Context, tx bun.Tx) (err error) {
		if at, err = version(ctx, tx, st.dialect); err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema WHERE name = 'half'`).Scan(&tables)
	})
	if err != nil {
		t.Fatal(err)
	}
	return at, tables
}

// TestTrapDayColumnsRefuseOtherText: what is no day cannot be stored as one.
func TestTrapDayColumnsRefuseOtherText(t *testing.T) {
	st, path := opened(t)
	p := compliance.Person{ID: inventory.NewID(), Called: "p", Joined: day.Last + 1}
	if _, err := st.Commit(t.Context(), Actor{ID: "test"}, compliance.Record(p)); err == nil {
		t.Error("a day after the last was taken")
	}
	p.Joined = day.Last
	committed(t, st, compliance.Record(p))
	if _, err := outsider(t, path).ExecContext(t.Context(), `UPDATE person SET joined = '2026-03-29 00:00:00+00:00'`); err == nil {
		t.Error("an instant was taken for a day")
	}
}
