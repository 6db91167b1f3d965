package cover

import (
	"cmp"
	"encoding/binary"
	"slices"
)

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
func (s *Scenario) Clashes() []Clash { return new(Memory).Clashes(s) }

// AllClashes gives every clash of at most Victims people, those of fewer
// people first.
func (s *Scenario) AllClashes() []Clash { return new(Memory).AllClashes(s) }

// Memory keeps the clashes of each group of bites that share products, for
// whoever asks of many days on which most groups are as they were. It serves
// one goroutine; the zero Memory is empty.
type Memory struct{ groups map[string][]Clash }

// Clashes is Scenario.Clashes.
func (m *Memory) Clashes(s *Scenario) []Clash {
	found := make([]Clash, len(s.Bites))
	for _, clash := range m.AllClashes(s) {
		for _, b := range clash.Set {
			if f := &found[b]; len(f.Set) == 0 || len(f.Set) == len(clash.Set) && clash.Shortage.Above(f.Shortage) {
				*f = clash
			}
		}
	}
	return found
}

// AllClashes is Scenario.AllClashes.
func (m *Memory) AllClashes(s *Scenario) (all []Clash) {
	stock := s.stock()
	for _, group := range s.apart(s.needed(&stock)) {
		for _, clash := range m.ofGroup(s, &stock, group) {
			set := make(Set, len(clash.Set))
			for i, at := range clash.Set {
				set[i] = group[at]
			}
			all = append(all, Clash{set, clash.Shortage})
		}
	}
	slices.SortStableFunc(all, func(a, b Clash) int { return cmp.Or(cmp.Compare(len(a.Set), len(b.Set)), slices.Compare(a.Set, b.Set)) })
	return all
}

// apart parts bites into groups that share no product; where the people
// present bound the victims, all are one group.
func (s *Scenario) apart(bites []int) [][]int {
	if s.bounded() {
		return [][]int{bites}
	}
	return s.connected(bites)
}

// ofGroup gives the clashes of a group, whose sets hold places in the group.
func (m *Memory) ofGroup(s *Scenario, stock *stock, group []int) []Clash {
	key := s.groupKey(stock, group)
	found, known := m.groups[key]
	if known {
		return found
	}
	c := clashing{scenario: s, stock: stock, open: slices.Clone(group), persons: slices.Clone(s.Persons)}
	for c.size = 1; c.size <= s.Victims; c.size++ {
		c.from(0, nil)
		c.settle()
	}
	for _, clash := range c.found {
		for i, b := range clash.Set {
			clash.Set[i] = slices.Index(group, b)
		}
	}
	if m.groups == nil {
		m.groups = make(map[string][]Clash)
	}
	m.groups[key] = c.found
	return c.found
}

// groupKey writes all that the clashes of a group turn on.
func (s *Scenario) groupKey(stock *stock, group []int) string {
	key := binary.AppendVarint(nil, int64(s.Victims))
	add := func(n int) { key = binary.AppendVarint(key, int64(n)) }
	seen := make(map[int]bool)
	for _, b := range group {
		bite := &s.Bites[b]
		add(bite.Site)
		add(min(bite.Most, s.Victims))
		add(len(bite.Courses))
		for _, c := range bite.Courses {
			add(c.Product)
			add(c.Vials)
			if !seen[c.Product] {
				seen[c.Product] = true
				add(len(stock.pools[c.Product]))
				for _, p := range stock.pools[c.Product] {
					add(p.Vials)
					key = binary.AppendUvarint(key, uint64(p.Reached))
				}
			}
		}
	}
	for _, n := range s.Persons {
		add(n)
	}
	return string(key)
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
