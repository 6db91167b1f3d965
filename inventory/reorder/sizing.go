package reorder

import (
	"cmp"
	"encoding/binary"
	"slices"

	"antidotary/inventory/day"
)

// Order is an order of a plan.
type Order struct {
	Offer   int
	Packs   int
	OrderBy day.Day // the last day on which ordering is in time
	Arrives day.Day // may be used from this day on
	Ends    day.Day // may not be used from this day on
	Cost    int64
}

// batch is what is left of orders that end on one day.
type batch struct {
	ends  day.Day
	vials int
}

// bill is one way to keep a product's level: what falls to each budget, and
// the orders from the last day on which they differ.
type bill struct {
	over    int // vials beyond the bounds of Stagger
	total   int64
	spent   []int64 // by budget; nil without budgets
	orders  []Order // made at this step
	further *bill
}

// sizing finds the cheapest ways to keep one product at its levels.
//
// It walks over the days on which something changes. An order that would not
// be missed on its day could as well come later, where it costs the same and
// lasts longer; so while prices stay, orders come only on days that would be
// short without them, with the last order that a budget pays, or on the last day
// whose vials lapse within a year that is bounded. And a single offer that gets
// no dearer never brings more than is needed until some later day: what is more
// could come with the next order. With several offers, rising prices, budgets or
// staggering, every number of packs that may be of use is tried.
type sizing struct {
	problem *Problem
	offers  []int  // those of the product
	early   []bool // by day: orders may come though it is not short without them
	tight   bool   // an order brings what is needed until some day, not more
	days    []day.Day
	need    []int // beyond the stock, from each day to the next
	memo    map[string][]*bill
	lapses  *lapses // nil where nothing bounds them
	trying  trying
	limit   int  // of states; 0: none
	full    bool // it was reached: nothing that was found counts
}

// trying is which orders of a staggered product are tried: each that may be of
// use, or where these are too many, fewer.
type trying int

const (
	tryAll    trying = iota
	trySome          // as many packs as are needed until some day, or as a year has room for
	tryNeeded        // as many packs as are needed until some day, and none early
)

// size gives the ways that no other beats in every budget; none where the
// levels cannot be kept.
func (s *search) size(product int, need []int) []*bill {
	for {
		z := s.sizing(product, s.changes, need)
		z.trying = s.trying[product]
		if z.trying < tryNeeded && z.lapses != nil {
			z.limit = cmp.Or(s.States, 10_000)
		}
		if ways := z.ways(); !z.full {
			s.plan.rough = s.plan.rough || z.trying > tryAll
			return ways
		}
		s.trying[product]++
	}
}

// sizing states one product's levels.
func (p *Problem) sizing(product int, days []day.Day, need []int) *sizing {
	s := &sizing{problem: p, lapses: p.lapses(product), days: days, need: need, early: make([]bool, len(days)), memo: make(map[string][]*bill)}
	for i, o := range p.Offers {
		if o.Product == product {
			s.offers = append(s.offers, i)
		}
	}
	return s
}

func (s *sizing) ways() []*bill {
	p := s.problem
	for _, i := range s.offers {
		s.mayComeEarly(&p.Offers[i])
	}
	s.tight = s.trying > tryAll || len(p.Budgets) == 0 && s.lapses == nil && len(s.offers) == 1 && !p.Offers[s.offers[0]].rises()
	return s.from(0, nil, s.lapses.none())
}

// mayComeEarly marks the days on which ordering early may be of use: those of
// the last order that a budget pays, the last whose vials lapse within a year,
// and any if prices change.
func (s *sizing) mayComeEarly(o *Offer) {
	for i, on := range s.days {
		s.early[i] = s.early[i] || len(o.Change) > 0
		for _, b := range s.problem.Budgets {
			s.early[i] = s.early[i] || on == s.problem.lastPaid(o, b)
		}
		s.early[i] = s.early[i] || s.lapses != nil && s.trying < tryNeeded && isNewYear(on.Add(o.Life))
	}
}

// lastPaid gives the day on which the last order before a budget begins
// arrives.
func (p *Problem) lastPaid(o *Offer, b Budget) day.Day {
	if o.Lead == 0 {
		return b.From - 1
	}
	return p.Calendar.Earlier(b.From - 1).On.Add(o.Lead)
}

