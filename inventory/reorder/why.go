package reorder

import (
	"slices"

	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// Lapse is a set of victims that cannot be treated from a day on.
type Lapse struct {
	On     day.Day // the first such day; unset: there is none
	Set    cover.Set
	Period int // whose bites the set means
}

// Without gives what would lapse first without one of a plan's orders: the
// reason for it. Gaps that the plan cannot mend are not counted.
func (p *Problem) Without(plan *Plan, order int) Lapse {
	rest := slices.Delete(slices.Clone(plan.Orders), order, order+1)
	return p.lapse(plan, rest, p.From, p.Until)
}

// After gives what lapses first after the end of a plan, within so many days,
// if nothing more is ordered than the plan says; and the day by which to order
// against it, from the offer that needs least time. No such day is given where
// nobody offers what would help.
func (p *Problem) After(plan *Plan, days int) (Lapse, day.Day) {
	lapse := p.lapse(plan, plan.Orders, p.Until, p.Until.Add(days))
	if lapse.On.IsZero() {
		return lapse, 0
	}
	var by day.Day
	bites := p.Periods[lapse.Period].Bites
	for i := range p.Offers {
		o := &p.Offers[i]
		helps := slices.ContainsFunc(lapse.Set, func(b int) bool {
			return slices.ContainsFunc(bites[b].Courses, func(c cover.Course) bool { return c.Product == o.Product })
		})
		if helps {
			by = max(by, p.orderBy(o, lapse.On))
		}
	}
	return lapse, by
}

// lapse finds the first day of a stretch on which orders leave a set untreated
// that is in no gap. Most days have been searched for the plan itself.
func (p *Problem) lapse(plan *Plan, orders []Order, from, until day.Day) Lapse {
	known := plan.known
	if known == nil {
		known = new(cover.Memory)
	}
	for _, on := range p.eventsOf(orders, plan.Gaps, from, until) {
		levels := p.levelsOf(orders, on)
		period := p.period(on)
		scenario := p.Periods[period].scenario(levels, p.near(on))
		for _, clash := range known.AllClashes(&scenario) {
			if !inGap(plan.Gaps, clash.Set, period, on, p.Until) {
				return Lapse{on, clash.Set, period}
			}
		}
	}
	return Lapse{}
}

// inGap says whether a gap tells of a set on a day; one that goes to the end of
// the plan goes on after it.
func inGap(gaps []Gap, set cover.Set, period int, on, end day.Day) bool {
	return slices.ContainsFunc(gaps, func(g Gap) bool {
		return g.Period == period && g.From <= on && (on < g.Until || g.Until == end) && slices.Equal(g.Set, set)
	})
}

// eventsOf gives the days of a stretch on which what there is may change, the
// first of it included.
func (p *Problem) eventsOf(orders []Order, gaps []Gap, from, until day.Day) []day.Day {
	days := append(p.changes(), from)
	for _, o := range orders {
		days = append(days, o.Arrives, o.Ends)
	}
	for _, g := range gaps {
		days = append(days, g.Until)
	}
	days = slices.DeleteFunc(days, func(d day.Day) bool { return d < from || d >= until })
	slices.Sort(days)
	return slices.Compact(days)
}

// levelsOf gives the vials of each product that all sites reach on a day, with
// those of orders.
func (p *Problem) levelsOf(orders []Order, on day.Day) []int {
	out := make([]int, len(p.Stock))
	for product, line := range p.Stock {
		out[product] = line.At(on)
	}
	for _, o := range orders {
		if o.Arrives <= on && on < o.Ends {
			offer := &p.Offers[o.Offer]
			out[offer.Product] += o.Packs * offer.Pack
		}
	}
	return out
}
