package cover

import "slices"

// Worst is a set of victims whose shortage is greatest; of equal ones one with
// fewest people. Set is empty where everybody can be
// treated, whoever is bitten.
type Worst struct {
	Shortage Shortage
	Set      Set
	Given    []int // the product of each victim, as well as can be
}

// Worst finds the worst set of at most Victims people, over all sets that can
// happen. The scenario must pass Check.
func (s *Scenario) Worst() Worst {
	stock := s.stock()
	left := s.needed(&stock)
	total := parts{}
	for _, group := range s.groups(left) {
		total = total.with(s.worstOf(&stock, group), s.Victims)
	}
	set := total.best(s.Victims)
	if len(set) == 0 {
		return Worst{}
	}
	slices.Sort(set)
	short, given := stock.treat(s.Bites, set)
	return Worst{Shortage: short, Set: set, Given: given}
}

// part is the worst that some groups of bites can come to.
type part struct {
	short Shortage
	set   Set
}

// parts gives the worst for each number of victims, from none on.
type parts []part

// with adds a group that shares no product with the others: what is missing
// is the sum, so only how many victims fall to each is open.
func (p parts) with(o parts, victims int) parts {
	if len(p) == 0 {
		return o
	}
	out := make(parts, min(len(p)+len(o)-1, victims+1))
	for i := range p {
		for j := range o {
			if i+j >= len(out) {
				break
			}
			if sum := p[i].short.plus(o[j].short); sum.Above(out[i+j].short) {
				out[i+j] = part{sum, slices.Concat(p[i].set, o[j].set)}
			}
		}
	}
	return out
}

// best gives the smallest set that is as bad as any.
func (p parts) best(victims int) Set {
	var worst part
	for n := 0; n < len(p) && n <= victims; n++ {
		if p[n].short.Above(worst.short) {
			worst = p[n]
		}
	}
	return worst.set
}

// worstOf searches the sets of one group of bites, for each number of victims.
func (s *Scenario) worstOf(stock *stock, group []int) parts {
	w := newSearch(s, stock, group)
	for w.size = 1; w.size <= s.Victims; w.size++ {
		w.from(0, nil, Shortage{})
	}
	return w.worst
}

// Short gives the shortage of one set of victims, whether or not it can
// happen, and the product that each is best given.
func (s *Scenario) Short(set Set) (Shortage, []int) {
	stock := s.stock()
	return stock.treat(s.Bites, set)
}
