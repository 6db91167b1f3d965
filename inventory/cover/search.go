package cover

import (
	"cmp"
	"slices"
)

// search walks over the sets of a group, each once, and leaves out those that
// cannot be worse than the worst so far.
//
// Two facts bound a set before it is treated. Whoever joins others adds at
// most one person and the vials of the smallest course: so a set is short of
// at most what any part of it is short of, and that for each of the rest. And
// whoever has a course that is there even if all the others took theirs of the
// same product adds nothing.
type search struct {
	scenario *Scenario
	stock    *stock
	group    []int        // those that are hard to treat first
	size     int          // of the sets that are looked for
	worst    parts        // by size
	persons  []int        // who is left to be bitten at each site
	joining  []Shortage   // what each bite adds at most
	largest  []int        // the vials that those from a place in the group on add at most
	pairs    [][]Shortage // of the group, by place in it; the second not before the first
}

func newSearch(s *Scenario, stock *stock, group []int) *search {
	w := &search{scenario: s, stock: stock, worst: make(parts, s.Victims+1), persons: slices.Clone(s.Persons), joining: make([]Shortage, len(s.Bites))}
	alone := make(map[int]Shortage, len(group))
	for _, b := range group {
		alone[b], _ = stock.treat(s.Bites, Set{b})
		w.joining[b] = Shortage{1, s.Bites[b].smallest()}
	}
	w.group = slices.SortedStableFunc(slices.Values(group), func(a, b int) int {
		return cmp.Or(
			cmp.Compare(alone[b].People, alone[a].People), cmp.Compare(alone[b].Vials, alone[a].Vials),
			cmp.Compare(w.joining[b].Vials, w.joining[a].Vials))
	})
	w.largest = make([]int, len(group))
	for i := len(group) - 1; i >= 0; i-- {
		w.largest[i] = w.joining[w.group[i]].Vials
		if i+1 < len(group) {
			w.largest[i] = max(w.largest[i], w.largest[i+1])
		}
	}
	if s.Victims > 2 {
		w.pairUp()
	}
	return w
}

func (w *search) pairUp() {
	w.pairs = make([][]Shortage, len(w.group))
	for i, a := range w.group {
		w.pairs[i] = make([]Shortage, len(w.group)-i)
		for j := range w.pairs[i] {
			w.pairs[i][j], _ = w.stock.treat(w.scenario.Bites, Set{a, w.group[i+j]})
		}
	}
}

// from extends a set, given by places in the group, by those from i on.
func (w *search) from(i int, set []int, short Shortage) {
	if len(set) == w.size {
		if short.Above(w.worst[w.size].short) {
			w.worst[w.size] = part{short, w.bites(set)}
		}
		return
	}
	for ; i < len(w.group); i++ {
		if !w.may(i, set) {
			continue
		}
		next := append(set, i)
		if !w.bound(next, short).Above(w.worst[w.size].short) {
			continue
		}
		w.bitten(i, -1)
		w.from(i, next, w.treated(next, short))
		w.bitten(i, 1)
	}
}

// bound gives more than any set that begins so can be short of, when all but
// the last of these fall short by so much.
func (w *search) bound(set []int, short Shortage) Shortage {
	last := set[len(set)-1]
	low := short.plus(w.joining[w.group[last]])
	if len(set) > 2 {
		all := Shortage{}
		for _, i := range set {
			all = all.plus(w.joining[w.group[i]])
		}
		for n, i := range set[:len(set)-1] {
			for _, j := range set[n+1:] {
				rest := all.less(w.joining[w.group[i]]).less(w.joining[w.group[j]])
				if sum := w.pairs[i][j-i].plus(rest); low.Above(sum) {
					low = sum
				}
			}
		}
	}
	left := w.size - len(set)
	return low.plus(Shortage{left, left * w.largest[last]})
}

// treated gives the shortage of a set.
func (w *search) treated(set []int, before Shortage) Shortage {
	if len(set) == 2 && w.pairs != nil {
		return w.pairs[set[0]][set[1]-set[0]]
	}
	bites := w.bites(set)
	if w.stock.roomy(w.scenario.Bites, bites[len(bites)-1], bites[:len(bites)-1]) {
		return before
	}
	short, _ := w.stock.treat(w.scenario.Bites, bites)
	return short
}

func (w *search) bites(set []int) Set {
	out := make(Set, len(set))
	for i, at := range set {
		out[i] = w.group[at]
	}
	return out
}

// may says whether another person can be bitten so.
func (w *search) may(i int, set []int) bool {
	return w.scenario.may(w.group[i], i, set, w.persons)
}

func (w *search) bitten(i, by int) { w.scenario.bitten(w.group[i], by, w.persons) }

// may says whether bite b, that stands in an ascending set as at, can happen to
// another person.
func (s *Scenario) may(b, at int, set []int, persons []int) bool {
	bite := &s.Bites[b]
	if bite.Site < len(persons) && persons[bite.Site] < 1 {
		return false
	}
	already := 0
	for n := len(set) - 1; n >= 0 && set[n] == at; n-- {
		already++
	}
	return already < bite.Most
}

func (s *Scenario) bitten(b, by int, persons []int) {
	if site := s.Bites[b].Site; site < len(persons) {
		persons[site] += by
	}
}

// roomy says whether a bite has a course that its site reaches even if all the
// others were treated with the same product: then it can be treated whatever
// is done for them.
func (s *stock) roomy(bites []Bite, b int, others []int) bool {
	for _, c := range bites[b].Courses {
		need := c.Vials
		for _, o := range others {
			need += bites[o].vials(c.Product)
		}
		if s.alone[c.Product][bites[b].Site] >= need {
			return true
		}
	}
	return false
}

// smallest gives the vials of the smallest course.
func (b *Bite) smallest() int {
	n := b.Courses[0].Vials
	for _, c := range b.Courses {
		n = min(n, c.Vials)
	}
	return n
}
