package compliance

import (
	"cmp"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// indexAnimals finds where each animal is held on each day, and how many of
// each species each site holds.
func (v *View) indexAnimals() {
	v.held = make(map[inventory.ID]day.Line[inventory.ID], v.Animals.Len())
	v.speciesAt = make(map[inventory.ID][]inventory.ID)
	steps := make(map[inventory.Ref][]countStep)
	for a := range v.Animals.All() {
		line := v.heldLine(a)
		v.held[a.ID] = line
		at := line.First()
		for on, site := range line.Changes() {
			if at != (inventory.ID{}) {
				ref := inventory.Holding(a.Species, at)
				steps[ref] = append(steps[ref], countStep{on, -1})
			}
			if at = site; at != (inventory.ID{}) {
				ref := inventory.Holding(a.Species, at)
				steps[ref] = append(steps[ref], countStep{on, 1})
			}
		}
	}
	for p := range v.Planned.All() {
		burden := p.Kind == inventory.PlanArrival || p.Kind == inventory.PlanLitter
		if burden && p.Cancelled.IsZero() {
			ref := inventory.Holding(p.Species, p.Site)
			steps[ref] = append(steps[ref], countStep{p.On, p.Count})
		}
	}
	v.counts = make(map[inventory.Ref]day.Line[int], len(steps))
	for ref, list := range steps {
		v.counts[ref] = countLine(list)
		v.speciesAt[ref.At] = append(v.speciesAt[ref.At], ref.ID)
	}
	for _, list := range v.speciesAt {
		slices.SortFunc(list, func(a, b inventory.ID) int { return slices.Compare(a[:], b[:]) })
	}
}

// heldLine is where the animal is held, up to a planned departure that
// counts.
func (v *View) heldLine(a *inventory.Animal) day.Line[inventory.ID] {
	line := a.Held(v.SiteOf)
	if len(v.leaving) == 0 {
		return line
	}
	if on, planned := v.leaving[a.Ref()]; planned && line.At(on) != (inventory.ID{}) {
		return cut(line, on, inventory.ID{})
	}
	return line
}

// cut gives the line up to a day, and one value from that day on.
func cut[T comparable](line day.Line[T], from day.Day, v T) day.Line[T] {
	b := day.NewBuilder(line.First())
	for on, to := range line.Changes() {
		if on >= from {
			break
		}
		b.Add(on, to)
	}
	b.Add(from, v)
	return b.Line()
}

type countStep struct {
	on day.Day
	by int
}

func countLine(steps []countStep) day.Line[int] {
	slices.SortFunc(steps, func(a, b countStep) int { return cmp.Compare(a.on, b.on) })
	b := day.NewBuilder(0)
	n := 0
	for _, s := range steps {
		n += s.by
		b.Add(s.on, n)
	}
	return b.Line()
}

// Holdings yields every species that a site holds, held or will hold, in a
// fixed order.
func (v *View) Holdings() []inventory.Ref {
	all := make([]inventory.Ref, 0, len(v.counts))
	for ref := range v.counts {
		all = append(all, ref)
	}
	slices.SortFunc(all, inventory.Ref.Compare)
	return all
}

// Count gives how many animals a holding has on each day.
func (v *View) Count(holding inventory.Ref) day.Line[int] { return v.counts[holding] }

// usable gives the vials of a product that may be used at a site on each
// day. Vials still to come count only under the assumption that plans come
// true.
func (v *View) usable(product, site inventory.ID) day.Line[inventory.Quantity] {
	k := productSite{product, site}
	if line, ok := v.vials[k]; ok {
		return line
	}
	here := func(place inventory.ID) bool { return v.placeSite[place] == site }
	var lines []day.Line[inventory.Quantity]
	for _, lot := range v.lots[k] {
		lines = append(lines, lot.Usable(here))
	}
	if v.Ask.Plans {
		for p := range v.Planned.All() {
			if p.Kind == inventory.PlanVials && p.Product == product && p.Site == site && p.Cancelled.IsZero() {
				lines = append(lines, plannedVials(p))
			}
		}
	}
	line := inventory.Sum(lines)
	v.vials[k] = line
	return line
}

func plannedVials(p *inventory.Planned) day.Line[inventory.Quantity] {
	b := day.NewBuilder(inventory.Quantity{})
	b.Add(p.On, inventory.Quantity{Sure: p.Count, Maybe: p.Count})
	switch last, known := p.Until.Known(); {
	case known:
		b.Add(last+1, inventory.Quantity{})
	default: // vials whose end nobody knows may or may not be usable
		b = day.NewBuilder(inventory.Quantity{})
		b.Add(p.On, inventory.Quantity{Maybe: p.Count})
	}
	return b.Line()
}
