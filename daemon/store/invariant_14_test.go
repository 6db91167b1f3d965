package store

import (
	"errors"
	"sync"
	"testing"

	"antidotary/compliance"
)

// TestInvariant14ManyEditors: 64 people change records at the same moment, on
// PostgreSQL through two daemons. Nobody hears that the database is busy,
// nobody's change is lost, and the journal has one chain through all of them.
func TestInvariant14ManyEditors(t *testing.T) {
	const editors = 64
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := place(t)
			stores := []*Store{reopened(t, database)}
			if IsServer(database) {
				stores = append(stores, reopened(t, database))
			}
			heads, errs := make([]Head, editors), make([]error, editors)
			var all, start sync.WaitGroup
			start.Add(1)
			for i := range editors {
				all.Go(func() {
					office := anOffice()
					start.Wait()
					heads[i], errs[i] = stores[i%len(stores)].Commit(t.Context(), Actor{ID: "test"}, office)
				})
			}
			start.Done()
			all.Wait()
			busy := 0
			for _, err := range errs {
				if errors.Is(err, ErrBusy) {
					busy++
				}
				if err != nil {
					t.Error(err)
				}
			}
			if busy > 0 {
				t.Errorf("%d of %d heard that the database is busy", busy, editors)
			}
			oneChainThrough(t, stores, heads)
		})
	}
}

// oneChainThrough demands that each head is the journal's at its position,
// that no two are the same, and that there are no others.
func oneChainThrough(t *testing.T, stores []*Store, heads []Head) {
	t.Helper()
	seen := make(map[int64]bool)
	for _, h := range heads {
		if seen[h.Position] {
			t.Errorf("position %d was given to two editors", h.Position)
		}
		seen[h.Position] = true
		for _, st := range stores {
			r, err := st.VerifyAgainst(t.Context(), h)
			if err != nil || r.Problem != "" || r.Entries != int64(len(heads)) {
				t.Errorf("against %s: %+v, %v", h, r, err)
			}
		}
	}
	for _, st := range stores {
		view, err := st.Read(t.Context())
		ok(t, err)
		if n := view.Snapshot.Authorities.Len(); n != len(heads) {
			t.Errorf("%d records are there, want %d", n, len(heads))
		}
	}
	committed(t, stores[0], compliance.Batch{anOffice()}...)
}
