package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
)

// mutation is one way to change a database, for the tests that disturb it.
// ready makes what it needs, and gives what is to be disturbed: the same
// identifiers however often it is done.
type mutation struct {
	name  string
	ready func(t *testing.T, st *Store) func(context.Context) error
	many  bool // it writes so many rows that only some operations are disturbed
}

// mutations are all that the store offers.
func mutations() []mutation {
	all := []mutation{
		{"commit", readyToCommit, false}, {"commit of many", readyToCommitMany, true}, {"sweep", readyToSweep, false}, {"queue", readyToQueue, false},
		{"claim", readyToClaim, false}, {"start", readyToStart, false}, {"erase", readyToErase, false}, {"erase actor", readyToEraseActor, false},
		{"claim slot", readyToClaimSlot, false}, {"release", readyToRelease, false}, {"prune", readyToPrune, false},
	}
	for _, state := range []MailState{MailSent, MailDead, MailRetry, MailAmbiguous, MailQueued} {
		all = append(all, mutation{"finish " + string(state), func(t *testing.T, st *Store) func(context.Context) error { return readyToFinish(t, st, state) }, false})
	}
	for name, problem := range map[string]error{"end slot, done": nil, "end slot, failed": errors.New("it did not work")} {
		all = append(all, mutation{name, func(t *testing.T, st *Store) func(context.Context) error { return readyToFinishSlot(t, st, problem) }, false})
	}
	return all
}

func readyToCommit(_ *testing.T, st *Store) func(context.Context) error {
	return committing(st, Actor{ID: "test"}, anOffice(), anOffice(),
		compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}),
		compliance.Record(compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}))
}

func readyToCommitMany(_ *testing.T, st *Store) func(context.Context) error {
	var all compliance.Batch
	for range manyAtOnce {
		all = append(all, anOffice())
	}
	return committing(st, Actor{ID: "test"}, all...)
}

// anOffice is a record that conflicts with no other.
func anOffice() compliance.Change {
	id := inventory.NewID()
	return compliance.Record(compliance.Authority{ID: id, Title: "office " + id.String(), Zone: "UTC"})
}

func committing(st *Store, by Actor, changes ...compliance.Change) func(context.Context) error {
	return func(ctx context.Context) error {
		_, err := st.Commit(ctx, by, changes...)
		return err
	}
}

func readyToSweep(t *testing.T, st *Store) func(context.Context) error {
	guard, sweep := guardOf(t, st), fullSweep()
	sweep.Texts = []Text{{Hash: inventory.NewID().String(), Kind: TextRules, Files: map[string]string{"a": "b"}}}
	return func(ctx context.Context) error { return st.StoreSweep(ctx, guard, sweep) }
}

func readyToQueue(_ *testing.T, st *Store) func(context.Context) error {
	mails := []Mail{mailTo("a@house.example"), mailTo("b@house.example")}
	return func(ctx context.Context) error { return st.Queue(ctx, mails) }
}

// oneDue makes one mail due, whatever was left behind before.
func oneDue(t *testing.T, st *Store) {
	t.Helper()
	for len(claim(t, st)) > 0 {
	}
	ok(t, st.Queue(t.Context(), []Mail{mailTo("c@house.example")}))
}

func readyToClaim(t *testing.T, st *Store) func(context.Context) error {
	oneDue(t, st)
	return func(ctx context.Context) error {
		due, err := st.Claim(ctx, 10, 20*time.Minute)
		if err == nil && len(due) != 1 {
			return fmt.Errorf("claimed %d, want 1", len(due))
		}
		return err
	}
}

func claimedOne(t *testing.T, st *Store) Claimed {
	t.Helper()
	oneDue(t, st)
	due := claim(t, st)
	if len(due) != 1 {
		t.Fatalf("claimed %d, want 1", len(due))
	}
	return due[0]
}

func readyToStart(t *testing.T, st *Store) func(context.Context) error {
	c := claimedOne(t, st)
	return func(ctx context.Context) error { return st.DataStarted(ctx, c.ID, c.Token) }
}

