package store

import (
	"errors"
	"path/filepath"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
)

var noon = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

func opened(t *testing.T) (*Store, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "house.db")
	return reopened(t, path), path
}

func reopened(t *testing.T, path string) *Store {
	t.Helper()
	st, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon.Local() }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	return st
}

func committed(t *testing.T, st *Store, changes ...compliance.Change) Head {
	t.Helper()
	head, err := st.Commit(t.Context(), Actor{ID: "test"}, changes...)
	if err != nil {
		t.Fatal(err)
	}
	return head
}

// TestARefusedChangeWritesNothing: neither a record nor a journal entry.
func TestARefusedChangeWritesNothing(t *testing.T) {
	st, _ := opened(t)
	good := compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1})
	bad := compliance.Record(inventory.Site{ID: inventory.NewID(), Organisation: inventory.NewID(), Title: "X", Zone: "UTC"})
	_, err := st.Commit(t.Context(), Actor{ID: "test"}, good, bad)
	var refusal *compliance.Refusal
	if !errors.As(err, &refusal) {
		t.Fatalf("%v, want a refusal", err)
	}
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if view.Snapshot.Organisations.Len() != 0 || view.Head != (Head{}) {
		t.Errorf("a refused change left %d organisations and the head %s", view.Snapshot.Organisations.Len(), view.Head)
	}
}

// TestOneProcessWrites: a second one is refused; one that only asks is not.
func TestOneProcessWrites(t *testing.T) {
	st, path := opened(t)
	committed(t, st, compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}))
	if _, err := Open(t.Context(), path, Options{Clock: func() time.Time { return noon }}); !errors.Is(err, ErrBusy) {
		t.Errorf("a second writer: %v, want ErrBusy", err)
	}
	asks, err := OpenReadOnly(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer asks.Close()
	if v, err := asks.Read(t.Context()); err != nil || v.Snapshot.Organisations.Len() != 1 {
		t.Errorf("asking beside a writer: %v", err)
	}
	if _, err := asks.Commit(t.Context(), Actor{ID: "test"}); err == nil {
		t.Error("a store opened to be asked was written to")
	}
}
