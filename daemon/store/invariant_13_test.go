package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"syscall"
	"testing"

	"github.com/lib/pq"
	"github.com/lib/pq/pqerror"

	"antidotary/daemon/store/faults"
	"antidotary/inventory"
)

// TestInvariant13FullDisk, the file may not grow: PRAGMA max_page_count on the
// writer's connection leaves room for none, one, two ... more pages. Whatever
// does not fit fails with ErrFull and leaves nothing; what was acknowledged is
// there; and with room the same handle goes on, without anybody's doing.
func TestInvariant13FullDisk(t *testing.T) {
	for _, w := range []mutation{{"commit", readyToCommit, false}, {"commit of many", readyToCommitMany, true}, {"a sweep of long mails", readyToSweepLong, false}} {
		t.Run(w.name, func(t *testing.T) {
			database := fresh["sqlite"](t)
			st := reopened(t, database)
			by := watching(t, database)
			refused := 0
			for room := range 12 {
				do := w.ready(t, st)
				limitTo(t, st, room)
				acknowledged, err := untilFull(t, st, by, w, &do)
				if !errors.Is(err, ErrFull) {
					t.Fatalf("room for %d pages: after %d: %v, want ErrFull", room, acknowledged, err)
				}
				refused++
				if err := do(t.Context()); !errors.Is(err, ErrFull) { // the disk is as full as before
					t.Errorf("room for %d pages: again: %v, want ErrFull", room, err)
				}
				unlimited(t, st)
				if err := do(t.Context()); err != nil {
					t.Errorf("with room again: %v", err)
				}
				if r := verified(t, st); r.Problem != "" {
					t.Error(r.Problem)
				}
			}
			ok(t, st.Close())
			if r := verified(t, reopened(t, database)); r.Problem != "" {
				t.Error(r.Problem)
			}
			t.Logf("the disk was full %d times", refused)
		})
	}
}

// untilFull makes mutations until one fails: all before it are there, and
// nothing of it is. do is left as the one that failed.
func untilFull(t *testing.T, st *Store, by *watcher, w mutation, do *func(context.Context) error) (acknowledged int, err error) {
	t.Helper()
	const most = 2000
	for ; acknowledged < most; acknowledged++ {
		before := by.rows(t)
		if err = (*do)(t.Context()); err != nil {
			if left := changes(before, by.rows(t)); left != "" {
				t.Errorf("it failed with %v, and left %s", err, left)
			}
			return acknowledged, err
		}
		if changes(before, by.rows(t)) == "" {
			t.Error("success was reported, and nothing is there")
		}
		*do = w.ready(t, st)
	}
	return acknowledged, nil
}

func readyToSweepLong(t *testing.T, st *Store) func(context.Context) error {
	guard, m := guardOf(t, st), mailTo("a@house.example")
	m.Bytes = []byte(strings.Repeat("a long mail\r\n", 3000))
	sweep := Sweep{ID: inventory.NewID(), Started: noon, Mails: []Mail{m}}
	return func(ctx context.Context) error { return st.StoreSweep(ctx, guard, sweep) }
}

// limitTo leaves room for so many pages more.
func limitTo(t *testing.T, st *Store, room int) {
	t.Helper()
	var pages int
	ok(t, st.writer.QueryRowContext(t.Context(), `PRAGMA page_count`).Scan(&pages))
	var now int
	ok(t, st.writer.QueryRowContext(t.Context(), fmt.Sprintf(`PRAGMA max_page_count = %d`, pages+room)).Scan(&now))
	if now != pages+room {
		t.Fatalf("the limit is %d pages, not %d", now, pages+room)
	}
}

func unlimited(t *testing.T, st *Store) {
	t.Helper()
	_, err := st.writer.ExecContext(t.Context(), `PRAGMA max_page_count = 1073741823`)
	ok(t, err)
}

// TestInvariant13FaultyDisk: what the driver says when a disk fails, or a
// server's is full, at each operation of each write: nothing is there, the
// kind of error is known, and the same handle goes on.
func TestInvariant13FaultyDisk(t *testing.T) {
	for name, c := range map[string]struct {
		says  error
		heard error
	}{
		"sqlite":   {syscall.EIO, syscall.EIO},
		"postgres": {&pq.Error{Severity: pqerror.SeverityFatal, Code: "53100", Message: "could not extend file"}, ErrFull},
	} {
		for _, w := range mutations() {
			t.Run(name+"/"+w.name, func(t *testing.T) {
				database := fresh[name](t)
				ok(t, reopened(t, database).Close())
				by := watching(t, database)
				log, whole := undisturbed(t, database, by, w)
				for n, commit := 0, commitIn(log); n < len(log); n++ {
					if !w.worthwhile(log, n) {
						continue
					}
					err := strike(t, database, by, w, int64(n+1), n > commit, whole, trouble{"meets a bad disk", faults.FailOnce, false, c.says})
					if ends := log[n].Kind == faults.Rollback; !errors.Is(err, c.heard) && !(ends && err == nil) { // of what was only read
						t.Errorf("operation %d (%s): %v, want %v", n+1, log[n], err, c.heard)
					}
				}
			})
		}
	}
}
