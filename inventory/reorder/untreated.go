package reorder

import (
	"slices"

	"antidotary/inventory/cover"
)

// lack is a set of victims that is untreated on a day.
type lack struct {
	at   int // among the changes
	set  cover.Set
	ways []map[int]int // to treat it with what there is or may be ordered
}

// untreated gives the first sets that the orders of a node leave untreated:
// those that can be treated in one way only on all days, since what must be
// need not be searched for; otherwise, of those of the first such day, the one
// with fewest ways.
func (s *search) untreated(n *node) []lack {
	orders := s.orders(n)
	var must []lack
	var first *lack
	for i, on := range s.changes {
		period := s.period(on)
		found := first != nil
		for _, clash := range s.clashes(period, s.levelsOf(orders, on), s.near(on)) {
			if s.left[i][setKey(clash.Set)] {
				continue
			}
			l := lack{i, clash.Set, s.ways(period, i, clash.Set)}
			switch {
			case len(l.ways) == 1:
				must = append(must, l)
			case !found && (first == nil || len(l.ways) < len(first.ways)):
				first = &l
			}
		}
	}
	if len(must) == 0 && first != nil {
		return []lack{*first}
	}
	return must
}

func (s *search) clashes(period int, levels []int, near []cover.Pool) []cover.Clash {
	scenario := s.Periods[period].scenario(levels, near)
	return s.plan.known.AllClashes(&scenario)
}

// ways gives what each way in which a set can be treated on a day takes of
// each product, beyond what only some sites reach.
func (s *search) ways(period, at int, set cover.Set) []map[int]int {
	return slices.DeleteFunc(treatments(s.Periods[period].Bites, set, s.near(s.changes[at])), func(need map[int]int) bool {
		for product, vials := range need {
			if vials > s.stock[product][at] && !s.offered[product][at] {
				return true
			}
		}
		return false
	})
}
