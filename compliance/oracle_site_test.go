package compliance

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// siteSpecies is a species in the naive house: what each product is planned
// with, 0 for a course that nobody knows and -1 for no row.
type siteSpecies struct {
	record  inventory.Species
	courses []int
	held    func(day.Day) int
}

func anySiteSpecies(t *rapid.T, s *shelf, name string, products int) siteSpecies {
	h := siteSpecies{record: inventory.Species{ID: inventory.NewID(), Accepted: name, Family: "Elapidae",
		Venomous: rapid.SampledFrom([]inventory.Tri{inventory.Yes, inventory.Yes, inventory.Yes, inventory.No, inventory.Unknown}).Draw(t, "venomous")}}
	if rapid.IntRange(0, 5).Draw(t, "none exists?") == 0 {
		h.record.NoAntivenom = "test"
	}
	s.put(Record(h.record))
	for p := range products {
		course := rapid.SampledFrom([]int{-1, -1, 0, 1, 2, 3, 4, 5, 6, 8}).Draw(t, "course")
		h.courses = append(h.courses, course)
		if course >= 0 {
			s.covers(fmt.Sprint("product ", p), h.record, inventory.Indicated, 0, course)
		}
	}
	from, n := base.Add(rapid.IntRange(-5, 30).Draw(t, "came")), rapid.IntRange(1, 2).Draw(t, "animals")
	for range n {
		s.arrives(h.record, from.String())
	}
	h.held = func(on day.Day) int {
		if on < from {
			return 0
		}
		return n
	}
	return h
}

// aloneOn answers from the definition whether one victim has a full course: by
// the best product.
func (h *siteSpecies) aloneOn(sure, most []int) Standing {
	best, rows := OutOfOrder, 0
	for p, course := range h.courses {
		switch {
		case course < 0:
			continue
		case course > 0 && sure[p] >= course:
			best = min(best, InOrder)
		case course == 0 || most[p] >= course:
			best = min(best, CannotTell)
		}
		rows++
	}
	if rows == 0 && h.record.NoAntivenom == "" {
		return CannotTell
	}
	return best
}

// siteOn answers from the definition for one day: the worst of what is short
// for two and not for one.
func siteOn(all []siteSpecies, on day.Day, twice bool, sure, most []int) Standing {
	parties := make([]party, len(all))
	for i, h := range all {
		if h.record.Venomous == inventory.No {
			continue
		}
		parties[i] = party{h.held(on), h.courses}
		if twice {
			parties[i].most *= 2
		}
	}
	worst := NotApplicable
	for who, h := range all {
		if h.held(on) == 0 || h.record.Venomous == inventory.No {
			continue
		}
		alone := h.aloneOn(sure, most)
		switch {
		case alone == OutOfOrder:
			continue
		case alone == CannotTell || inClash(parties, who, sure) && !inClash(parties, who, most):
			worst = max(worst, CannotTell)
		case inClash(parties, who, sure):
			worst = max(worst, OutOfOrder)
		default:
			worst = max(worst, InOrder)
		}
	}
	return worst
}

// TestSiteAgreesWithItsOracle: two victims asked of a site, with species that
// share products, have none, or of which nobody knows the course or what covers
// them; animals that come, and lots whose ends may be unknown.
func TestSiteAgreesWithItsOracle(t *testing.T) {
	met := map[Standing]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := newShelf(discard{})
		twice := rapid.Bool().Draw(t, "twice")
		products := rapid.IntRange(1, 3).Draw(t, "products")
		var all []siteSpecies
		for _, name := range []string{"Naja kaouthia", "Bitis arietans", "Vipera berus", "Naja naja"}[:rapid.IntRange(1, 4).Draw(t, "species")] {
			all = append(all, anySiteSpecies(t, s, name, products))
		}
		lots := make([][]inventory.Lot, products)
		for p := range products {
			for j := range rapid.IntRange(0, 3).Draw(t, "lots") {
				l := anyLot(t, s, fmt.Sprint("product ", p), fmt.Sprint("L", j))
				lots[p] = append(lots[p], l)
				s.put(Record(l))
			}
		}
		b := book(s.t, "law", "us", rule("test.r", "cover.together", "site", "cover", fmt.Sprintf(twoVictims, twice)))
		line := lineOf(s.t, b, s.snapshot(), "cover.together", s.site.Ref())
		for on := base - 8; on <= base.Add(stretch+40); on++ {
			sure, most := make([]int, products), make([]int, products)
			for p := range products {
				for _, l := range lots[p] {
					a, b := naiveVials(l, on)
					sure[p], most[p] = sure[p]+a, most[p]+b
				}
			}
			want := siteOn(all, on, twice, sure, most)
			met[want]++
			if got := line.At(on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s: sure %v most %v %+v", on, got.Standing, got.State, want, sure, most, all)
			}
		}
	})
	for _, s := range []Standing{NotApplicable, InOrder, CannotTell, OutOfOrder} {
		if met[s] == 0 {
			t.Errorf("no day was %s", s)
		}
	}
}
