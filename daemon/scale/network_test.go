package scale

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
)

// middling is large enough to have some of everything.
var middling = Size{"middling", 20, 60, 150, 1000, 1800, 400, 20}

// TestNetworksAreBelievable: most of a network is in order, and not all.
func TestNetworksAreBelievable(t *testing.T) {
	r := compliance.Evaluate(book(t), Network(middling, today), compliance.Ask{Now: now})
	count := map[compliance.Standing]int{}
	for _, j := range r.Judgements {
		verdict, _ := j.At(today)
		count[verdict.Standing]++
	}
	all := len(r.Judgements)
	if count[compliance.InOrder] < all*3/4 || count[compliance.OutOfOrder] < all/200 || count[compliance.CannotTell] < all/100 {
		t.Errorf("of %d duties: %v", all, count)
	}
}

// TestNetworksAreTheSameEachTime, so that two runs measure the same.
func TestNetworksAreTheSameEachTime(t *testing.T) {
	if diff := cmp.Diff(records(Network(middling, today)), records(Network(middling, today))); diff != "" {
		t.Errorf("made twice (-first +second):\n%s", diff)
	}
}

// TestNetworksAreWhole: a person could have entered every record.
func TestNetworksAreWhole(t *testing.T) {
	for _, size := range []Size{Small, Medium} {
		s := Network(size, today)
		for _, rec := range records(s) {
			if _, err := put(rec).Apply(s); err != nil {
				t.Errorf("%s: %v", size.Name, err)
			}
		}
	}
}

func records(s *compliance.Snapshot) (all []inventory.Record) {
	all = addTo(all, s.Organisations)
	all = addTo(all, s.Sites)
	all = addTo(all, s.Places)
	all = addTo(all, s.Species)
	all = addTo(all, s.Enclosures)
	all = addTo(all, s.Animals)
	all = addTo(all, s.Products)
	all = addTo(all, s.Coverage)
	all = addTo(all, s.Lots)
	all = addTo(all, s.People)
	all = addTo(all, s.Authorities)
	all = addTo(all, s.Permits)
	all = addTo(all, s.Activities)
	return addTo(all, s.Feeds)
}

func addTo[T inventory.Record](all []inventory.Record, t inventory.Table[T]) []inventory.Record {
	for rec := range t.All() {
		all = append(all, *rec)
	}
	return all
}

func put(rec inventory.Record) compliance.Change { return compliance.Record(rec) }
