package compliance

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// party is a species in a naive scenario: how many people it may bite, and the
// course of each product, 0 for none.
type party struct {
	most    int
	courses []int
}

// treatable answers from the definition whether a set of victims can be
// treated: by trying each product for each.
func treatable(parties []party, set []int, stock []int) bool {
	if len(set) == 0 {
		return true
	}
	for product, need := range parties[set[0]].courses {
		if need > 0 && need <= stock[product] {
			left := append([]int(nil), stock...)
			left[product] -= need
			if treatable(parties, set[1:], left) {
				return true
			}
		}
	}
	return false
}

// inClash answers from the definition whether a species is in a smallest set of
// at most two victims that cannot be treated.
func inClash(parties []party, who int, stock []int) bool {
	if !treatable(parties, []int{who}, stock) {
		return true
	}
	for other, p := range parties {
		if p.most == 0 || other == who && p.most < 2 {
			continue
		}
		if treatable(parties, []int{other}, stock) && !treatable(parties, []int{who, other}, stock) {
			return true
		}
	}
	return false
}

const twoVictims = "{victims: 2, bases: [indicated], order_lead: 100 days, same_animal_twice: %t}"

// TestTogetherAgreesWithItsOracle: two victims, species that share products,
// animals that come and leave, lots whose ends may be unknown.
func TestTogetherAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newShelf(discard{})
		twice := rapid.Bool().Draw(t, "twice")
		products := rapid.IntRange(1, 3).Draw(t, "products")
		type holding struct {
			species inventory.Species
			courses []int
			held    func(day.Day) int
		}
		var holdings []holding
		for i, name := range []string{"Naja kaouthia", "Bitis arietans", "Vipera berus"}[:rapid.IntRange(1, 3).Draw(t, "species")] {
			h := holding{species: s.species(name, "Elapidae"), courses: make([]int, products)}
			for p := range products {
				if p == i%products || rapid.Bool().Draw(t, "treats") {
					h.courses[p] = rapid.IntRange(1, 8).Draw(t, "course")
					s.covers(fmt.Sprint("product ", p), h.species, inventory.Indicated, 0, h.courses[p])
				}
			}
			from, n := base.Add(rapid.IntRange(-5, 30).Draw(t, "came")), rapid.IntRange(1, 2).Draw(t, "animals")
			for range n {
				s.arrives(h.species, from.String())
			}
			h.held = func(on day.Day) int {
				if on < from {
					return 0
				}
				return n
			}
			holdings = append(holdings, h)
		}
		lots := make([][]inventory.Lot, products)
		for p := range products {
			for j := range rapid.IntRange(0, 3).Draw(t, "lots") {
				l := anyLot(t, s, fmt.Sprint("product ", p), fmt.Sprint("L", j))
				lots[p] = append(lots[p], l)
				s.put(Record(l))
			}
		}
		b := book(s.t, "law", "us", rule("test.r", "cover", "holding", "cover", fmt.Sprintf(twoVictims, twice)))
		snapshot := s.snapshot()
		for who, h := range holdings {
			line := lineOf(s.t, b, snapshot, "cover", inventory.Holding(h.species.ID, s.site.ID))
			for on := base - 8; on <= base.Add(stretch+40); on++ {
				if h.held(on) == 0 {
					continue
				}
				sure, most := make([]int, products), make([]int, products)
				for p := range products {
					for _, l := range lots[p] {
						a, b := naiveVials(l, on)
						sure[p], most[p] = sure[p]+a, most[p]+b
					}
				}
				parties := make([]party, len(holdings))
				for i, o := range holdings {
					parties[i] = party{o.held(on), o.courses}
					if twice {
						parties[i].most *= 2
					}
				}
				want := OutOfOrder
				switch {
				case !inClash(parties, who, sure):
					want = InOrder
				case !inClash(parties, who, most):
					want = CannotTell
				}
				if got := line.At(on); got.Standing != want {
					t.Fatalf("%s, %s: %s (%s), the oracle says %s: sure %v most %v %+v", on, h.species.Accepted, got.Standing, got.State, want, sure, most, parties)
				}
			}
		}
	})
}
