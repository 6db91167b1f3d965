package cover_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory/cover"
)

// someScenario is a small random one: products that several species share,
// places between sites, few animals, sometimes few people.
func someScenario(t *rapid.T) *cover.Scenario {
	products := rapid.IntRange(1, 4).Draw(t, "products")
	sites := rapid.IntRange(1, 3).Draw(t, "sites")
	s := &cover.Scenario{Victims: rapid.IntRange(1, 3).Draw(t, "victims")}
	for range rapid.IntRange(1, 6).Draw(t, "bites") {
		b := cover.Bite{Site: rapid.IntRange(0, sites-1).Draw(t, "site"), Most: rapid.IntRange(1, 3).Draw(t, "most")}
		for p := range products {
			if rapid.Bool().Draw(t, "treats") {
				b.Courses = append(b.Courses, cover.Course{Product: p, Vials: rapid.IntRange(1, 12).Draw(t, "course")})
			}
		}
		if len(b.Courses) > 0 {
			s.Bites = append(s.Bites, b)
		}
	}
	for range rapid.IntRange(0, 6).Draw(t, "pools") {
		s.Pools = append(s.Pools, cover.Pool{Product: rapid.IntRange(0, products-1).Draw(t, "of"), Vials: rapid.IntRange(0, 20).Draw(t, "vials"),
			Reached: cover.Sites(rapid.IntRange(0, 1<<sites-1).Draw(t, "reached"))})
	}
	if rapid.IntRange(0, 3).Draw(t, "bounded") == 0 {
		for range sites {
			s.Persons = append(s.Persons, rapid.IntRange(0, 3).Draw(t, "persons"))
		}
	}
	return s
}

// sets gives every set of at most so many victims that can happen, the small
// ones first, straight from the definition.
func sets(s *cover.Scenario, victims int) []cover.Set {
	all := []cover.Set{nil}
	for from := 0; ; {
		to := len(all)
		for _, set := range all[from:to] {
			first := 0
			if len(set) > 0 {
				first = set[len(set)-1]
			}
			for b := first; b < len(s.Bites) && len(set) < victims; b++ {
				if next := append(slices.Clone(set), b); happens(s, next) {
					all = append(all, next)
				}
			}
		}
		if len(all) == to {
			return all[1:]
		}
		from = to
	}
}

func happens(s *cover.Scenario, set cover.Set) bool {
	bitten, at := make(map[int]int), make(map[int]int)
	for _, b := range set {
		bitten[b]++
		at[s.Bites[b].Site]++
		if bitten[b] > s.Bites[b].Most {
			return false
		}
	}
	for site, n := range at {
		if site < len(s.Persons) && n > s.Persons[site] {
			return false
		}
	}
	return true
}

// TestWorstOfAll: leaving bites out and parting them into groups never
// changes the worst shortage, and the set that is named has it.
func TestWorstOfAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := someScenario(t)
		var want cover.Shortage
		size := 0
		for _, set := range sets(s, s.Victims) {
			if short, _ := s.Short(set); short.Above(want) {
				want, size = short, len(set)
			}
		}
		worst := s.Worst()
		if worst.Shortage != want || len(worst.Set) != size {
			t.Fatalf("worst %+v, want %+v in a set of %d\n%+v", worst, want, size, s)
		}
		if len(worst.Set) > 0 && !happens(s, worst.Set) {
			t.Fatalf("%v cannot happen\n%+v", worst.Set, s)
		}
	})
}

// TestClashesFromTheDefinition: a clash cannot be treated, every part of it
// can; each bite's is one of those with fewest people, and none is missed.
func TestClashesFromTheDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := someScenario(t)
		want := make([]cover.Clash, len(s.Bites))
		for _, set := range sets(s, s.Victims) {
			short, _ := s.Short(set)
			if short.None() || !eachPartTreated(s, set) {
				continue
			}
			for _, b := range set {
				if w := &want[b]; len(w.Set) == 0 || len(w.Set) == len(set) && short.Above(w.Shortage) {
					*w = cover.Clash{Set: set, Shortage: short}
				}
			}
		}
		got := s.Clashes()
		for b := range want {
			if len(got[b].Set) != len(want[b].Set) || got[b].Shortage != want[b].Shortage {
				t.Fatalf("bite %d: %+v, want %+v\n%+v", b, got[b], want[b], s)
			}
		}
	})
}

func eachPartTreated(s *cover.Scenario, set cover.Set) bool {
	for i := range set {
		part := slices.Delete(slices.Clone(set), i, i+1)
		if short, _ := s.Short(part); len(part) > 0 && !short.None() {
			return false
		}
	}
	return true
}

// TestMoreNeverHurts: another vial, another place within reach or another
// product that treats a bite never makes the worst worse; another victim never
// makes it better.
func TestMoreNeverHurts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := someScenario(t)
		before := s.Worst().Shortage
		if s.Victims > 1 {
			fewer := *s
			fewer.Victims--
			if short := fewer.Worst().Shortage; short.Above(before) {
				t.Fatalf("with one victim fewer %+v, not %+v\n%+v", short, before, s)
			}
		}
		if len(s.Pools) > 0 {
			i := rapid.IntRange(0, len(s.Pools)-1).Draw(t, "pool")
			s.Pools[i].Vials += rapid.IntRange(0, 9).Draw(t, "added")
			s.Pools[i].Reached |= 1
		}
		if short := s.Worst().Shortage; short.Above(before) {
			t.Fatalf("with more %+v, before %+v\n%+v", short, before, s)
		}
	})
}
