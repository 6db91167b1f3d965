package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/store/faults"
	"antidotary/inventory"
)

// deed is one thing that is done to a store, again and again with the same
// identifiers.
type deed struct {
	do    func(ctx context.Context, st *Store) error
	twice error // what doing it says when it is done already; nil: it is done once more, to the same effect
}

// deeds are the writes whose caller makes the identifiers. Each is for a
// database as base leaves it.
func deeds(guard Guard) map[string]deed {
	records, sweep := batchOf(fullRecords(newKeys())), fullSweep()
	return map[string]deed{
		"a change": {func(ctx context.Context, st *Store) error {
			_, err := st.Commit(ctx, Actor{ID: "test"}, records...)
			return err
		}, nil},
		"a sweep": {func(ctx context.Context, st *Store) error { return st.StoreSweep(ctx, guard, sweep) }, ErrMoved},
	}
}

// based is a database, closed, with one species, a stored sweep and a mail.
func based(t *testing.T) (path string, guard Guard) {
	t.Helper()
	st, path := opened(t)
	committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis arietans"}))
	queued(t, st, mailTo("waits@house.example"))
	guard = guardOf(t, st)
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	return path, guard
}

func copied(t *testing.T, from string) string {
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

// lived is one life of a process that opens a database by a plan and does
// something. It gives the error that it died of.
func lived(t *testing.T, path string, plan *faults.Plan, at time.Time, do func(context.Context, *Store) error) error {
	t.Helper()
	driver, err := faults.Register("sqlite", plan)
	if err != nil {
		t.Fatal(err)
	}
	st, err := Open(context.Background(), path, Options{Clock: func() time.Time { return at }, Driver: driver})
	if err != nil {
		return err
	}
	defer st.Close()
	return do(context.Background(), st)
}

// content is everything that a store holds but what depends on how often it
// was tried: the journal, where a change that is made twice is entered twice.
type content struct {
	Records map[string]inventory.Record
	Tables  map[string]int
	Journal string
}

func contentOf(t *testing.T, path string) content {
	t.Helper()
	st, err := OpenReadOnly(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	tables := counted(t, path)
	delete(tables, "journal")
	return content{recordsIn(view.Snapshot), tables, verified(t, st).Problem}
}

// everyDeath runs a life for each of its operations, killed there with the
// operation done and not done. Each begins with before and ends with after.
func everyDeath(t *testing.T, original string, before func(), do func(context.Context, *Store) error, after func(t *testing.T, path string, done bool)) {
	t.Helper()
	count := &faults.Plan{}
	if err := lived(t, copied(t, original), count, noon, do); err != nil {
		t.Fatal(err)
	}
	operations := count.Operations()
	t.Logf("%d operations", operations)
	stride := int64(1)
	if testing.Short() {
		stride = 5
	}
	for n := int64(1); n <= operations; n += stride {
		for _, performed := range []bool{false, true} {
			before()
			path, plan := copied(t, original), &faults.Plan{At: n, After: performed}
			err := lived(t, path, plan, noon, do)
			if !plan.Dead() {
				t.Fatalf("operation %d of %d: the death did not come (%v)", n, operations, err)
			}
			after(t, path, err == nil)
			if t.Failed() {
				t.Fatalf("that was operation %d of %d, performed %t (%v)", n, operations, performed, err)
			}
		}
	}
}

// TestAllOrNothing: after the death either everything is there or nothing,
// everything if success was reported, the journal holds, and doing it again
// with the same identifiers doubles nothing.
func TestAllOrNothing(t *testing.T) {
	original, guard := based(t)
	nothing := contentOf(t, original)
	for name, d := range deeds(guard) {
		t.Run(name, func(t *testing.T) {
			whole := copied(t, original)
			if err := lived(t, whole, &faults.Plan{}, noon, d.do); err != nil {
				t.Fatal(err)
			}
			everything := contentOf(t, whole)
			if gocmp.Equal(everything, nothing) || everything.Journal != "" {
				t.Fatalf("undisturbed it does nothing, or the journal does not hold: %+v", everything)
			}
			everyDeath(t, original, func() {}, d.do, func(t *testing.T, path string, reported bool) {
				got := contentOf(t, path)
				there := gocmp.Equal(everything, got)
				if !there && (reported || !gocmp.Equal(nothing, got)) {
					t.Errorf("success reported %t, and what is there is neither (-all +got):\n%s", reported, gocmp.Diff(everything, got))
				}
				want := error(nil)
				if there {
					want = d.twice
				}
				if err := lived(t, path, &faults.Plan{}, noon, d.do); !errors.Is(err, want) {
					t.Errorf("again, while it is there %t: %v, want %v", there, err, want)
				}
				if diff := gocmp.Diff(everything, contentOf(t, path)); diff != "" {
					t.Errorf("after doing it again (-all +got):\n%s", diff)
				}
			})
		})
	}
}

// deliver claims what is due, begins it and records the outcome, as often as
// something is due. begun counts the mails that may have gone out.
func deliver(begun *int) func(context.Context, *Store) error {
	return func(ctx context.Context, st *Store) error {
		due, err := st.Claim(ctx, 10, 20*time.Minute)
		for _, c := range due {
			if err := st.DataStarted(ctx, c.ID, c.Token); err != nil {
				return err
			}
			*begun++
			if err := st.Finish(ctx, c.ID, c.Token, Outcome{State: MailSent, Code: 250}); err != nil {
				return err
			}
		}
		return err
	}
}

// TestADeliveryThatIsKilled: the mail is begun at most twice, and the second
// time no sooner than half an hour after the first; in the end it is sent and
// there is one of it.
func TestADeliveryThatIsKilled(t *testing.T) {
	original, _ := based(t)
	begun := 0
	everyDeath(t, original, func() { begun = 0 }, deliver(&begun), func(t *testing.T, path string, reported bool) {
		first := begun
		if reported && first != 1 {
			t.Errorf("success was reported, and %d mails were begun", first)
		}
		for _, later := range []time.Duration{0, 20 * time.Minute, 30*time.Minute - time.Microsecond} {
			if err := lived(t, path, &faults.Plan{}, noon.Add(later), deliver(&begun)); err != nil {
				t.Fatal(err)
			}
			if first == 1 && begun != 1 {
				t.Errorf("begun again %s after it was begun", later)
			}
		}
		if err := lived(t, path, &faults.Plan{}, noon.Add(30*time.Minute), deliver(&begun)); err != nil {
			t.Fatal(err)
		}
		if begun < 1 || begun > 2 {
			t.Errorf("begun %d times", begun)
		}
		if got := states(t, path); !maps.Equal(got, map[MailState]int{MailSent: 1}) {
			t.Errorf("in the end %v", got)
		}
	})
}

func states(t *testing.T, path string) map[MailState]int {
	t.Helper()
	st, err := OpenReadOnly(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	counts, err := st.OutboxCounts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return counts
}

// writes is every write there is, each after what it needs.
func writes(guard Guard) map[string][]func(context.Context, *Store) error {
	var held Claimed
	claims := func(ctx context.Context, st *Store) error {
		due, err := st.Claim(ctx, 10, 20*time.Minute)
		if err == nil && len(due) != 1 {
			return fmt.Errorf("claimed %d", len(due))
		}
		if err == nil {
			held = due[0]
		}
		return err
	}
	begins := func(ctx context.Context, st *Store) error { return st.DataStarted(ctx, held.ID, held.Token) }
	p := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	all := map[string][]func(context.Context, *Store) error{
		"claim": {claims},
		"begin": {claims, begins},
		"erase": {func(ctx context.Context, st *Store) error {
			_, err := st.Commit(ctx, Actor{ID: "test"}, compliance.Record(p))
			return err
		}, func(ctx context.Context, st *Store) error {
			n, err := st.Erase(ctx, p.Ref().String())
			return cmp.Or(err, map[bool]error{false: fmt.Errorf("erased %d", n)}[n == 1])
		}},
	}
	for name, d := range deeds(guard) {
		all[name] = []func(context.Context, *Store) error{d.do}
	}
	for _, state := range []MailState{MailSent, MailDead, MailRetry, MailAmbiguous, MailQueued} {
		all["finish "+string(state)] = []func(context.Context, *Store) error{claims, begins, func(ctx context.Context, st *Store) error {
			return st.Finish(ctx, held.ID, held.Token, Outcome{State: state, NextAttempt: noon.Add(time.Hour)})
		}}
	}
	return all
}

// TestALostAnswerToACommit, on a connection that works otherwise: what was
// written is found by its key, and success is reported. A commit that failed
// is reported as failed, nothing is there, and it can be done again at once.
func TestALostAnswerToACommit(t *testing.T) {
	original, guard := based(t)
	for name, steps := range writes(guard) {
		t.Run(name, func(t *testing.T) {
			for _, fate := range []faults.Fate{faults.Lost, faults.Failed} {
				path, plan := copied(t, original), &faults.Plan{}
				err := lived(t, path, plan, noon, func(ctx context.Context, st *Store) error {
					for _, before := range steps[:len(steps)-1] {
						if err := before(ctx, st); err != nil {
							return err
						}
					}
					last := steps[len(steps)-1]
					was := dump(t, path)
					plan.NextCommit(fate)
					err := last(ctx, st)
					switch {
					case fate == faults.Lost && err != nil:
						t.Errorf("the answer was lost, the work is there, and the caller hears: %v", err)
					case fate == faults.Lost && dump(t, path) == was:
						t.Error("success was reported, and nothing is there")
					case fate == faults.Failed && !errors.Is(err, faults.ErrCommit):
						t.Errorf("the commit failed, and the caller hears: %v", err)
					case fate == faults.Failed && dump(t, path) != was:
						t.Error("failure was reported, and something is there")
					case fate == faults.Failed:
						return last(ctx, st)
					}
					_, err = st.Commit(ctx, Actor{ID: "test"}, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis gabonica"}))
					return err
				})
				if err != nil {
					t.Errorf("fate %d: going on: %v", fate, err)
				}
				if got := contentOf(t, path); got.Journal != "" {
					t.Errorf("fate %d: %s", fate, got.Journal)
				}
			}
		})
	}
}

// dump gives what the tables that change hold, as text.
func dump(t *testing.T, path string) (all string) {
	t.Helper()
	db := outsider(t, path)
	for _, table := range []string{"journal", "organisation", "species", "person", "permit", "sweep", "finding", "finding_transition", "outbox", "reminder"} {
		rows, err := db.QueryContext(t.Context(), `SELECT * FROM `+table)
		if err != nil {
			t.Fatal(err)
		}
		columns, err := rows.Columns()
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			cells, into := make([]any, len(columns)), make([]any, len(columns))
			for i := range cells {
				into[i] = &cells[i]
			}
			if err := rows.Scan(into...); err != nil {
				t.Fatal(err)
			}
			all += fmt.Sprintln(table, cells)
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			t.Fatal(err)
		}
	}
	return all
}
