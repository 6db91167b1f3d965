package store

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// contractAnotherStoreSees what was committed as soon as it was, though it
// knew the records before: what is known is known for one head of the journal.
func contractAnotherStoreSees(t *testing.T, open opener) {
	st := open(t)
	beside, err := OpenReadOnly(t.Context(), placeOf(t, st), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer beside.Close()
	for name, does := range map[string]func(*testing.T){
		"a new record": func(t *testing.T) { committed(t, st, batchOf(bareRecords(newKeys()))...) },
		"a corrected record": func(t *testing.T) {
			id := inventory.NewID()
			for _, family := range []string{"", "Elapidae"} {
				committed(t, st, compliance.Record(inventory.Species{ID: id, Accepted: "Naja nivea", Family: family}))
				sameRecords(t, st, beside)
			}
		},
		"many records": func(t *testing.T) {
			var all compliance.Batch
			for i := range manyAtOnce {
				all = append(all, compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: fmt.Sprint("a", i), Zone: "UTC"}))
			}
			committed(t, st, all...)
		},
		"a sweep":      func(t *testing.T) { stored(t, st, guardOf(t, st), fullSweep()) },
		"a mail":       func(t *testing.T) { queued(t, st, mailTo("a@house.example")) },
		"an outcome":   func(t *testing.T) { queuedAndSent(t, st) },
		"an erasure":   func(t *testing.T) { erasing(t, st) },
		"nothing new":  func(*testing.T) {},
		"a mail alone": func(t *testing.T) { ok(t, st.Queue(t.Context(), []Mail{mailTo("q@house.example")})) },
	} {
		each(t, name, func(t *testing.T) {
			sameRecords(t, st, beside) // both know what is there
			does(t)
			sameRecords(t, st, beside)
		})
	}
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func queuedAndSent(t *testing.T, st *Store) {
	t.Helper()
	queued(t, st, mailTo("sent@house.example"))
	for _, c := range claim(t, st) {
		ok(t, st.Finish(t.Context(), c.ID, c.Token, Outcome{State: MailSent, Code: 250}))
	}
}

func erasing(t *testing.T, st *Store) {
	t.Helper()
	p := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	committed(t, st, compliance.Record(p))
	n, err := st.Erase(t.Context(), p.Ref().String())
	if err != nil || n != 1 {
		t.Fatalf("erased %d, %v", n, err)
	}
}

