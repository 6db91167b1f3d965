package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/uptrace/bun"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
)

// inEveryTable is a database with rows in every table, among them entries of
// which payload and actor were erased, and a mail that was pruned.
func inEveryTable(t *testing.T, database string) *Store {
	t.Helper()
	st := reopened(t, database)
	now := noon.AddDate(0, 0, -3)
	st.clock = func() time.Time { return now }
	k := newKeys()
	committed(t, st, batchOf(fullRecords(k))...)
	committed(t, st, renewsLaterInTheTable()...)
	leaves := Actor{ID: "leaves", Name: "Somebody Invented"}
	if _, err := st.Commit(t.Context(), leaves, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis arietans"})); err != nil {
		t.Fatal(err)
	}
	erasedOf(t, st, k.ref(inventory.KindPerson).String(), leaves)
	stored(t, st, guardOf(t, st), fullSweep())
	for i, c := range claim(t, st) {
		if err := st.Finish(t.Context(), c.ID, c.Token, Outcome{State: []MailState{MailSent, MailRetry}[i], Reply: "é\n", NextAttempt: now}); err != nil {
			t.Fatal(err)
		}
	}
	now = noon
	if p, err := st.Prune(t.Context(), noon); err != nil || p.Mails != 1 {
		t.Fatalf("%+v, %v", p, err)
	}
	filledByHand(t, st)
	return st
}

// renewsLaterInTheTable makes a permit that comes before the one that it
// renews, whichever way rows are read.
func renewsLaterInTheTable() compliance.Batch {
	first, last := compliance.Permit{ID: inventory.ID{0: 1}, Number: "first", Class: "c"}, compliance.Permit{ID: inventory.ID{0: 255}, Number: "last", Class: "c"}
	first.Renews = last.ID
	return batchOf([]inventory.Record{last, first})
}

func erasedOf(t *testing.T, st *Store, subject string, actor Actor) {
	t.Helper()
	payloads, err := st.Erase(t.Context(), subject)
	if err != nil || payloads == 0 {
		t.Fatalf("erased %d, %v", payloads, err)
	}
	if n, err := st.EraseActor(t.Context(), actor); err != nil || n != 1 {
		t.Fatalf("erased %d, %v", n, err)
	}
}

// filledByHand fills the tables that others fill: one run that is done, one
// text, one hold that has ended.
func filledByHand(t *testing.T, st *Store) {
	t.Helper()
	at := micros(noon)
	err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		return errors.Join(
			insertAll(ctx, tx, st.dialect, []jobRunRow{{ID: key(inventory.NewID()), Job: "sweep", Slot: at, State: string(RunDone), Finished: &at}}),
			insertAll(ctx, tx, st.dialect, []keptTextRow{{Hash: "h", Kind: "rules", KeptAt: at, Files: `{"a":"b"}`}}),
			insertAll(ctx, tx, st.dialect, []holdRow{{ID: key(inventory.NewID()), Since: at, Why: "w", Released: &at, ReleasedBy: "r"}}))
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
}

// TestEveryTableAndColumnIsCopied: also those that a later migration adds.
func TestEveryTableAndColumnIsCopied(t *testing.T) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := place(t)
			st := reopened(t, database)
			have := make(map[string][]string)
			for _, c := range everyTable() {
				fields, table := columnsOf(st.reader, c.rowType(), nil)
				if table != c.named() {
					t.Errorf("the rows of %s are those of %s", c.named(), table)
				}
				for _, f := range fields {
					have[table] = append(have[table], f.Name)
				}
				slices.Sort(have[table])
			}
			if diff := cmp.Diff(columnsIn(t, database), have); diff != "" {
				t.Errorf("everyTable copies other than what there is (-schema +copied):\n%s", diff)
			}
		})
	}
}

// copiedTo copies into a new database, reads it back, and gives where it is.
func copiedTo(t *testing.T, from *Store, database string) Copied {
	t.Helper()
	c, err := from.into(t.Context(), database, Options{Clock: func() time.Time { return noon }}, "")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestEverythingComesBack over both databases, in every direction.
func TestEverythingComesBack(t *testing.T) {
	for _, way := range []string{"sqlite postgres sqlite", "postgres sqlite postgres", "sqlite sqlite", "postgres postgres"} {
		t.Run(way, func(t *testing.T) {
			hops := strings.Fields(way)
			database := fresh[hops[0]](t)
			st := inEveryTable(t, database)
			want := everything(t, database)
			for table, rows := range want {
				if len(rows) == 0 {
					t.Errorf("nothing is in %s: this proves less than it says", table)
				}
			}
			head := verified(t, st).Head
			for _, hop := range hops[1:] {
				next := fresh[hop](t)
				if c := copiedTo(t, st, next); c.Head != head || c.Rows["permit"] != int64(len(want["permit"])) {
					t.Errorf("copied %+v, want the head %v", c, head)
				}
				if diff := cmp.Diff(want, everything(t, next)); diff != "" {
					t.Fatalf("to %s (-there +copied):\n%s", hop, diff)
				}
				database, st = next, reopened(t, next)
			}
			goesOn(t, st, head)
		})
	}
}

// goesOn: the copy takes changes and sweeps, which are numbered on.
func goesOn(t *testing.T, st *Store, was Head) {
	t.Helper()
	if now := committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"})); now.Position != was.Position+1 {
		t.Errorf("the journal goes on at %d after %d", now.Position, was.Position)
	}
	if r, err := st.VerifyAgainst(t.Context(), was); err != nil || r.Problem != "" {
		t.Errorf("%+v, %v", r, err)
	}
	queued(t, st, mailTo("later@house.example"))
	var numbers []int64
	if err := st.reader.NewSelect().Model((*sweepRow)(nil)).Column("number").Order("number").Scan(t.Context(), &numbers); err != nil || !slices.Equal(numbers, []int64{1, 2}) {
		t.Errorf("sweeps are numbered %v, %v", numbers, err)
	}
}

