package answer

import (
	"cmp"
	"maps"
	"reflect"
	"slices"

	"antidotary/compliance"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
	"antidotary/inventory/reorder"
)

// purchase states a staged scene as a reorder problem on [from, until),
// without offers: the bites of each stretch of days at all its sites, and the
// vials that are there for sure. What is bought is kept where all of these
// sites reach it.
func purchase(s *compliance.Staged, from, until day.Day) *reorder.Problem {
	p := &reorder.Problem{From: from, Until: until, Calendar: day.WeekendsOnly(), Stock: make([]day.Line[int], len(s.Products))}
	pools := make(pooled)
	for product := range s.Products {
		pools.of(product, s.All())
	}
	// Beyond the plan's end too, so that what lapses after it is known.
	for _, on := range s.Days(from, until.AddMonths(60)) {
		scenario, _ := s.On(on, false)
		next := reorder.Period{From: on, Victims: scenario.Victims, Persons: scenario.Persons, Bites: scenario.Bites}
		if n := len(p.Periods); n == 0 || !reflect.DeepEqual(p.Periods[n-1].Bites, next.Bites) {
			p.Periods = append(p.Periods, next)
		}
		pools.add(on, scenario.Pools)
	}
	for _, key := range pools.sorted() {
		if line := pools[key].Line(); key.reached == s.All() {
			p.Stock[key.product] = line
		} else {
			p.Near = append(p.Near, reorder.Nearby{Product: key.product, Reached: key.reached, Vials: line})
		}
	}
	return p
}

// poolKey is the vials of a product that the same sites reach.
type poolKey struct {
	product int
	reached cover.Sites
}

// pooled builds the line of each pool.
type pooled map[poolKey]*day.Builder[int]

func (p pooled) of(product int, reached cover.Sites) {
	if key := (poolKey{product, reached}); p[key] == nil {
		p[key] = day.NewBuilder(0)
	}
}

// add adds what there is of each pool on a day; one that is not named is empty.
func (p pooled) add(on day.Day, pools []cover.Pool) {
	vials := make(map[poolKey]int, len(pools))
	for _, pool := range pools {
		p.of(pool.Product, pool.Reached)
		vials[poolKey{pool.Product, pool.Reached}] += pool.Vials
	}
	for key, line := range p {
		line.Add(on, vials[key])
	}
}

func (p pooled) sorted() []poolKey {
	return slices.SortedFunc(maps.Keys(p), func(a, b poolKey) int {
		return cmp.Or(cmp.Compare(a.product, b.product), cmp.Compare(a.reached, b.reached))
	})
}
