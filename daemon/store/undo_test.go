package store

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// told is a change that people know by words.
type toldAs struct {
	compliance.Batch
	words string
}

func (w toldAs) Words() string { return w.words }

func undone(t *testing.T, st *Store, position int64) Head {
	t.Helper()
	u, err := st.Undo(t.Context(), position)
	if err != nil {
		t.Fatal(err)
	}
	return committed(t, st, u)
}

func recordsNow(t *testing.T, st *Store) map[string]inventory.Record {
	t.Helper()
	st.Forget() // as the tables have them
	s, _, err := st.Snapshot(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return recordsIn(s)
}

// TestUndoTakesBackEveryRecordOfAChange, and undoing that brings it back. At
// every step what is recalled from the journal is what the tables have.
func TestUndoTakesBackEveryRecordOfAChange(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, now *time.Time) {
		sets, all := []keys{newKeys()}, &compliance.Snapshot{}
		same := func(what string, got, want map[string]inventory.Record) {
			t.Helper()
			if diff := cmp.Diff(want, got); diff != "" {
				t.Fatalf("%s (-want +got):\n%s", what, diff)
			}
		}
		for seed, changes := 1, 0; changes < 8; seed++ {
			var next *compliance.Snapshot
			batch := rapid.Custom(func(rt *rapid.T) *compliance.Batch {
				next = all
				b := randomBatch(rt, sets, &next)
				return &b
			}).Example(seed)
			before := recordsNow(t, st)
			*now = now.Add(time.Hour)
			head := committed(t, st, toldAs{*batch, "house turned over"})
			after := recordsNow(t, st)
			if cmp.Equal(before, after) {
				continue
			}
			changes++
			*now = now.Add(time.Minute)
			back := undone(t, st, head.Position)
			same("after the undoing", recordsNow(t, st), before)
			same("recalled after the undoing", recordsIn(knownAtInstant(t, st, *now).Snapshot), before)
			same("recalled from before it", recordsIn(knownAtInstant(t, st, now.Add(-time.Second)).Snapshot), after)
			*now = now.Add(time.Minute)
			undone(t, st, back.Position)
			same("after undoing the undoing", recordsNow(t, st), after)
			all = next
		}
		if r := verified(t, st); r.Problem != "" {
			t.Error(r.Problem)
		}
	})
}

// TestUndoRefusesWhatWasChangedSince, and whatever something else rests on.
func TestUndoRefusesWhatWasChangedSince(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, _ *time.Time) {
		cobra := inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia"}
		made := committed(t, st, compliance.Record(cobra))
		cobra.Family = "Elapidae"
		corrected := committed(t, st, compliance.Record(cobra))
		animal := inventory.Animal{ID: inventory.NewID(), Accession: "A1", Species: cobra.ID}
		held := committed(t, st, compliance.Record(animal))

		refuses := func(position int64, want string) {
			t.Helper()
			u, err := st.Undo(t.Context(), position)
			if err == nil {
				_, err = st.Commit(t.Context(), Actor{ID: "test"}, u)
			}
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("undo %d: %v, want %q", position, err, want)
			}
		}
		refuses(made.Position, "changed since")
		undone(t, st, corrected.Position)
		refuses(made.Position, "A1 refers to it")
		undone(t, st, held.Position)
		undone(t, st, made.Position)
		refuses(made.Position, "changed since")
		refuses(99, "no such entry")
		if left := recordsNow(t, st); len(left) != 0 {
			t.Errorf("%d records are left", len(left))
		}
	})
}

// TestUndoOfWhatWasErased is refused: nothing says what it was.
func TestUndoOfWhatWasErased(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, _ *time.Time) {
		juno := compliance.Person{ID: inventory.NewID(), Called: "Juno"}
		first := committed(t, st, compliance.Record(juno))
		juno.Email = "juno@house.example"
		second := committed(t, st, compliance.Record(juno))
		undone(t, st, second.Position)
		gone := undone(t, st, first.Position)
		if _, err := st.Erase(t.Context(), juno.Ref().String()); err != nil {
			t.Fatal(err)
		}
		if _, err := st.Undo(t.Context(), second.Position); err == nil || !strings.Contains(err.Error(), "erased") {
			t.Errorf("%v, want that it was erased", err)
		}
		past := knownAtInstant(t, st, noon.Add(time.Hour))
		if past.Head != gone || len(past.Erased) != 0 || past.Snapshot.People.Len() != 0 {
			t.Errorf("that the record was taken out is not known any more: %+v", past.Erased)
		}
	})
}

// TestEntriesTellDeeds: words once for all records of one deed, the newest
// deed first, with whom it is by and what it is about.
func TestEntriesTellDeeds(t *testing.T) {
	both(t, func(t *testing.T, _ string, st *Store, now *time.Time) {
		cobra := inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia"}
		animal := inventory.Animal{ID: inventory.NewID(), Accession: "A1", Species: cobra.ID, Arrived: day.MustParse("2026-11-02")}
		committed(t, st, toldAs{batchOf([]inventory.Record{cobra, animal}), "animal arrived"})
		*now = now.Add(time.Hour)
		died := animal
		died.Left = &inventory.Disposition{How: inventory.Died, On: day.MustParse("2026-11-03")}
		committed(t, st, toldAs{batchOf([]inventory.Record{died}), "animal died"})
		undone(t, st, 3)
		got, err := st.Entries(t.Context(), 10)
		if err != nil {
			t.Fatal(err)
		}
		want := []Entry{
			{4, 4, *now, "test", "undo 3", []inventory.Ref{animal.Ref()}},
			{3, 3, *now, "test", "animal died", []inventory.Ref{animal.Ref()}},
			{1, 2, now.Add(-time.Hour), "test", "animal arrived", []inventory.Ref{cobra.Ref(), animal.Ref()}},
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
		if newest, err := st.Entries(t.Context(), 1); err != nil || !cmp.Equal(newest, want[:1]) {
			t.Errorf("the newest: %+v, %v", newest, err)
		}
		if u, err := st.Undo(t.Context(), 2); err != nil || u.Entry.First != 1 {
			t.Errorf("undo of the second entry of a deed: %+v, %v", u.Entry, err)
		}
	})
}

// TestRemoveTellsWhatRefersToIt for each kind of record that another refers to.
func TestRemoveTellsWhatRefersToIt(t *testing.T) {
	k := newKeys()
	s, err := batchOf(fullRecords(k)).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	removed := 0
	for left := s; ; {
		before := removed
		for _, rec := range slices.Collect(left.Everything()) {
			after, err := compliance.Remove{What: []inventory.Ref{rec.Ref()}}.Apply(left)
			var refusal *compliance.Refusal
			if err != nil {
				if !errors.As(err, &refusal) || !strings.Contains(err.Error(), "refers to it") {
					t.Fatal(err)
				}
				continue
			}
			if after.Lookup(rec.Ref()) != nil || left.Lookup(rec.Ref()) == nil {
				t.Fatalf("%s was not taken out of the new snapshot alone", rec.Ref())
			}
			left, removed = after, removed+1
		}
		if removed == before {
			if n := len(recordsIn(left)); n != 0 {
				text, _ := json.Marshal(recordsIn(left))
				t.Errorf("%d records cannot be taken out: %s", n, text)
			}
			return
		}
	}
}
