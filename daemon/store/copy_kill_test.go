package store

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/daemon/store/faults"
	"antidotary/inventory"
)

// outcome of a copy that was killed: the number of rows in each table, and
// the rows of all but the holds, whose identifiers differ from life to life.
func copiedContent(t *testing.T, database string) (rows map[string][]string, holds int) {
	t.Helper()
	rows = everything(t, database)
	holds = len(rows["mail_hold"])
	delete(rows, "mail_hold")
	return rows, holds
}

// TestACopyThatIsKilled at any of its operations leaves the target empty or
// whole, with its hold; whole if success was reported. Empty, it takes the
// copy again.
func TestACopyThatIsKilled(t *testing.T) {
	source := fresh["sqlite"](t)
	from := inEveryTable(t, source)
	whole, held := copiedContent(t, source)
	copies := func(ctx context.Context, st *Store) error {
		_, err := from.copyInto(ctx, st, "restored")
		return err
	}
	target := fresh["sqlite"](t)
	reopened(t, target).Close()
	nothing, _ := copiedContent(t, target)
	ends := make(map[bool]int)
	everyDeath(t, target, func() {}, copies, func(t *testing.T, path string, reported bool) {
		got, holds := copiedContent(t, path)
		there := cmp.Equal(whole, got) && holds == held+1
		ends[there]++
		if !there && (reported || !cmp.Equal(nothing, got) || holds != 0) {
			t.Errorf("success reported %t, and what is there is neither (-all +got):\n%s", reported, cmp.Diff(whole, got))
		}
		if err := vacant(t.Context(), path, Options{}); there != errors.Is(err, ErrNotEmpty) || !there && err != nil {
			t.Errorf("it is there %t, and it is said to be vacant: %v", there, err)
		}
	})
	if ends[true] == 0 || ends[false] == 0 {
		t.Errorf("%v: no death after the commit, or none before", ends)
	}
}

// TestACopyToAServerThatIsKilled: likewise, at some of the operations.
func TestACopyToAServerThatIsKilled(t *testing.T) {
	source := fresh["sqlite"](t)
	from := inEveryTable(t, source)
	whole, held := copiedContent(t, source)
	copies := func(t *testing.T, plan *faults.Plan) (database string, err error) {
		t.Helper()
		database = fresh["postgres"](t)
		reopened(t, database).Close()
		driver, err := faults.Register("postgres", plan)
		if err != nil {
			t.Fatal(err)
		}
		st, err := Open(context.Background(), database, Options{Clock: func() time.Time { return noon }, Driver: driver})
		if err != nil {
			return database, err
		}
		defer st.Close()
		_, err = from.copyInto(context.Background(), st, "restored")
		return database, err
	}
	count := &faults.Plan{}
	if _, err := copies(t, count); err != nil {
		t.Fatal(err)
	}
	operations := count.Operations()
	stride := max(operations/8, 1)
	for n := operations; n > 0; n -= stride {
		for _, performed := range []bool{false, true} {
			plan := &faults.Plan{At: n, After: performed}
			database, err := copies(t, plan)
			got, holds := copiedContent(t, database)
			there := cmp.Equal(whole, got) && holds == held+1
			if !plan.Dead() || !there && (err == nil || len(got["journal"]) != 0 || holds != 0) {
				t.Errorf("killed at %d of %d, performed %t (%v): there is %d of the journal and %d holds", n, operations, performed, err, len(got["journal"]), holds)
			}
		}
	}
}

// TestALostAnswerToACopy: the copy is there, so success is reported.
func TestALostAnswerToACopy(t *testing.T) {
	from := inEveryTable(t, fresh["sqlite"](t))
	for _, fate := range []faults.Fate{faults.Lost, faults.Failed} {
		target, plan := fresh["sqlite"](t), &faults.Plan{}
		err := lived(t, target, plan, noon, func(ctx context.Context, st *Store) error {
			plan.NextCommit(fate)
			_, err := from.copyInto(ctx, st, "restored")
			return err
		})
		if (fate == faults.Lost) != (err == nil) {
			t.Errorf("fate %d: %v", fate, err)
		}
		if _, holds := copiedContent(t, target); (holds > 0) != (err == nil) {
			t.Errorf("fate %d: %v, and there are %d holds", fate, err, holds)
		}
	}
}

// moved gives where a store was moved to, and the error of it.
func moved(t *testing.T, from, to string) (Copied, error) {
	t.Helper()
	return Move(t.Context(), from, atNoon(), to, atNoon(), "moved to the new one")
}