// turns adds to some days those on which an order may matter: the first on
// which each offer can be there, the last of each budget, the last whose vials
// lapse within each year that is bounded, those on which prices change, and
// those on which what came on any of these ends.
func (p *Problem) turns(days []day.Day) []day.Day {
	for i := range p.Offers {
		o := &p.Offers[i]
		days = append(days, p.soonest(o))
		for _, b := range p.Budgets {
			days = append(days, p.lastPaid(o, b))
		}
		days = append(days, p.lastOfYears(o)...)
		for _, c := range o.Change {
			days = append(days, c.From, c.From-1)
		}
	}
	days = p.within(days)
	for fresh := days; len(fresh) > 0; {
		var ends []day.Day
		for _, d := range fresh {
			for i := range p.Offers {
				if o := &p.Offers[i]; d >= p.soonest(o) {
					ends = append(ends, d.Add(o.Life))
				}
			}
		}
		fresh = slices.DeleteFunc(p.within(ends), func(d day.Day) bool {
			_, known := slices.BinarySearch(days, d)
			return known
		})
		days = p.within(append(days, fresh...))
	}
	return days
}

// within sorts days of the plan, each once.
func (p *Problem) within(days []day.Day) []day.Day {
	days = slices.DeleteFunc(slices.Clone(days), func(d day.Day) bool { return d < p.From || d >= p.Until })
	slices.Sort(days)
	return slices.Compact(days)
}

// from gives the ways to go on from the i-th day with what has been bought, of
// which so much lapses in each year.
func (s *sizing) from(i int, alive []batch, lapsing []int) []*bill {
	for ; i < len(s.days); i++ {
		alive = living(alive, s.days[i])
		if s.need[i] > total(alive) || s.early[i] && s.worth(i, alive) {
			break
		}
	}
	if i == len(s.days) {
		return []*bill{{spent: make([]int64, len(s.problem.Budgets))}}
	}
	if s.full = s.full || s.limit > 0 && len(s.memo) >= s.limit; s.full {
		return nil
	}
	lapsing = s.lapses.open(lapsing, s.days[i])
	key := s.key(i, alive, lapsing)
	if known, ok := s.memo[key]; ok {
		return known
	}
	c := choosing{sizing: s, at: i, alive: alive, lapsing: lapsing, short: s.need[i] - total(alive)}
	c.offer(0, 0)
	ways := cheapest(c.ways)
	s.memo[key] = ways
	return ways
}

// worth says whether anything is short later, so that buying now may help.
func (s *sizing) worth(i int, alive []batch) bool {
	for j := i; j < len(s.days); j++ {
		if s.need[j] > total(living(alive, s.days[j])) {
			return true
		}
	}
	return false
}

func living(alive []batch, on day.Day) []batch {
	return slices.DeleteFunc(slices.Clone(alive), func(b batch) bool { return b.ends <= on })
}

func total(alive []batch) (n int) {
	for _, b := range alive {
		n += b.vials
	}
	return n
}

func (s *sizing) key(i int, alive []batch, lapsing []int) string {
	out := binary.AppendVarint(nil, int64(i))
	for _, vials := range lapsing {
		out = binary.AppendVarint(out, int64(vials))
	}
	for _, b := range alive {
		out = binary.AppendVarint(binary.AppendVarint(out, int64(b.ends)), int64(b.vials))
	}
	return string(out)
}

// choosing tries the orders that may come on one day.
type choosing struct {
	*sizing
	at      int
	alive   []batch
	lapsing []int
	short   int // vials that are missing on the day itself
	orders  []Order
	ways    []*bill
}

// offer tries the packs of the n-th offer and of those after it; so many vials
// come already.
func (c *choosing) offer(n, coming int) {
	if n == len(c.offers) {
		c.carryOn(coming)
		return
	}
	c.offer(n+1, coming)
	o := &c.problem.Offers[c.offers[n]]
	on := c.days[c.at]
	if on < c.problem.soonest(o) {
		return
	}
	for _, packs := range c.packs(o) {
		c.orders = append(c.orders, Order{Offer: c.offers[n], Packs: packs, OrderBy: c.problem.orderBy(o, on), Arrives: on, Ends: on.Add(o.Life), Cost: o.costs(on, packs)})
		c.offer(n+1, coming+packs*o.Pack)
		c.orders = c.orders[:len(c.orders)-1]
	}
}

