package store

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/daemon/store/faults"
)

// copiedContent gives the rows of all tables but the holds, whose identifiers
// differ from life to life, and how many holds there are.
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
		if !there {
			if err := lived(t, path, &faults.Plan{}, noon, copies); err != nil {
				t.Errorf("again: %v", err)
			}
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