func readyToFinish(t *testing.T, st *Store, state MailState) func(context.Context) error {
	c := claimedOne(t, st)
	ok(t, st.DataStarted(t.Context(), c.ID, c.Token))
	outcome := Outcome{State: state, Code: 250, Enhanced: "2.0.0", Reply: "as it came"}
	if state == MailRetry || state == MailQueued {
		outcome.NextAttempt = noon.Add(time.Hour)
	}
	return func(ctx context.Context) error { return st.Finish(ctx, c.ID, c.Token, outcome) }
}

func readyToErase(t *testing.T, st *Store) func(context.Context) error {
	p := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	committed(t, st, compliance.Record(p))
	return func(ctx context.Context) error {
		_, err := st.Erase(ctx, p.Ref().String())
		return err
	}
}

func readyToEraseActor(t *testing.T, st *Store) func(context.Context) error {
	by := Actor{ID: inventory.NewID().String(), Name: "Somebody Invented"}
	ok(t, committing(st, by, compliance.Record(compliance.Person{ID: inventory.NewID(), Called: "X"}))(t.Context()))
	return func(ctx context.Context) error {
		_, err := st.EraseActor(ctx, by)
		return err
	}
}

func readyToClaimSlot(_ *testing.T, st *Store) func(context.Context) error {
	c := SlotClaim{Job: inventory.NewID().String(), Worker: "w", Lease: 10 * time.Minute, Due: hourly}
	return func(ctx context.Context) error {
		_, claimed, err := st.ClaimSlot(ctx, c)
		if err == nil && !claimed {
			return errors.New("the slot was not claimed")
		}
		return err
	}
}

func readyToFinishSlot(t *testing.T, st *Store, problem error) func(context.Context) error {
	run := taken(t, st, SlotClaim{Job: inventory.NewID().String(), Worker: "w", Lease: 10 * time.Minute, Due: hourly}, true)
	return func(ctx context.Context) error { return st.FinishSlot(ctx, run, problem, time.Minute) }
}

// readyToRelease: a mail waits that was queued at the instant of the hold.
func readyToRelease(t *testing.T, st *Store) func(context.Context) error {
	oneDue(t, st)
	held(t, st, "a test")
	return func(ctx context.Context) error {
		out, err := st.Release(ctx, Actor{ID: "test"}, true)
		if err == nil && out == nil {
			return errors.New("there was no hold")
		}
		return err
	}
}

func readyToPrune(t *testing.T, st *Store) func(context.Context) error {
	ok(t, readyToFinish(t, st, MailSent)(t.Context()))
	return func(ctx context.Context) error {
		_, err := st.Prune(ctx, noon.Add(time.Hour))
		return err
	}
}

// watcher sees every row of every table, on a connection beside the store.
type watcher struct {
	db      *sql.DB
	queries map[string]string
	columns map[string][]string
}

func watching(t *testing.T, database string) *watcher {
	t.Helper()
	w := &watcher{db: besides(t, database), columns: columnsIn(t, database), queries: make(map[string]string)}
	for table, columns := range w.columns {
		w.queries[table] = `SELECT "` + strings.Join(columns, `", "`) + `" FROM ` + table
	}
	return w
}

func (w *watcher) rows(t *testing.T) map[string][]string {
	t.Helper()
	out := make(map[string][]string, len(w.queries))
	for table, query := range w.queries {
		out[table] = rowsAsText(t, w.db, query, w.columns[table])
	}
	return out
}

// changes says how many rows went and came in each table that differs: an
// altered row goes and comes. Empty: nothing at all is different.
func changes(before, after map[string][]string) string {
	var out []string
	for _, table := range slices.Sorted(maps.Keys(after)) {
		count := make(map[string]int)
		for _, row := range before[table] {
			count[row]--
		}
		for _, row := range after[table] {
			count[row]++
		}
		gone, come := 0, 0
		for _, n := range count {
			gone, come = gone+max(-n, 0), come+max(n, 0)
		}
		if gone+come > 0 {
			out = append(out, fmt.Sprintf("%s -%d +%d", table, gone, come))
		}
	}
	return strings.Join(out, ", ")
}
