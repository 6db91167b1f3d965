package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Within says which vials count at a site: those whose place, or whose
// partner under an agreement, is so many minutes away at most. OwnPlaces
// counts the site's own places, however far from one another, and no other.
type Within int

// OwnPlaces counts no vials but those of the site's own places.
const OwnPlaces Within = -1

// stockKey is a product at a site, by what counts there.
type stockKey struct {
	product, site inventory.ID
	within        Within
	approved      bool // the house's own vials count only where it may use them; see allowed
}

// atHand is the stock of a product at a site, by where it is.
type atHand struct {
	own     inventory.Quantity // in places of the house
	partner inventory.Quantity // under agreements
}

func (s atHand) all() inventory.Quantity { return s.own.Plus(s.partner) }

// usable gives the vials of a product that may be used at a site on each day.
// What is ordered, planned or lent counts only under the assumption that plans
// come true.
func (v *View) usable(product, site inventory.ID) day.Line[inventory.Quantity] {
	return day.Map(v.atHand(stockKey{product: product, site: site, within: OwnPlaces}), atHand.all)
}

// atHand gives the stock of a product at a site on each day.
func (v *View) atHand(k stockKey) day.Line[atHand] {
	line, known := v.vials[k]
	if !known {
		own := v.ownVials(k)
		if v.Ask.Plans {
			own = day.Combine(own, v.coming(k), func(q inventory.Quantity, n int) inventory.Quantity {
				return q.Plus(inventory.Quantity{Sure: n, Maybe: n})
			})
		}
		if k.approved {
			own = ifAllowed(own, v.allowed(k.product, k.site))
		}
		line = day.Combine(own, v.partnerVials(k), func(own, partner inventory.Quantity) atHand { return atHand{own, partner} })
		v.vials[k] = line
	}
	return line
}

// ownVials sums the lots that lie within reach.
func (v *View) ownVials(k stockKey) day.Line[inventory.Quantity] {
	var lines []day.Line[inventory.Quantity]
	for _, lot := range v.lotsNear(k) {
		lines = append(lines, lot.Usable(v.reaches(k)))
	}
	if v.Ask.Plans {
		for _, p := range v.vialPlans[productSite{k.product, k.site}] {
			if _, known := p.Until.Known(); !known {
				lines = append(lines, doubtfulVials(p))
			}
		}
	}
	return inventory.Sum(lines)
}

// doubtfulVials are planned ones whose end nobody knows: they may or may not be
// usable.
func doubtfulVials(p *inventory.Planned) day.Line[inventory.Quantity] {
	return day.Steps(inventory.Quantity{}, day.Change[inventory.Quantity]{On: p.On, To: inventory.Quantity{Maybe: p.Count}})
}

// unchecked gives the vials of the house that would count for sure once somebody
// has looked at them.
func (v *View) unchecked(k stockKey) day.Line[int] {
	sum := day.Constant(0)
	for _, lot := range v.lotsNear(k) {
		if came := lot.Unchecked(v.reaches(k)); !came.Always(0) {
			sum = day.Combine(sum, came, func(a, b int) int { return a + b })
		}
	}
	if k.approved {
		return countIfAllowed(sum, v.allowed(k.product, k.site))
	}
	return sum
}

// reaches says which places count.
func (v *View) reaches(k stockKey) func(place inventory.ID) bool {
	return func(id inventory.ID) bool {
		if k.within == OwnPlaces {
			return v.placeSite[id] == k.site
		}
		p, ok := v.Places.Get(id)
		if !ok {
			return false
		}
		minutes, known := p.Minutes(k.site)
		return known && minutes <= int(k.within)
	}
}

// lotsNear gives the lots of a product that ever were in a place that counts,
// each once, in a fixed order.
func (v *View) lotsNear(k stockKey) []*inventory.Lot {
	if k.within == OwnPlaces {
		return v.lots[productSite{k.product, k.site}]
	}
	return v.lotsAmong(k.product, v.sitesNear(k.site))
}

// sitesNear gives the sites with a place that says how far a site is, that
// site first.
func (v *View) sitesNear(site inventory.ID) []inventory.ID {
	if v.near == nil {
		v.near = make(map[inventory.ID][]inventory.ID)
		for p := range v.Places.All() {
			for _, r := range p.Reach {
				if r.Site != p.Site && !slices.Contains(v.near[r.Site], p.Site) {
					v.near[r.Site] = append(v.near[r.Site], p.Site)
				}
			}
		}
	}
	return append([]inventory.ID{site}, v.near[site]...)
}

// partnerVials sums what partners hand out under agreements. A site that may
// not hold antivenom itself counts on them however far they are, as long as it
// is recorded how far.
func (v *View) partnerVials(k stockKey) day.Line[inventory.Quantity] {
	var lines []day.Line[inventory.Quantity]
	for _, a := range v.agreements[productSite{k.product, k.site}] {
		switch outside := v.outsideOnly(k.site); {
		case a.Minutes == 0: // nobody knows how far: not within any reach
		case k.within != OwnPlaces && a.Minutes <= int(k.within):
			lines = append(lines, a.Usable(true))
		default:
			lines = append(lines, day.Combine(a.Usable(true), outside, func(q inventory.Quantity, only bool) inventory.Quantity {
				if !only {
					return inventory.Quantity{}
				}
				return q
			}))
		}
	}
	return inventory.Sum(lines)
}

// outsideOnly gives the days on which a site may not hold antivenom itself.
func (v *View) outsideOnly(site inventory.ID) day.Line[bool] {
	s, ok := v.Sites.Get(site)
	if !ok {
		return day.Constant(false)
	}
	return s.OutsideOnly()
}

// coming gives the vials that are ordered, planned or lent and due back, from
// the day on which each is expected. What is overdue by now is no longer coming;
// what is expected only after now is not overdue on the day that is asked about.
func (v *View) coming(k stockKey) day.Line[int] {
	reach, today := v.reaches(k), v.DayOfNow(k.site)
	sum := day.Constant(0)
	add := func(line day.Line[int]) {
		sum = day.Combine(sum, line, func(a, b int) int { return a + b })
	}
	for _, o := range v.orders[k.product] {
		if reach(o.Place) {
			add(o.Planned(today))
		}
	}
	for _, p := range v.vialPlans[productSite{k.product, k.site}] {
		add(plannedVials(p))
	}
	for _, lot := range v.lotsNear(k) {
		add(lot.DueBack(today))
	}
	if k.approved {
		return countIfAllowed(sum, v.allowed(k.product, k.site))
	}
	return sum
}

// plannedVials are those whose end is known.
func plannedVials(p *inventory.Planned) day.Line[int] {
	last, known := p.Until.Known()
	if !known {
		return day.Constant(0)
	}
	return day.Steps(0, day.Change[int]{On: p.On, To: p.Count}, day.Change[int]{On: last + 1, To: 0})
}
