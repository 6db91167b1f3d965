package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"net/url"
	"sync/atomic"
	"testing"
	"time"

	"antidotary/daemon/store/faults"
)

// trouble is what happens to one operation.
type trouble struct {
	name  string
	mode  faults.Mode
	after bool
	err   error // what the caller hears; nil: the fault's own
}

// troubles are a fault, an answer that is lost, and one that does not come
// until the caller calls it off; and the driver's word for a connection that
// is of no use, upon which database/sql may do things again by itself.
var troubles = []trouble{
	{"fails", faults.FailOnce, false, nil},
	{"loses its answer", faults.LoseOnce, false, nil},
	{"hangs, not done", faults.HangOnce, false, nil},
	{"hangs, done", faults.HangOnce, true, nil},
	{"fails on a bad connection", faults.FailOnce, false, driver.ErrBadConn},
	{"loses its answer with the connection", faults.LoseOnce, false, driver.ErrBadConn},
}

// disturbed is one store whose n-th operation goes wrong while it is armed.
type disturbed struct {
	*Store
	plan  *faults.Plan
	armed atomic.Bool
}

func disturbing(t *testing.T, database string, at int64, how trouble) *disturbed {
	t.Helper()
	d := &disturbed{}
	d.plan = &faults.Plan{At: at, Mode: how.mode, After: how.after, Err: how.err,
		Count: func(op faults.Op) bool { return d.armed.Load() && op.Kind != faults.Open }}
	base := "sqlite"
	if IsServer(database) {
		base = "postgres"
	}
	name, err := faults.Register(base, d.plan)
	ok(t, err)
	d.Store, err = Open(t.Context(), database, Options{Clock: func() time.Time { return noon }, Driver: name})
	ok(t, err)
	return d
}

// suffer does something while armed, and calls it off as soon as it hangs.
func (d *disturbed) suffer(t *testing.T, do func(context.Context) error) error {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() {
		select {
		case <-d.plan.Hanging():
			cancel()
		case <-ctx.Done():
		}
	}()
	d.armed.Store(true)
	defer d.armed.Store(false)
	return do(ctx)
}

// undisturbed counts a mutation's operations, and says what it changes.
func undisturbed(t *testing.T, database string, by *watcher, w mutation) (log []faults.Op, whole string) {
	t.Helper()
	st := disturbing(t, database, 0, troubles[0])
	defer st.Close()
	do := w.ready(t, st.Store)
	before := by.rows(t)
	if err := st.suffer(t, do); err != nil {
		t.Fatalf("undisturbed: %v", err)
	}
	if whole = changes(before, by.rows(t)); whole == "" {
		t.Fatal("undisturbed, it changes nothing")
	}
	return st.plan.Log(), whole
}

// worthwhile leaves out operations: the rows of a bulk insert that are like
// their neighbours, and of a mutation of many rows all but each such row's
// last and the commit.
func (m mutation) worthwhile(log []faults.Op, n int) bool {
	alike := func(i int) bool { return i >= 0 && i < len(log) && log[i] == log[n] }
	last := alike(n-1) && !alike(n+1) || log[n].Kind == faults.Commit
	return everyOperation || last || !m.many && (!alike(n-1) || !alike(n+1))
}

// strike disturbs operation n of a mutation. Afterwards nothing of it is there
// or all of it, once; success was reported if and only if it is there; and
// the same handle goes on: what is not there is done again, and there is one
// of it. late: the commit is over, and what comes after it (an erasure takes
// old pages out of the files) fails or is called off; the error says that it
// is to be done again.
func strike(t *testing.T, database string, by *watcher, w mutation, n int64, late bool, whole string, how trouble) (err error) {
	t.Helper()
	st := disturbing(t, database, n, how)
	defer st.Close()
	do := w.ready(t, st.Store)
	before := by.rows(t)
	err = st.suffer(t, do)
	op, struck := st.plan.Struck()
	if !struck {
		t.Fatalf("operation %d did not come", n)
	}
	got := changes(before, by.rows(t))
	problem := ""
	switch {
	case got != "" && got != whole:
		problem = "neither nothing nor all of it is there, once"
	case err == nil && got == "":
		problem = "success was reported, and nothing is there"
	case err != nil && got != "" && !late:
		problem = "failure was reported, and it is there"
	case err != nil && !late && how.mode == faults.HangOnce && !errors.Is(err, context.Canceled):
		problem = "it was called off, and the error is not context.Canceled"
	}
	if problem != "" {
		t.Errorf("%s: operation %d (%s) %s: %s\ngot  %s\nwant %s\nerr  %v", w.name, n, op, how.name, problem, got, whole, err)
	}
	goesOnAfter(t, st.Store, by, before, do, err, whole)
	return err
}

