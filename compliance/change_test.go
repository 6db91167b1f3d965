package compliance

import (
	"errors"
	"strings"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestPutRefuses: a change that would break something is refused with a
// sentence, and the snapshot stays as it was.
func TestPutRefuses(t *testing.T) {
	h := newHouse(t)
	sp := h.species("Naja kaouthia", "Elapidae")
	h.animal(sp)
	s, err := Record(inventory.Product{ID: inventory.NewID(), Type: "one", GTINs: []string{"12345678901231", "06291041500213"}}).Apply(h.snapshot())
	if err != nil {
		t.Fatal(err)
	}
	strange := inventory.NewID()
	for _, c := range []struct {
		name   string
		change Change
		want   string
	}{
		{"no identifier", Record(inventory.Species{Accepted: "Naja naja"}), "id"},
		{"half a name", Record(inventory.Species{ID: strange, Accepted: "Naja"}), "genus and species"},
		{"the accession of another animal", Record(inventory.Animal{ID: strange, Accession: "A1", Species: sp.ID}), "already recorded"},
		{"the accepted name of another species", Record(inventory.Species{ID: strange, Accepted: "Naja kaouthia"}), "already recorded"},
		{"a species that is another's synonym", Record(inventory.Species{ID: strange, Accepted: "Naja siamensis", Synonyms: []string{"Naja kaouthia"}}), "already recorded"},
		{"a species that is not recorded", Record(inventory.Animal{ID: strange, Accession: "A9", Species: strange}), "species"},
		{"a zone that is none", Record(inventory.Site{ID: strange, Organisation: h.org.ID, Title: "X", Zone: "Europe/Nowhere"}), "time zone"},
		{"a paper that ends before it begins", Record(Permit{ID: strange, Number: "X", Class: "keep", From: d("2026-02-01"), Expires: day.Until(d("2026-01-01"))}), "before"},
		{"an outcome without its day", Record(Permit{ID: strange, Number: "X", Class: "keep", Applications: []Application{{Outcome: Granted}}}), "decision"},
		{"more vials taken than there are", Record(inventory.Lot{ID: strange, Number: "L", Product: strange, Movements: []inventory.Movement{{On: d("2026-01-01"), Vials: -1, Reason: inventory.Used}}}), "more unknown vials"},
		{"the type of another product", Record(inventory.Product{ID: strange, Type: "one"}), "already recorded"},
		{"the trade item number of another product", Record(inventory.Product{ID: strange, Type: "two", GTINs: []string{"06291041500213"}}), "06291041500213 is already recorded of"},
		{"unwatched for ever", Record(NotWatched{ID: strange, Subject: h.site.Ref(), By: strange, Why: "w", From: d("2026-01-01")}), "last"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.change.Apply(s)
			var refusal *Refusal
			if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v; want a refusal about %q", err, c.want)
			}
		})
	}
	if s.Animals.Len() != 1 || s.Species.Len() != 1 || s.Permits.Len() != 0 {
		t.Error("a refused change altered the snapshot")
	}
}

// TestBatchIsAllOrNone: one bad change leaves everything as it was.
func TestBatchIsAllOrNone(t *testing.T) {
	s := newHouse(t).snapshot()
	good := Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja naja"})
	bad := Record(inventory.Species{ID: inventory.NewID(), Accepted: "naja"})
	if _, err := (Batch{good, bad}).Apply(s); err == nil {
		t.Fatal("the bad change was taken")
	}
	if s.Species.Len() != 0 {
		t.Error("half a batch was applied")
	}
	after, err := Batch{good}.Apply(s)
	if err != nil || after.Species.Len() != 1 || s.Species.Len() != 0 {
		t.Errorf("%v: %d species after, %d before", err, after.Species.Len(), s.Species.Len())
	}
}
