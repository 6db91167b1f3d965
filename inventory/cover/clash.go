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
	stock := s.stock()
	c := clashing{scenario: s, stock: &stock, found: make([]Clash, len(s.Bites))}
	c.open = s.needed(&stock)
	persons := slices.Clone(s.Persons)
	for size := 1; size <= s.Victims; size++ {
		c.size, c.persons = size, persons
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
	sets     []Set // the clashes found, all of them
	now      []Clash
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
	for _, smaller := range c.sets {
		if holds(set, smaller) {
			return
		}
	}
	if short, _ := c.stock.treat(c.scenario.Bites, set); !short.None() {
		c.now = append(c.now, Clash{slices.Clone(set), short})
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

// settle gives each bite the worst clash of this size, unless it is in a
// smaller one. A bite that is a clash by itself is left out from then on: no
// set with it is a smallest one.
func (c *clashing) settle() {
	for _, clash := range c.now {
		for _, b := range clash.Set {
			if f := &c.found[b]; len(f.Set) == 0 || len(f.Set) == len(clash.Set) && clash.Shortage.Above(f.Shortage) {
				*f = clash
			}
		}
		if len(clash.Set) == 1 {
			c.open = slices.DeleteFunc(slices.Clone(c.open), func(b int) bool { return b == clash.Set[0] })
			continue
		}
		c.sets = append(c.sets, clash.Set)
	}
	c.now = nil
}