// packs gives the numbers of packs that may be of use.
func (c *choosing) packs(o *Offer) (out []int) {
	least, most := max(1, o.Least), 0
	ends := c.days[c.at].Add(o.Life)
	for j := c.at; j < len(c.days) && c.days[j] < ends; j++ {
		if short := c.need[j] - total(living(c.alive, c.days[j])); short > 0 {
			n := max(least, (short+o.Pack-1)/o.Pack)
			most = max(most, n)
			out = append(out, n)
		}
	}
	if !c.tight {
		out = out[:0]
		for n := least; n <= most; n++ {
			out = append(out, n)
		}
		return out
	}
	if c.trying == trySome {
		out = append(out, c.filling(o, least, most)...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// filling gives the packs that a year has room for, and one more.
func (c *choosing) filling(o *Offer, least, most int) (out []int) {
	at := year(c.days[c.at].Add(o.Life)-1) - c.lapses.first
	n := (c.lapses.room(at) - c.lapsing[at]) / o.Pack
	for _, packs := range []int{n, n + 1} {
		if packs >= least && packs <= most {
			out = append(out, packs)
		}
	}
	return out
}

// carryOn goes on with the orders chosen, if the day is not short with them and,
// where orders are not free, would be without any of them.
func (c *choosing) carryOn(coming int) {
	if coming < c.short {
		return
	}
	alive := slices.Clone(c.alive)
	var cost int64
	for _, o := range c.orders {
		vials := o.Packs * c.problem.Offers[o.Offer].Pack
		if !c.early[c.at] && coming-vials >= c.short {
			return
		}
		alive = append(alive, batch{min(o.Ends, c.problem.Until), vials}) // what outlasts the plan ends with it
		cost += o.Cost
	}
	lapsing := c.lapses.with(c.lapsing, c.orders, c.problem.Offers)
	over := c.lapses.over(lapsing)
	for _, rest := range c.from(c.at+1, merged(alive), lapsing) {
		b := &bill{over: rest.over + over, total: rest.total + cost, spent: rest.spent, further: rest, orders: slices.Clone(c.orders)}
		if len(c.problem.Budgets) > 0 {
			b.spent = slices.Clone(rest.spent)
			for _, o := range c.orders {
				if n := c.problem.budget(o.OrderBy); n >= 0 {
					b.spent[n] += o.Cost
				}
			}
			if !c.problem.affords(b.spent) {
				continue
			}
		}
		c.ways = append(c.ways, b)
	}
}

// merged joins what ends on one day.
func merged(alive []batch) []batch {
	slices.SortFunc(alive, func(a, b batch) int { return cmp.Compare(a.ends, b.ends) })
	out := alive[:0]
	for _, b := range alive {
		if n := len(out); n > 0 && out[n-1].ends == b.ends {
			out[n-1].vials += b.vials
			continue
		}
		out = append(out, b)
	}
	return out
}

func (p *Problem) affords(spent []int64) bool {
	for i, b := range p.Budgets {
		if spent[i] > b.Most {
			return false
		}
	}
	return true
}

// cheapest leaves out each way that another beats in total, in every budget
// and in how far it goes beyond the bounds.
func cheapest(ways []*bill) []*bill {
	slices.SortStableFunc(ways, (*bill).compare)
	var out []*bill
	for _, w := range ways {
		if !slices.ContainsFunc(out, func(o *bill) bool { return o.within(w) }) {
			out = append(out, w)
		}
	}
	return out
}

// within says that a bill is not above another in any budget, and no worse.
func (b *bill) within(o *bill) bool {
	for i := range b.spent {
		if b.spent[i] > o.spent[i] {
			return false
		}
	}
	return b.compare(o) <= 0
}

// compare puts the bill that goes less beyond the bounds first, of equal ones
// the cheaper.
func (b *bill) compare(o *bill) int {
	return cmp.Or(cmp.Compare(b.over, o.over), cmp.Compare(b.total, o.total))
}

// all gives the orders of a bill, in the order of their arrival.
func (b *bill) all() (out []Order) {
	for ; b != nil; b = b.further {
		out = append(out, b.orders...)
	}
	return out
}
