package cover

import "slices"

// needed gives the bites that can make a worst set, or a clash: not those
// that a plentiful product treats.
//
// A product is plentiful for a scenario when every site at which it is wanted
// reaches enough of it for as many of its largest courses as there are
// victims. Whoever it treats can be treated with it, whatever is done for the
// others, so such a bite adds nothing to any shortage.
func (s *Scenario) needed(stock *stock) []int {
	largest := make([]int, len(stock.pools))
	at := make([]Sites, len(stock.pools))
	for _, b := range s.Bites {
		for _, c := range b.Courses {
			largest[c.Product] = max(largest[c.Product], c.Vials)
			at[c.Product] |= 1 << b.Site
		}
	}
	plenty := make([]bool, len(stock.pools))
	for p := range plenty {
		plenty[p] = at[p] != 0
		for site := range MostSites {
			if at[p]>>site&1 == 1 && stock.reach(p, 1<<site) < s.Victims*largest[p] {
				plenty[p] = false
			}
		}
	}
	var left []int
	for i, b := range s.Bites {
		if !slices.ContainsFunc(b.Courses, func(c Course) bool { return plenty[c.Product] }) {
			left = append(left, i)
		}
	}
	return left
}

// groups parts the bites into groups that share no product, and leaves out of
// each those that other bites dominate. Where the people present bound the
// victims, all are one group, since they share the people.
func (s *Scenario) groups(bites []int) [][]int {
	bites = s.undominated(bites)
	if s.bounded() {
		if len(bites) == 0 {
			return nil
		}
		return [][]int{bites}
	}
	return s.connected(bites)
}

// bounded says whether the people present bound the victims.
func (s *Scenario) bounded() bool {
	return slices.ContainsFunc(s.Persons, func(n int) bool { return n < s.Victims })
}

// connected parts bites by the products that they share, directly or through
// others.
func (s *Scenario) connected(bites []int) [][]int {
	group := make([]int, len(bites)) // each bite's group, by union and find
	byProduct := make(map[int]int)
	var find func(i int) int
	find = func(i int) int {
		if group[i] != i {
			group[i] = find(group[i])
		}
		return group[i]
	}
	for i, b := range bites {
		group[i] = i
		for _, c := range s.Bites[b].Courses {
			if first, known := byProduct[c.Product]; known {
				group[find(i)] = find(first)
			} else {
				byProduct[c.Product] = i
			}
		}
	}
	at := make(map[int]int)
	var out [][]int
	for i, b := range bites {
		root := find(i)
		n, known := at[root]
		if !known {
			n = len(out)
			at[root] = n
			out = append(out, nil)
		}
		out[n] = append(out[n], b)
	}
	return out
}

// undominated leaves out a bite where enough people can be bitten by others
// that are at least as hard to treat: whatever treats those treats it, so in
// any set one of them can take its place and the shortage is no smaller.
func (s *Scenario) undominated(bites []int) []int {
	reached := s.reached()
	var kept []int
	for _, b := range bites {
		room := 0
		for _, o := range bites {
			if o != b && s.dominates(o, b, reached) && (o < b || !s.dominates(b, o, reached)) {
				room += s.Bites[o].Most
			}
		}
		if room < s.Victims {
			kept = append(kept, b)
		}
	}
	return kept
}

// dominates says whether any way to treat bite o would treat bite b too.
func (s *Scenario) dominates(o, b int, reached func(of, by int) bool) bool {
	hard, easy := &s.Bites[o], &s.Bites[b]
	if hard.Site != easy.Site && (len(s.Persons) > 0 || !reached(hard.Site, easy.Site)) {
		return false
	}
	for _, c := range hard.Courses {
		if n := easy.vials(c.Product); n == 0 || n > c.Vials {
			return false
		}
	}
	return true
}

// reached answers whether one site reaches every pool that another reaches.
func (s *Scenario) reached() func(of, by int) bool {
	memo := make(map[[2]int]bool)
	return func(of, by int) bool {
		key := [2]int{of, by}
		all, known := memo[key]
		if !known {
			all = !slices.ContainsFunc(s.Pools, func(p Pool) bool { return p.Reached>>of&1 == 1 && p.Reached>>by&1 == 0 })
			memo[key] = all
		}
		return all
	}
}
