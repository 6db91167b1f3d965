package answer

import (
	"reflect"

	"antidotary/compliance"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
	"antidotary/inventory/reorder"
)

// purchase states a staged scene as a reorder problem on [from, until),
// without offers: the bites of each stretch of days, and the vials that are
// there for sure.
func purchase(s *compliance.Staged, from, until day.Day) *reorder.Problem {
	p := &reorder.Problem{From: from, Until: until, Calendar: day.WeekendsOnly(), Stock: make([]day.Line[int], len(s.Products))}
	builders := make([]*day.Builder[int], len(s.Products))
	for i := range builders {
		builders[i] = day.NewBuilder(0)
	}
	// Beyond the plan's end too, so that what lapses after it is known.
	for _, on := range s.Days(from, until.AddMonths(60)) {
		scenario, _ := s.On(on, false)
		next := reorder.Period{From: on, Victims: scenario.Victims, Persons: scenario.Persons, Bites: oneSite(scenario.Bites)}
		if n := len(p.Periods); n == 0 || !reflect.DeepEqual(p.Periods[n-1].Bites, next.Bites) {
			p.Periods = append(p.Periods, next)
		}
		vials := make([]int, len(s.Products))
		for _, pool := range scenario.Pools {
			if pool.Reached&1 == 1 {
				vials[pool.Product] += pool.Vials
			}
		}
		for product, n := range vials {
			builders[product].Add(on, n)
		}
	}
	for i, b := range builders {
		p.Stock[i] = b.Line()
	}
	return p
}

// oneSite keeps the bites of the scene's own site: a plan is for one facility.
func oneSite(bites []cover.Bite) (out []cover.Bite) {
	for _, b := range bites {
		if b.Site == 0 {
			out = append(out, b)
		}
	}
	return out
}
