package store

import (
	"context"
	"errors"
	"fmt"
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
// before the store was written; each test is named for its own. "Contract"
// names a promise of contract_test.go, held on both databases in four zones.
//
// Two dialects, one store:
//
//	a time in a DATE column moves with the zone    TestTrapDateMovesWithTheZone, TestTrapColumnTypes; contract: days stay days
//	a time in SQLite's DATE column is text         TestTrapDayColumnsRefuseOtherText; contract: what is refused by the tables
//	nanoseconds are cut off                        contract: trap nanoseconds, instants stay instants
//	SQL's own time has another form                TestTrapSQLMakesNoTime
//	a PRAGMA reaches one connection                TestTrapPragmaReachesOneConnection
//	deferred transactions fail at once             TestTrapDeferredTransactionsFailAtOnce, TestTrapTwoChangesAtOnce; contract: many commit at once
//	a query past the transaction waits for ever    TestTrapOnlyOneConnection
//	what a key refuses is known by its code        TestTrapForeignKeyIsRefused; contract: what is refused by the tables
//
// Migrations (the store has its own runner):
//
//	numbers clash or leave a gap                   migrations.TestNumbersCountUp, migrations.TestEveryDialectHasTheSame, TestBothDatabasesHaveTheSameTables
//	equal names in two folders merge               TestTrapFoldersDoNotMerge
//	one that fails is marked, or leaves half       TestTrapFailedMigration
//	the mark is outside of the transaction         TestAMigrationThatIsKilled
//	the lock is a row that stays                   TestTrapALockThatStays
//	many start at once                             TestTrapManyStartAtOnce
//	a schema newer than the program                TestTrapNewerSchema
//
// Databases and drivers:
//
//	timestamps, max of them, JSONB, ->>            TestTrapColumnTypes, TestTrapSQLMakesNoTime: there are none
//	placeholders and quotes within text            TestTrapTextIsNoStatement
//	more rows than a statement has parameters      TestTrapManyParameters
//	a NUL in text, bytes that are not UTF-8        TestTrapNULInText; contract: nothing is kept that would not come back
//	SKIP LOCKED is one database's                  contract: a claim gives each mail to one
//	the year 10000 sorts before 2026               contract: nothing is kept that would not come back, what is refused by the tables
//	a default takes the place of zero              TestTrapZeroIsStored; contract: records come back (bare over full)
//	a zero time is the year 1                      TestTrapZeroIsStored
//	an empty list is the JSON word null            TestTrapListsAreTextOrNothing
//	an autocommitted write runs twice              TestNoWriteIsAutocommitted, TestALostAnswerToACommit
//	the server's certificate is not checked        TestTrapAddress
//	the password is in an error                    TestTrapPasswordInAnError
//	the server's zone                              TestTrapTheServersZone
//	a deadline that is no DeadlineExceeded         contract: a deadline is a deadline
//	who waits for a lock                           contract: whoever waits too long is told
//	settings that lose what was acknowledged       TestTrapUnsafeSettings, TestTrapUnsafeServer
//	a statement or transaction that takes too long TestTrapSlowStatement, TestTrapIdleTransaction
//	whose clock is right                           TestTrapWhoseClock
//	errors are told apart by their text            TestTrapErrorCodes; contract: what is refused by the tables
//	a name too long for its index                  TestTrapANameTooLongForItsIndex
//	a connection that died                         TestTrapTerminatedBackend, TestTrapIdleConnectionsThatDied
//	two programs on one server                     TestTrapTwoStoresOnOneServer; contract: another store sees
//	two programs on one file                       TestTrapSecondProcess
//	a path that means something in a URL           TestTrapPathIsNoURL
//
// Those that do not apply: templates of migrations and what the library's
// generator writes into them (files are written by hand, and have no
// placeholders); ALTER COLUMN and COMMENT ON (no migration has them);
// LISTEN and NOTIFY, and poolers between program and server (neither is used:
// who waits for mail asks again); int64 counts (a matter for the compiler);
// journal modes other than the write-ahead log (TestTrapPragmaReachesOneConnection demands it).

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
// the machine, of the clock, of the server and of the reader. (The library
// writes every time in UTC: half past midnight on 1 March, an hour east of
// Greenwich, became 28 February.)
func TestTrapDateMovesWithTheZone(t *testing.T) {
	local := time.Local
	defer func() { time.Local = local }()
	k := newKeys()
	want, err := batchOf(fullRecords(k)).Apply(&compliance.Snapshot{})
	ok(t, err)
	zones := []string{"Pacific/Kiritimati", "Pacific/Pago_Pago", "America/Sao_Paulo", "Asia/Kathmandu", "UTC"}
	for database, place := range fresh {
		t.Run(database, func(t *testing.T) {
			for i, name := range zones {
				writes, reads := zoneOf(t, name), zoneOf(t, zones[(i+1)%len(zones)])
				time.Local = writes
				t.Setenv("PGTZ", writes.String())
				path := place(t)
				st, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon.In(writes) }})
				ok(t, err)
				committed(t, st, batchOf(fullRecords(k)))
				m := mailTo("a@house.example")
				queued(t, st, m)
				ok(t, st.Close())
				time.Local = reads
				t.Setenv("PGTZ", reads.String())
				view, err := reopened(t, path).Read(t.Context())
				ok(t, err)
				if diff := cmp.Diff(recordsIn(want), recordsIn(view.Snapshot)); diff != "" {
					t.Errorf("written in %s, read in %s:\n%s", writes, reads, diff)
				}
				if !view.Digests[DigestKey{m.Recipient, m.LocalDay}] || !view.Snapshot.Pulse.Swept.Equal(noon) {
					t.Errorf("written in %s, read in %s: the digest's day or the instant moved: %v, %s", writes, reads, view.Digests, view.Snapshot.Pulse.Swept)
				}
			}
		})
	}
}

// contractTrapNanoseconds: an instant comes back to the microsecond, in UTC, and
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