// TestManyPages: more rows than a page holds, with keys of one column and of
// several.
func TestManyPages(t *testing.T) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := fresh["sqlite"](t)
			st := reopened(t, database)
			f, sweep := fullFinding(), Sweep{ID: inventory.NewID()}
			sweep.Transitions = []compliance.Transition{openedAs(f)}
			for i := range 2*copyPage + 1 {
				m := mailTo(fmt.Sprintf("%d@house.example", i))
				sweep.Mails = append(sweep.Mails, m)
				sweep.Reminders = append(sweep.Reminders, toldBy(f, m, i%3))
			}
			stored(t, st, guardOf(t, st), sweep)
			to := place(t)
			if c := copiedTo(t, st, to); c.Rows["outbox"] != 2*copyPage+1 || c.Rows["reminder"] != 2*copyPage+1 {
				t.Errorf("%+v", c.Rows)
			}
			if diff := cmp.Diff(everything(t, database), everything(t, to)); diff != "" {
				t.Error("the copy differs")
			}
		})
	}
}

// TestWhateverIsRecordedIsCopied: random records, and every tenth house over
// PostgreSQL too.
func TestWhateverIsRecordedIsCopied(t *testing.T) {
	folder, house := t.TempDir(), 0
	rapid.Check(t, func(rt *rapid.T) {
		house++
		path := filepath.Join(folder, fmt.Sprint(house))
		st := openedAt(rt, path)
		at, sets := &compliance.Snapshot{}, []keys{newKeys(), newKeys()}
		for range rapid.IntRange(1, 3).Draw(rt, "commits") {
			if _, err := st.Commit(t.Context(), Actor{ID: "test"}, randomBatch(rt, sets, &at)...); err != nil {
				rt.Fatal(err)
			}
		}
		places := []string{path + ".copy"}
		if house%10 == 1 && os.Getenv(postgresVariable) != "" {
			places = []string{onServer(t), path + ".copy"}
		}
		for _, to := range places {
			copiedTo(t, st, to)
			st.Close()
			st = openedAt(rt, to)
		}
		if diff := cmp.Diff(everything(t, path), everything(t, path+".copy")); diff != "" {
			rt.Fatalf("(-there +copied):\n%s", diff)
		}
		st.Close()
	})
}

// TestOnlyIntoAnEmptyDatabase: one row in any table, and nothing is copied.
func TestOnlyIntoAnEmptyDatabase(t *testing.T) {
	from := inEveryTable(t, fresh["sqlite"](t))
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			to := place(t)
			st := reopened(t, to)
			committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
			was := everything(t, to)
			if _, err := from.copyInto(t.Context(), st, ""); !errors.Is(err, ErrNotEmpty) {
				t.Errorf("%v, want ErrNotEmpty", err)
			}
			if err := vacant(t.Context(), to, Options{}); !errors.Is(err, ErrNotEmpty) {
				t.Errorf("%v, want ErrNotEmpty", err)
			}
			if diff := cmp.Diff(was, everything(t, to)); diff != "" {
				t.Errorf("it was changed (-before +after):\n%s", diff)
			}
		})
	}
}

// TestACopyThatDiffersIsFound, in its journal, or in the number of rows of any
// table.
func TestACopyThatDiffersIsFound(t *testing.T) {
	from := inEveryTable(t, fresh["sqlite"](t))
	for _, spoil := range []string{
		`DELETE FROM reminder`,
		`DELETE FROM kept_text`,
		`INSERT INTO species SELECT x'00000000000000000000000000000001', 'x', family, common_name, synonyms, venomous, hazards, native_to, range_known, pressure_bandage, no_antivenom, certainty FROM species LIMIT 1`,
		`DROP TRIGGER journal_stays; DELETE FROM journal WHERE position = (SELECT max(position) FROM journal)`,
		`DROP TRIGGER journal_erases_only; UPDATE journal SET payload = payload || ' ' WHERE position = 2`,
	} {
		to := fresh["sqlite"](t)
		c := copiedTo(t, from, to)
		if _, err := besides(t, to).ExecContext(t.Context(), spoil); err != nil {
			t.Fatal(err)
		}
		st := reopened(t, to)
		if err := st.proven(t.Context(), c, 0); !errors.Is(err, ErrDiffers) {
			t.Errorf("%s: %v, want ErrDiffers", spoil, err)
		}
		st.Close()
	}
}

// TestARunThatWasCopiedIsFree: whoever ran it when the copy was made does not
// run it in the copy, so that the watch begins at once there.
func TestARunThatWasCopiedIsFree(t *testing.T) {
	st := reopened(t, fresh["sqlite"](t))
	due := SlotClaim{Job: "sweep", Worker: "one", Lease: time.Hour, Due: func(last, now time.Time) (time.Time, int) {
		if last.IsZero() {
			return now, 0
		}
		return time.Time{}, 0
	}}
	if _, claimed, err := st.ClaimSlot(t.Context(), due); err != nil || !claimed {
		t.Fatal(claimed, err)
	}
	if _, claimed, err := st.ClaimSlot(t.Context(), due); err != nil || claimed {
		t.Fatalf("claimed twice, %v", err)
	}
	to := fresh["sqlite"](t)
	copiedTo(t, st, to)
	if run, claimed, err := reopened(t, to).ClaimSlot(t.Context(), due); err != nil || !claimed || run.Attempts != 2 {
		t.Errorf("%+v, %t, %v; want it to be taken up again", run, claimed, err)
	}
}