// goesOnAfter does it again if it failed, and something else, with the same
// handle.
func goesOnAfter(t *testing.T, st *Store, by *watcher, before map[string][]string, do func(context.Context) error, failed error, whole string) {
	t.Helper()
	rolledBack(t, st)
	if failed != nil {
		if err := do(t.Context()); err != nil {
			t.Errorf("after %v: again: %v", failed, err)
		}
		if got := changes(before, by.rows(t)); got != whole {
			t.Errorf("after %v: again: %s, want %s", failed, got, whole)
		}
	}
	committed(t, st, anOffice())
	if r := verified(t, st); r.Problem != "" {
		t.Error(r.Problem)
	}
}

// TestInvariant10LostReplyOnAnyWrite: each write of the store, on both
// databases, with each of its operations going wrong in each way.
func TestInvariant10LostReplyOnAnyWrite(t *testing.T) {
	for name, place := range fresh {
		for _, w := range mutations() {
			t.Run(name+"/"+w.name, func(t *testing.T) {
				database := place(t)
				reopened(t, database).Close()
				by := watching(t, database)
				log, whole := undisturbed(t, database, by, w)
				strikes, commit := 0, commitIn(log)
				for n := range log {
					for i, how := range troubles {
						if !w.worthwhile(log, n) || !everyOperation && log[n].Kind != faults.Commit && i%3 != n%3 {
							continue // in the ordinary run a third of the troubles for each, all for the commit
						}
						strikes++
						late := n > commit || n == commit && commit < len(log)-1 && how.mode == faults.HangOnce
						strike(t, database, by, w, int64(n+1), late, whole, how)
						if t.Failed() {
							return
						}
					}
				}
				t.Logf("%d operations, %d strikes, which change: %s", len(log), strikes, whole)
			})
		}
	}
}

func commitIn(log []faults.Op) int {
	for n, op := range log {
		if op.Kind == faults.Commit {
			return n
		}
	}
	return len(log)
}

// TestInvariant10LostReplyOnTheNetwork: the server's real answer to the COMMIT
// of each write is lost with its connection, ended or reset; success is
// reported, because it is there. Where the server never heard the COMMIT
// failure is reported, because it is not.
func TestInvariant10LostReplyOnTheNetwork(t *testing.T) {
	database := onServer(t)
	reopened(t, database).Close()
	by := watching(t, database)
	for _, w := range mutations() {
		_, whole := undisturbed(t, database, by, w)
		for _, reset := range []bool{false, true} {
			for _, heard := range []bool{false, true} {
				t.Run(fmt.Sprintf("%s, reset %t, heard by the server %t", w.name, reset, heard), func(t *testing.T) {
					proxy, st := throughProxy(t, database, reset)
					do := w.ready(t, st)
					before, want := by.rows(t), ""
					if heard {
						want = whole
						proxy.CutReplyTo("COMMIT")
					} else {
						proxy.CutBefore("COMMIT")
					}
					err := do(t.Context())
					if got := changes(before, by.rows(t)); heard != (err == nil) || got != want || proxy.Fired() != 1 {
						t.Errorf("%d cuts: %v, and what is there: %q, want %q", proxy.Fired(), err, got, want)
					}
					if !heard && !errors.Is(err, ErrUnreachable) {
						t.Errorf("%v, want ErrUnreachable", err)
					}
					goesOnAfter(t, st, by, before, do, err, whole)
				})
			}
		}
	}
}

// throughProxy opens a store whose connections all pass a proxy.
func throughProxy(t *testing.T, database string, reset bool) (*faults.Proxy, *Store) {
	t.Helper()
	u, err := url.Parse(database)
	ok(t, err)
	proxy, err := faults.NewProxy(u.Host)
	ok(t, err)
	t.Cleanup(func() { ok(t, proxy.Close()) })
	proxy.Reset = reset
	u.Host = proxy.Addr()
	return proxy, reopened(t, u.String())
}

// rolledBack waits until the server has noticed that a broken connection's
// transaction is over: until then a claim passes over the rows that it locked.
func rolledBack(t *testing.T, st *Store) {
	t.Helper()
	if st.dialect.skipLocked == "" {
		return
	}
	for open := 1; open > 0; {
		err := st.reader.DB.QueryRowContext(t.Context(), `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()
			AND pid <> pg_backend_pid() AND backend_type = 'client backend' AND state <> 'idle'`).Scan(&open)
		ok(t, err)
	}
}