// TestAMove between the databases: everything is there, mail is held in the
// old one, and not in the new one.
func TestAMove(t *testing.T) {
	for _, way := range [][2]string{{"sqlite", "postgres"}, {"postgres", "sqlite"}, {"sqlite", "sqlite"}} {
		t.Run(way[0]+" to "+way[1], func(t *testing.T) {
			from, to := fresh[way[0]](t), fresh[way[1]](t)
			inEveryTable(t, from).Close()
			want := everything(t, from)
			c, err := moved(t, from, to)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, everything(t, to)); diff != "" {
				t.Errorf("(-there +moved):\n%s", diff)
			}
			old, st := reopened(t, from), reopened(t, to)
			if h, in, err := old.Hold(t.Context()); err != nil || !in || h.Why != "moved to the new one" {
				t.Errorf("the old one: %+v, %t, %v", h, in, err)
			}
			if h, in, err := st.Hold(t.Context()); err != nil || in {
				t.Errorf("the new one: %+v, %t, %v", h, in, err)
			}
			if mails := claim(t, st); len(mails) != 1 || len(claim(t, old)) != 0 {
				t.Errorf("%d mails go out of the new one, want 1, and none out of the old one", len(mails))
			}
			goesOn(t, st, c.Head)
		})
	}
}

// TestAMoveOfADatabaseOnHold: what holds the mail there holds it here.
func TestAMoveOfADatabaseOnHold(t *testing.T) {
	from, to := fresh["sqlite"](t), fresh["sqlite"](t)
	st := reopened(t, from)
	held(t, st, "restored")
	st.Close()
	if _, err := moved(t, from, to); err != nil {
		t.Fatal(err)
	}
	for database, want := range map[string]string{from: "moved to the new one", to: "restored"} {
		if h, in, err := reopened(t, database).Hold(t.Context()); err != nil || !in || h.Why != want {
			t.Errorf("%+v, %t, %v, want %q", h, in, err, want)
		}
	}
}

// TestADatabaseInUseIsNotMoved, and nothing is made of it.
func TestADatabaseInUseIsNotMoved(t *testing.T) {
	lease := micros(noon.Add(time.Minute))
	for _, c := range []struct {
		name, on string
		use      func(t *testing.T, st *Store)
		want     error
	}{
		{"a daemon on the file", "sqlite", func(*testing.T, *Store) {}, ErrBusy},
		{"a daemon on the server", "postgres", func(*testing.T, *Store) {}, ErrInUse},
		{"a job that runs", "postgres", func(t *testing.T, st *Store) {
			err := st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
				return insertAll(ctx, tx, st.dialect, []jobRunRow{{ID: key(inventory.NewID()), Job: "sweep", State: string(RunRunning), LeaseUntil: &lease}})
			}, nil)
			if err != nil {
				t.Fatal(err)
			}
			st.Close()
		}, ErrInUse},
	} {
		t.Run(c.name, func(t *testing.T) {
			from, to := fresh[c.on](t), filepath.Join(t.TempDir(), "new.db")
			c.use(t, inEveryTable(t, from))
			if _, err := moved(t, from, to); !errors.Is(err, c.want) {
				t.Errorf("%v, want %v", err, c.want)
			}
			if _, err := os.Stat(to); err == nil {
				t.Error("something was made")
			}
			if h, in, err := readOnly(t, from).Hold(t.Context()); err != nil || in {
				t.Errorf("%+v, %t, %v", h, in, err)
			}
		})
	}
}

func readOnly(t *testing.T, database string) *Store {
	t.Helper()
	st, err := OpenReadOnly(t.Context(), database, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	return st
}

// TestWhatChangedWhileItWasMoved stays in the old one, which goes on.
func TestWhatChangedWhileItWasMoved(t *testing.T) {
	st := inEveryTable(t, fresh["sqlite"](t))
	c := copiedTo(t, st, fresh["sqlite"](t))
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"}))
	if err := st.retire(t.Context(), c, "moved"); !errors.Is(err, ErrMoved) {
		t.Errorf("%v, want ErrMoved", err)
	}
	if _, in, err := st.Hold(t.Context()); err != nil || in {
		t.Errorf("held %t, %v", in, err)
	}
}

// TestAnOlderBackup is brought up to date by the way, and stays as it is.
func TestAnOlderBackup(t *testing.T) {
	path := filepath.Join(t.TempDir(), "older.backup")
	older(t, path, 6)
	was, _, err := sumOf(path)
	if err != nil {
		t.Fatal(err)
	}
	to := fresh["sqlite"](t)
	if _, err := Restore(t.Context(), path, to, atNoon(), true); err != nil {
		t.Fatal(err)
	}
	if got := everything(t, to); len(got["organisation"]) != 1 || len(got["mail_hold"]) != 1 {
		t.Errorf("%v", got)
	}
	if sum, _, err := sumOf(path); err != nil || sum != was {
		t.Errorf("it was changed (%v)", err)
	}
}

// older makes a database as a program with fewer migrations made it.
func older(t *testing.T, path string, migrations int) {
	t.Helper()
	db, err := connect(sqliteDialect, "", "file:"+path, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	list, err := known(sqliteDialect)
	if err != nil {
		t.Fatal(err)
	}
	for done := false; !done; {
		if done, err = migrateOne(t.Context(), db, sqliteDialect, list[:migrations]); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := db.ExecContext(t.Context(), `INSERT INTO organisation VALUES (x'00000000000000000000000000000001', 'House', 1, 1)`); err != nil {
		t.Fatal(err)
	}
}
