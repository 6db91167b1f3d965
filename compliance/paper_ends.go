package compliance

import (
	"slices"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// moveAway is the event that an animal is no longer where its paper says.
const moveAway = "move"

// paperEvents are those with which a paper that names animals may end: that
// one of them dies, escapes, is released, or is no longer where the paper
// says. (Reg. (EC) 865/2006 Art. 11, read as adopted, has all four.)
var paperEvents = []string{string(inventory.Died), string(inventory.Escaped), string(inventory.Released), moveAway}

func readEndsWith(m *strict.Map) (events []string) {
	for i, what := range m.OptStrings("ends_with") {
		if !slices.Contains(paperEvents, what) {
			m.FailItem("ends_with", i, "%q is not allowed; allowed: death, escape, release, move", what)
		}
		events = append(events, what)
	}
	return events
}

// ending is the first day from which a paper has ended with an event, for sure
// and perhaps; unset: never. A paper that names several animals ends with the
// first event of any of them, which is the cautious reading.
type ending struct{ sure, perhaps day.Day }

func (k *permitKind) endingOf(v *View, p *Permit) (e ending) {
	start := p.Start()
	if len(k.endsWith) == 0 || start.IsZero() {
		return e
	}
	for _, id := range p.Animals {
		a := v.stayOf[id]
		if a == nil {
			continue
		}
		if left := a.Left; left != nil && k.endsBy(left.How) {
			e.sure = earliest(e.sure, max(left.On, start))
		}
		if !slices.Contains(k.endsWith, moveAway) {
			continue
		}
		sure, perhaps := moved(p, a.sites, start)
		e.sure, e.perhaps = earliest(e.sure, sure), earliest(e.perhaps, perhaps)
	}
	return e
}

// endsBy says whether a paper ends when its animal leaves in a way. Who was
// given away or lent is no longer where the paper says.
func (k *permitKind) endsBy(how inventory.Departure) bool {
	if how == inventory.Transferred || how == inventory.Lent {
		return slices.Contains(k.endsWith, moveAway)
	}
	return slices.Contains(k.endsWith, string(how))
}

// moved gives the first day, not before start, on which an animal is surely at
// another place than its paper names, and the first on which it may be.
func moved(p *Permit, sites day.Line[inventory.ID], start day.Day) (sure, perhaps day.Day) {
	if p.AnyPlace {
		return 0, 0
	}
	var first inventory.ID // where it was at first, for a paper that names no place
	look := func(on day.Day, site inventory.ID) {
		switch {
		case site == inventory.ID{}: // not held: how it left counts
		case site == inventory.Nowhere:
			perhaps = earliest(perhaps, on)
		case len(p.Sites) > 0 && !slices.Contains(p.Sites, site):
			sure = earliest(sure, on)
		case len(p.Sites) == 0 && first == inventory.ID{}:
			first = site
		case len(p.Sites) == 0 && site != first:
			perhaps = earliest(perhaps, on)
		}
	}
	look(start, sites.At(start))
	for on, site := range sites.Changes() {
		if on > start {
			look(on, site)
		}
	}
	return sure, perhaps
}

// earliest gives the earlier of two days, of which either may be unset.
func earliest(a, b day.Day) day.Day {
	if a.IsZero() || !b.IsZero() && b < a {
		return b
	}
	return a
}
