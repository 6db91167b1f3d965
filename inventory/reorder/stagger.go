package reorder

import (
	"cmp"
	"slices"
	"time"

	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// Lapsing is more vials of a product than may have their last good day in one
// calendar year.
type Lapsing struct {
	Product, Year int
	Vials         int // in all
	Ordered       int // of these by the plan; the others are in stock
	Most          int
}

// StaggerBy lets at most one part in so many of what the planned victims may
// need of each product lapse within one calendar year, rounded up to whole
// vials. What they may need is the most that any set of them takes when each is
// given that product; where other products treat some of them it is more than
// is bought, so the bound errs towards the larger.
func (p *Problem) StaggerBy(parts int) {
	p.Stagger = make([]int, len(p.Stock))
	for product := range p.Stagger {
		for i := range p.Periods {
			if period := &p.Periods[i]; period.From < p.Until {
				p.Stagger[product] = max(p.Stagger[product], (period.demand(product)+parts-1)/parts)
			}
		}
	}
}

// demand gives the most vials of a product that a set of victims may take: the
// largest courses first, as often as each may happen and people are there.
func (p *Period) demand(product int) (vials int) {
	type taking struct {
		*cover.Bite
		vials int
	}
	var all []taking
	for i := range p.Bites {
		for _, c := range p.Bites[i].Courses {
			if c.Product == product {
				all = append(all, taking{&p.Bites[i], c.Vials})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b taking) int { return cmp.Compare(b.vials, a.vials) })
	left, persons := p.Victims, slices.Clone(p.Persons)
	for _, t := range all {
		n := min(t.Most, left)
		if t.Site < len(persons) {
			n = min(n, persons[t.Site])
			persons[t.Site] -= n
		}
		left -= n
		vials += n * t.vials
	}
	return vials
}

// Lapsing gives the years in which more vials of a product lapse than Stagger
// allows, with a plan's orders; by product and year.
func (p *Problem) Lapsing(orders []Order) (out []Lapsing) {
	for product := range p.Stock {
		l := p.lapses(product)
		if l == nil {
			continue
		}
		ordered := l.with(l.none(), orders, p.Offers)
		for i, n := range ordered {
			if all := l.stock[i] + n; all > l.most {
				out = append(out, Lapsing{product, l.first + i, all, n, l.most})
			}
		}
	}
	return out
}

// staggers says whether any product is bounded.
func (p *Problem) staggers() bool {
	return slices.ContainsFunc(p.Stagger, func(most int) bool { return most > 0 })
}

// over gives by how many vials orders go beyond the bounds.
func (p *Problem) over(orders []Order) (n int) {
	for product := range p.Stock {
		if l := p.lapses(product); l != nil {
			n += l.over(l.with(l.none(), orders, p.Offers))
		}
	}
	return n
}

// lapses is what is bounded of one product, by calendar year. A nil one bounds
// nothing.
type lapses struct {
	product int
	most    int
	first   int   // the year that the slices begin with
	stock   []int // vials that go out of stock, from the day after the plan's first on
	life    int   // the shortest of the offers
}

func (p *Problem) lapses(product int) *lapses {
	if product >= len(p.Stagger) || p.Stagger[product] == 0 {
		return nil
	}
	l := &lapses{product: product, most: p.Stagger[product], first: year(p.From)}
	last := p.Until
	for i := range p.Offers {
		if o := &p.Offers[i]; o.Product == product {
			last = max(last, p.Until.Add(o.Life))
			if l.life == 0 || o.Life < l.life {
				l.life = o.Life
			}
		}
	}
	l.stock = make([]int, year(last)-l.first+1)
	l.add(p.Stock[product], p.From)
	for _, n := range p.Near {
		if n.Product == product {
			l.add(n.Vials, p.From)
		}
	}
	return l
}

// add counts the vials that go out of stock after a day.
func (l *lapses) add(stock day.Line[int], from day.Day) {
	before := stock.At(from)
	for on, n := range stock.Changes() {
		if on <= from {
			continue
		}
		if at := year(on-1) - l.first; n < before && at < len(l.stock) {
			l.stock[at] += before - n
		}
		before = n
	}
}

func year(on day.Day) int {
	y, _, _ := on.Date()
	return y
}

// isNewYear says whether what ends on a day was good until the end of a year.
func isNewYear(ends day.Day) bool {
	_, month, of := ends.Date()
	return month == time.January && of == 1
}

// lastOfYears gives the last days of arrival whose vials lapse within each
// year, where that is bounded.
func (p *Problem) lastOfYears(o *Offer) (days []day.Day) {
	if p.lapses(o.Product) == nil {
		return nil
	}
	for y := year(p.From); ; y++ {
		on := day.Of(y, time.January, 1).Add(-o.Life)
		if on >= p.Until {
			return days
		}
		days = append(days, on)
	}
}

func (l *lapses) none() []int {
	if l == nil {
		return nil
	}
	return make([]int, len(l.stock))
}

// with adds the vials of orders to those that lapse in each year.
func (l *lapses) with(rest []int, orders []Order, offers []Offer) []int {
	if l == nil || len(orders) == 0 {
		return rest
	}
	out := slices.Clone(rest)
	for _, o := range orders {
		if offer := &offers[o.Offer]; offer.Product == l.product {
			out[year(o.Ends-1)-l.first] += o.Packs * offer.Pack
		}
	}
	return out
}

// over gives by how many vials what lapses in each year goes beyond the bound,
// without those by which the stock does so alone: no order mends that.
func (l *lapses) over(ordered []int) (n int) {
	for i, vials := range ordered {
		n += max(0, vials-l.room(i))
	}
	return n
}

// room gives how many vials may be ordered that lapse in a year.
func (l *lapses) room(i int) int { return max(0, l.most-l.stock[i]) }

// open keeps of what lapses in each year what still matters from a day on:
// nothing of years in which what is ordered then cannot lapse, and no more than
// there is room for, since what goes beyond that has been counted.
func (l *lapses) open(ordered []int, on day.Day) []int {
	if l == nil {
		return nil
	}
	out := l.none()
	for i := max(0, year(on.Add(l.life)-1)-l.first); i < len(out); i++ {
		out[i] = min(ordered[i], l.room(i))
	}
	return out
}