// sameRecords demands that two stores read the same of everything that both
// read, and that it is what the tables say.
func sameRecords(t *testing.T, one, other *Store) {
	t.Helper()
	var views [3]*View
	for i, st := range []*Store{one, other, other} {
		if i == 2 {
			st.Forget()
		}
		view, err := st.Read(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		views[i] = view
	}
	for i, v := range views[1:] {
		if v.Guard() != views[0].Guard() || v.Snapshot.Pulse != views[0].Snapshot.Pulse {
			t.Errorf("%d: %+v with %+v, want %+v with %+v", i, v.Guard(), v.Snapshot.Pulse, views[0].Guard(), views[0].Snapshot.Pulse)
		}
		if diff := cmp.Diff(recordsIn(views[0].Snapshot), recordsIn(v.Snapshot)); diff != "" {
			t.Errorf("%d records (-one +other):\n%s", i, diff)
		}
		if diff := cmp.Diff(views[0].Open, v.Open); diff != "" {
			t.Errorf("%d open findings (-one +other):\n%s", i, diff)
		}
	}
}

// contractWhoOnlyAsksWritesNothing: each call that writes is refused by a store
// that was opened to be asked, and by the database itself.
func contractWhoOnlyAsksWritesNothing(t *testing.T, open opener) {
	st := open(t)
	committed(t, st, batchOf(bareRecords(newKeys()))...)
	queued(t, st, mailTo("a@house.example"))
	asks, err := OpenReadOnly(t.Context(), placeOf(t, st), Options{})
	ok(t, err)
	defer asks.Close()
	id, before := inventory.NewID(), counted(t, placeOf(t, st))
	for name, writes := range map[string]func(context.Context) error{
		"commit": func(ctx context.Context) error {
			_, err := asks.Commit(ctx, Actor{ID: "test"}, compliance.Record(inventory.Species{ID: id, Accepted: "Naja naja"}))
			return err
		},
		"sweep":       func(ctx context.Context) error { return asks.StoreSweep(ctx, guardOf(t, asks), fullSweep()) },
		"queue":       func(ctx context.Context) error { return asks.Queue(ctx, []Mail{mailTo("b@house.example")}) },
		"claim":       func(ctx context.Context) error { _, err := asks.Claim(ctx, 1, time.Hour); return err },
		"begin":       func(ctx context.Context) error { return asks.DataStarted(ctx, id, id) },
		"finish":      func(ctx context.Context) error { return asks.Finish(ctx, id, id, Outcome{State: MailSent}) },
		"erase":       func(ctx context.Context) error { _, err := asks.Erase(ctx, "person"); return err },
		"erase actor": func(ctx context.Context) error { _, err := asks.EraseActor(ctx, Actor{ID: "test"}); return err },
		"prune":       func(ctx context.Context) error { _, err := asks.Prune(ctx, noon.AddDate(1, 0, 0)); return err },
	} {
		each(t, name, func(t *testing.T) {
			if err := writes(t.Context()); !errors.Is(err, errReadOnly) {
				t.Errorf("%v, want %v", err, errReadOnly)
			}
		})
	}
	for name, reader := range map[string]*Store{"a store to be asked": asks, "the readers of a store that writes": st} {
		each(t, "the database, past "+name, func(t *testing.T) {
			if _, err := reader.reader.ExecContext(t.Context(), `DELETE FROM outbox`); err == nil {
				t.Error("it was taken")
			}
		})
	}
	if diff := cmp.Diff(before, counted(t, placeOf(t, st))); diff != "" {
		t.Errorf("(-before +after):\n%s", diff)
	}
}

// contractManyCommitAtOnce: positions have no gap, the chain holds, whoever
// reads meanwhile sees records and head of one moment.
func contractManyCommitAtOnce(t *testing.T, open opener) {
	st := open(t)
	const writers, times = 6, 5
	done := make(chan error, writers*times)
	for range writers {
		go func() {
			for range times {
				_, err := st.Commit(t.Context(), Actor{ID: "test"}, compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: inventory.NewID().String(), Zone: "UTC"}))
				if view, e := st.Read(t.Context()); e == nil && int64(view.Snapshot.Authorities.Len()) != view.Head.Position {
					err = errors.Join(err, fmt.Errorf("%d authorities at position %d", view.Snapshot.Authorities.Len(), view.Head.Position))
				} else {
					err = errors.Join(err, e)
				}
				done <- err
			}
		}()
	}
	for range writers * times {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	if r := verified(t, st); r.Problem != "" || r.Entries != writers*times {
		t.Errorf("%+v, want %d entries", r, writers*times)
	}
}

// contractTheClockMayBeAnywhere: a program in whatever zone reads the digests
// of the same days, and finds the same findings to be news.
func contractTheClockMayBeAnywhere(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	m := mailTo("a@house.example")
	closed := fullFinding()
	closed.Closed, closed.How = noon, compliance.Met
	ok(t, swept(t, st, Sweep{Mails: []Mail{m}, Transitions: []compliance.Transition{openedAs(closed)}}))
	for _, zone := range []string{"UTC", "Pacific/Kiritimati", "Pacific/Pago_Pago", "America/St_Johns", "Asia/Kathmandu", "Australia/Lord_Howe"} {
		each(t, zone, func(t *testing.T) {
			at := zoneOf(t, zone)
			st.clock = func() time.Time { return now.In(at) }
			for _, hour := range []int{-14, 0, 11, 12, 23, 47} {
				*now = noon.Add(time.Duration(hour) * time.Hour)
				view, err := st.Read(t.Context())
				ok(t, err)
				if !view.Digests[DigestKey{m.Recipient, day.In(noon, time.UTC)}] || len(view.Closed) != 1 {
					t.Errorf("%d hours later: %v, %d closed", hour, view.Digests, len(view.Closed))
				}
			}
		})
	}
}
