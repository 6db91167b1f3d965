package cover

import "slices"

// Clash is a smallest set of victims that cannot all be treated, though
// without anyone of them all the others can.
type Clash struct {
	Set      Set
	Shortage Shortage
}

// Clashes gives for each bite the clash that it is in; the zero Clash where
// it is in none of at most Victims people, so that whoever is bitten with it
// can be treated. Of several the one with fewest people, of these the one with
// the greatest shortage, and of these the first.
//
// A bite that cannot be treated even alone is a clash by itself, and is in no
// other: that the house has nothing for one species is not held against the
// next.
func (s *Scenario) Clashes() []Clash {
	found := make([]Clash, len(s.Bites))
	for _, clash := range s.AllClashes() {
		for _, b := range clash.Set {
			if f := &found[b]; len(f.Set) == 0 || len(f.Set) == len(clash.Set) && clash.Shortage.Above(f.Shortage) {
				*f = clash
			}
		}
	}
	return found
}

// AllClashes gives every clash of at most Victims people, those of fewer
// people first.
func (s *Scenario) AllClashes() []Clash {
	stock := s.stock()
	c := clashing{scenario: s, stock: &stock, open: s.needed(&stock), persons: slices.Clone(s.Persons)}
	for c.size = 1; c.size <= s.Victims; c.size++ {
		c.from(0, nil)
		c.settle()
	}
	return c.found
}

// clashing is the search for clashes, the small ones first.
type clashing struct {
	scenario *Scenario
	stock    *stock
	open     []int
	size     int
	persons  []int
	found    []Clash
	settled  int // so many are of smaller sizes
}

// from extends a set of which every part can be treated.
func (c *clashing) from(i int, set Set) {
	if len(set) == c.size {
		c.try(set)
		return
	}
	for ; i < len(c.open); i++ {
		b := c.open[i]
		if !c.scenario.may(b, b, set, c.persons) || !c.shares(b, set) {
			continue
		}
		c.scenario.bitten(b, -1, c.persons)
		c.from(i, append(set, b))
		c.scenario.bitten(b, 1, c.persons)
	}
}

// shares says whether a set with the bite may be a clash: the products of a
// clash hang together, but through whom is known only of whole sets.
func (c *clashing) shares(b int, set Set) bool {
	if len(set) == 0 || len(set)+1 < c.size {
		return true
	}
	for _, o := range set {
		for _, course := range c.scenario.Bites[o].Courses {
			if c.scenario.Bites[b].vials(course.Product) > 0 {
				return true
			}
		}
	}
	return false
}

// try keeps a set that cannot be treated, if each part of it can. Where
// somebody has room whatever is done for the others, the set can be treated,
// or it holds a smaller clash.
func (c *clashing) try(set Set) {
	var others [MostVictims]int
	for i, b := range set {
		n := copy(others[:], set[:i])
		n += copy(others[n:], set[i+1:])
		if c.stock.roomy(c.scenario.Bites, b, others[:n]) {
			return
		}
	}
	for _, smaller := range c.found[:c.settled] {
		if holds(set, smaller.Set) {
			return
		}
	}
	if short, _ := c.stock.treat(c.scenario.Bites, set); !short.None() {
		c.found = append(c.found, Clash{slices.Clone(set), short})
	}
}

// holds says whether a set contains another; both ascend.
func holds(set, part Set) bool {
	i := 0
	for _, b := range set {
		if i < len(part) && part[i] == b {
			i++
		}
	}
	return i == len(part)
}

// settle ends a size. A bite that is a clash by itself is left out from then
// on: no set with it is a smallest one.
func (c *clashing) settle() {
	c.settled = len(c.found)
	if c.size > 1 {
		return
	}
	for _, clash := range c.found {
		c.open = slices.DeleteFunc(c.open, func(b int) bool { return b == clash.Set[0] })
	}
}
