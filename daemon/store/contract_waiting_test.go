package store

import (
	"context"
	"errors"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
)

// impatient gives a store on the same database that waits for others for a
// fifth of a second instead of five seconds, and a way to make it wait.
func impatient(t *testing.T, open opener) (st *Store, hold func(t *testing.T) (release func())) {
	t.Helper()
	st = open(t)
	database := placeOf(t, st)
	ok(t, st.Close())
	first := "BEGIN IMMEDIATE"
	if IsServer(database) {
		st = reopened(t, with(t, database, "lock_timeout", "200"))
		first = "BEGIN; " + st.dialect.alone
	} else {
		st = reopened(t, database)
		_, err := st.writer.ExecContext(t.Context(), "PRAGMA busy_timeout = 200")
		ok(t, err)
	}
	return st, func(t *testing.T) func() {
		t.Helper()
		c, err := besides(t, database).Conn(t.Context())
		ok(t, err)
		_, err = c.ExecContext(t.Context(), first)
		ok(t, err)
		return func() {
			_, err := c.ExecContext(context.Background(), "ROLLBACK")
			ok(t, err)
			ok(t, c.Close())
		}
	}
}

// contractWhoeverWaitsTooLongIsTold by ErrBusy, nothing was written, and once
// the way is free the same again works.
func contractWhoeverWaitsTooLongIsTold(t *testing.T, open opener) {
	st, hold := impatient(t, open)
	guard := guardOf(t, st)
	for name, writes := range waitingWrites(st, &guard) {
		each(t, name, func(t *testing.T) {
			release := hold(t)
			if err := writes(t.Context()); !errors.Is(err, ErrBusy) {
				t.Errorf("%v, want ErrBusy", err)
			}
			if at := guardOf(t, st); at != guard {
				t.Errorf("the store moved to %+v", at)
			}
			release()
			if err := writes(t.Context()); err != nil {
				t.Errorf("with nobody in the way: %v", err)
			}
			guard = guardOf(t, st)
		})
	}
}

// waitingWrites are those that change records or sweeps: one at a time on
// every database.
func waitingWrites(st *Store, guard *Guard) map[string]func(context.Context) error {
	return map[string]func(context.Context) error{
		"commit": func(ctx context.Context) error {
			_, err := st.Commit(ctx, Actor{ID: "test"}, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
			return err
		},
		"sweep": func(ctx context.Context) error { return st.StoreSweep(ctx, *guard, fullSweep()) },
		"erase": func(ctx context.Context) error { _, err := st.Erase(ctx, "person"); return err },
	}
}

// contractADeadlineIsADeadline: whoever calls work off hears
// context.DeadlineExceeded or context.Canceled, whatever the server says to it
// (57014, query canceled), and nothing was written.
func contractADeadlineIsADeadline(t *testing.T, open opener) {
	st, hold := impatient(t, open)
	guard := guardOf(t, st)
	for name, writes := range waitingWrites(st, &guard) {
		each(t, name, func(t *testing.T) {
			defer hold(t)()
			ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
			defer cancel()
			if err := writes(ctx); !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("%v, want context.DeadlineExceeded", err)
			}
		})
	}
	each(t, "called off before it began", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		for name, err := range map[string]error{
			"read":   func() error { _, err := st.Read(ctx); return err }(),
			"commit": waitingWrites(st, &guard)["commit"](ctx),
			"verify": func() error { _, err := st.Verify(ctx); return err }(),
		} {
			if !errors.Is(err, context.Canceled) {
				t.Errorf("%s: %v, want context.Canceled", name, err)
			}
		}
	})
	if at := guardOf(t, st); at != guard {
		t.Errorf("the store moved to %+v", at)
	}
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
}
