package reorder

import (
	"errors"
	"fmt"
	"slices"

	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// Offer is a product from a supplier.
type Offer struct {
	Product int
	Pack    int   // vials in a pack, at least 1
	Least   int   // packs in an order, at least; 0 is as 1
	Price   int64 // of a pack, in minor units
	Fee     int64 // of an order, in minor units
	Lead    int   // calendar days from the order until the vials may be used
	Life    int   // days on which they may be used from then on, at least 1
	// Change dates a price and a fee: those of the last change not after the
	// day of arrival count. Empty: they stay.
	Change []Price
}

// Price is what an offer costs for what arrives from a day on.
type Price struct {
	From       day.Day
	Price, Fee int64
}

// Period is a stretch of days on which the same bites may happen.
type Period struct {
	From    day.Day // until the next period, or the end of the plan
	Victims int
	Persons []int
	Bites   []cover.Bite
}

// Budget bounds what is ordered from a day on until the next budget.
type Budget struct {
	From day.Day
	Most int64 // minor units
}

// Nearby is vials of a product that some sites reach, and others not.
type Nearby struct {
	Product int
	Reached cover.Sites
	Vials   day.Line[int]
}

// Problem is what is to be planned for one site, or for several that share a
// place. What is ordered is kept where all of them reach it: whatever a set of
// victims is treated with, vials there are as good as vials anywhere else.
type Problem struct {
	From, Until day.Day // the plan holds on [From, Until); orders are made from From on
	Calendar    day.Calendar
	Stock       []day.Line[int] // usable vials of each product without any order, that all sites reach
	Near        []Nearby        // those that only some sites reach
	Periods     []Period        // ascending; the first not after From
	Offers      []Offer
	Budgets     []Budget // ascending; before the first nothing bounds
	// Stagger is how many vials of each product may have their last good day in
	// one calendar year, those in stock among them; 0 of a product, and one
	// beyond its end, have no bound. Every plan treats whoever can be treated;
	// of these plans those that go least beyond the bound are taken.
	Stagger []int
	// Search bounds the sets of levels that are tried; 0 is 20,000. A search
	// that ends there gives the best plan so far, as not proven.
	Search int
	// States bounds in how many states one product's orders are tried where
	// Stagger bounds it; 0 is 10,000. Beyond it only some numbers of packs are
	// tried, and the plan is proven only if no plan can be better at all.
	States int
}

// Check says what is wrong with a problem.
func (p *Problem) Check() error {
	if p.From >= p.Until {
		return errors.New("the plan ends before it begins")
	}
	if len(p.Periods) == 0 || p.Periods[0].From > p.From {
		return errors.New("nothing says which bites may happen when the plan begins")
	}
	for i, o := range p.Offers {
		if o.Product < 0 || o.Product >= len(p.Stock) || o.Pack < 1 || o.Least < 0 || o.Price < 0 || o.Fee < 0 || o.Lead < 0 || o.Life < 1 {
			return fmt.Errorf("offer %d is not allowed: %+v", i, o)
		}
	}
	for i, n := range p.Near {
		if n.Product < 0 || n.Product >= len(p.Stock) {
			return fmt.Errorf("the nearby vials %d are of product %d: no stock is given of it", i, n.Product)
		}
	}
	for _, period := range p.Periods {
		s := period.scenario(nil, nil)
		if err := s.Check(); err != nil {
			return fmt.Errorf("from %s: %w", period.From, err)
		}
		for _, b := range period.Bites {
			for _, c := range b.Courses {
				if c.Product >= len(p.Stock) {
					return fmt.Errorf("from %s: no stock is given of product %d", period.From, c.Product)
				}
			}
		}
	}
	return nil
}

// scenario puts the bites of a period beside what there is of each product.
func (p *Period) scenario(levels []int, near []cover.Pool) cover.Scenario {
	s := cover.Scenario{Victims: p.Victims, Persons: p.Persons, Bites: p.Bites, Pools: slices.Clone(near)}
	for product, n := range levels {
		if n > 0 {
			s.Pools = append(s.Pools, cover.Pool{Product: product, Vials: n, Reached: ^cover.Sites(0)})
		}
	}
	return s
}

// near gives what only some sites reach on a day.
func (p *Problem) near(on day.Day) (out []cover.Pool) {
	for _, n := range p.Near {
		if vials := n.Vials.At(on); vials > 0 {
			out = append(out, cover.Pool{Product: n.Product, Vials: vials, Reached: n.Reached})
		}
	}
	return out
}

// changes gives the days on which stock or bites change, the plan's first among
// them.
func (p *Problem) changes() []day.Day {
	days := []day.Day{p.From}
	for _, line := range p.Stock {
		for on := range line.Changes() {
			days = append(days, on)
		}
	}
	for _, n := range p.Near {
		for on := range n.Vials.Changes() {
			days = append(days, on)
		}
	}
	for _, period := range p.Periods {
		days = append(days, period.From)
	}
	return days
}

// period finds the bites that may happen on a day.
func (p *Problem) period(on day.Day) int {
	n := 0
	for n+1 < len(p.Periods) && p.Periods[n+1].From <= on {
		n++
	}
	return n
}

// orderBy gives the day by which to order what is to be there on a day: a
// working day. What has no lead is at hand on the day itself.
func (p *Problem) orderBy(o *Offer, arrive day.Day) day.Day {
	if o.Lead == 0 {
		return arrive
	}
	return p.Calendar.Earlier(arrive.Add(-o.Lead)).On
}

// soonest gives the first day on which an order can be there.
func (p *Problem) soonest(o *Offer) day.Day {
	if o.Lead == 0 {
		return p.From
	}
	return p.Calendar.Later(p.From).On.Add(o.Lead)
}

// costs gives what an order that arrives on a day costs.
func (o *Offer) costs(arrive day.Day, packs int) int64 {
	price, fee := o.Price, o.Fee
	for _, c := range o.Change {
		if c.From <= arrive {
			price, fee = c.Price, c.Fee
		}
	}
	return price*int64(packs) + fee
}

// rises says whether a pack ever gets dearer.
func (o *Offer) rises() bool {
	before := o.Price
	for i, c := range o.Change {
		if i > 0 && c.Price > before {
			return true
		}
		before = c.Price
	}
	return len(o.Change) > 0 && o.Change[0].Price > o.Price && o.Price > 0
}

// budget finds the budget that an order made on a day counts to; -1 for none.
func (p *Problem) budget(on day.Day) int {
	n := -1
	for n+1 < len(p.Budgets) && p.Budgets[n+1].From <= on {
		n++
	}
	return n
}
