package store

import (
	"encoding/json"
	"maps"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/deploy"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// imagesOf is the journal of a house in one change.
func imagesOf(t *testing.T, house compliance.Batch) map[string]*string {
	t.Helper()
	s, err := house.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	out := make(map[string]*string)
	for subject, rec := range recordsIn(s) {
		image, err := json.Marshal(rec)
		if err != nil {
			t.Fatal(err)
		}
		text := string(image)
		out[subject] = &text
	}
	return out
}

// judge judges what is left, today and long ago, and puts it into words.
func judge(book *compliance.Rulebook, left *compliance.Snapshot) {
	for _, on := range []day.Day{0, day.In(noon, time.UTC).Add(-500)} {
		r := compliance.Evaluate(book, left, compliance.Ask{Now: noon, On: on})
		for _, j := range r.Judgements {
			if f, needed := r.Finding(j); needed {
				notify.Describe(r, f)
			}
		}
	}
}

// TestWhatWasErasedBreaksNothing: whatever records of a house were erased, one
// alone or any together, whatever referred to them, the rest is judged and put
// into words, and just those are counted.
func TestWhatWasErasedBreaksNothing(t *testing.T) {
	book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		t.Fatal(err)
	}
	today := day.In(noon, time.UTC)
	whole := imagesOf(t, demo.House(today, day.Embedded()))
	subjects := slices.Sorted(maps.Keys(whole))
	without := func(t rapid.TB, erased []string) {
		t.Helper()
		left := afterImages{of: maps.Clone(whole)}
		for _, subject := range erased {
			left.of[subject] = nil
		}
		out, err := left.recall()
		if err != nil {
			t.Fatalf("%v", err)
		}
		var got []string
		for _, ref := range out.Erased {
			got = append(got, ref.String())
		}
		slices.Sort(got)
		if !slices.Equal(got, erased) {
			t.Fatalf("erased %v, counted %v", erased, got)
		}
		judge(book, out.Snapshot)
	}
	for _, subject := range subjects {
		without(t, []string{subject})
	}
	without(t, subjects)
	rapid.Check(t, func(rt *rapid.T) {
		share := rapid.IntRange(2, 20).Draw(rt, "one in")
		var erased []string
		for _, subject := range subjects {
			if rapid.IntRange(1, share).Draw(rt, "erase") == 1 {
				erased = append(erased, subject)
			}
		}
		without(rt, erased)
	})
	for _, kind := range inventory.Kinds() { // each kind together
		var erased []string
		for _, subject := range subjects {
			var ref inventory.Ref
			if err := ref.UnmarshalText([]byte(subject)); err != nil {
				t.Fatal(err)
			}
			if ref.Kind == kind {
				erased = append(erased, subject)
			}
		}
		without(t, erased)
	}
}
