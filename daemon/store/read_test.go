package store

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestASnapshotIsWhatAViewHas: records, head and pulse, known already or read
// anew, and no change that comes later alters it.
func TestASnapshotIsWhatAViewHas(t *testing.T) {
	st, _ := opened(t)
	at := committed(t, st, demo.Small(day.In(noon, time.UTC), day.Embedded()))
	queued(t, st, mailTo("a@house.example"))
	for _, forget := range []bool{false, true} {
		if forget {
			st.Forget()
		}
		records, head, err := st.Snapshot(t.Context())
		if err != nil || head != at {
			t.Fatalf("at %s, %v; want %s", head, err, at)
		}
		view, err := st.Read(t.Context())
		if err != nil || view.Head != head || records.Pulse != view.Snapshot.Pulse || records.Pulse.OldestMail != noon {
			t.Fatalf("the view is at %s with the pulse %+v, and the snapshot has %+v (%v)", view.Head, view.Snapshot.Pulse, records.Pulse, err)
		}
		if diff := cmp.Diff(recordsIn(view.Snapshot), recordsIn(records)); diff != "" || len(recordsIn(records)) < 20 {
			t.Errorf("%d records (-view +snapshot):\n%s", len(recordsIn(records)), diff)
		}
		before := recordsIn(records)
		at = committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis arietans" + map[bool]string{true: " arietans"}[forget]}))
		if diff := cmp.Diff(before, recordsIn(records)); diff != "" {
			t.Errorf("a later change altered it:\n%s", diff)
		}
	}
}

// contractDigestsOfTheseDays are known, wherever their reader is: a local day is
// at most one away from that of UTC. Older ones are in nobody's way.
func contractDigestsOfTheseDays(t *testing.T, open opener) {
	st, _ := clockwork(t, open)
	today := day.In(noon, time.UTC)
	for offset, want := range map[day.Day]bool{1: true, 0: true, -1: true, -2: true, -3: false, -400: false} {
		m := mailTo("a@house.example")
		m.LocalDay = today + offset
		queued(t, st, m)
		view, err := st.Read(t.Context())
		if err != nil || view.Digests[DigestKey{m.Recipient, m.LocalDay}] != want {
			t.Errorf("a digest of %s is known %t, want %t (%v)", m.LocalDay, !want, want, err)
		}
	}
}

// TestWhoeverOnlyAsksReadsNoOldNews: open findings, but not all that ever
// closed.
func TestWhoeverOnlyAsksReadsNoOldNews(t *testing.T) {
	st, path := opened(t)
	f := fullFinding()
	closed := f
	closed.ID, closed.Key.Occurrence, closed.Closed, closed.How = inventory.NewID(), "2025", noon, compliance.Met
	stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{openedAs(f), openedAs(closed)}})
	asks, err := OpenReadOnly(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer asks.Close()
	for name, c := range map[string]struct {
		of     *Store
		closed int
	}{"the daemon": {st, 1}, "whoever asks": {asks, 0}} {
		if view, err := c.of.Read(t.Context()); err != nil || len(view.Open) != 1 || len(view.Closed) != c.closed {
			t.Errorf("%s reads %d open and %d closed findings, %v; want 1 and %d", name, len(view.Open), len(view.Closed), err, c.closed)
		}
	}
}
