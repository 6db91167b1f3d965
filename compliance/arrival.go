package compliance

import (
	"iter"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// bindArrivals yields a duty for each animal, and one for each species that
// is planned to arrive at a site on a day; its occurrence is that day. Each is
// there before it begins to apply, so that somebody can be told ahead.
func (v *View) bindArrivals(r *Rule) iter.Seq[Duty] {
	return func(yield func(Duty) bool) {
		for d := range v.bind(r, "") {
			if !yield(d.early()) {
				return
			}
		}
		b := v.binder(r, "")
		for _, p := range v.plannedArrivals() {
			if d := b.arrival(p); !d.Applies.Always(inventory.No) && !yield(d.early()) {
				return
			}
		}
	}
}

// arriving is a species that is planned to arrive at a site on a day, in
// however many plans.
type arriving struct {
	holding inventory.Ref
	on      day.Day
}

func (v *View) plannedArrivals() (all []arriving) {
	for p := range v.Planned.All() {
		holding := inventory.Holding(p.Species, p.Site)
		if p.Kind == inventory.PlanArrival && burden(p) && (v.only.IsZero() || v.only == holding) {
			all = append(all, arriving{holding, p.On})
		}
	}
	slices.SortFunc(all, func(a, b arriving) int {
		if a.on != b.on {
			return int(a.on) - int(b.on)
		}
		return a.holding.Compare(b.holding)
	})
	return slices.Compact(all)
}

// arrival is the duty of an animal that is still to come: nothing is recorded
// of it but its species.
func (b *binder) arrival(p arriving) Duty {
	site := p.holding.At
	a := &stay{Animal: &inventory.Animal{Species: p.holding.ID, Arrived: p.on}, only: site,
		sites: day.Steps(inventory.ID{}, day.Change[inventory.ID]{On: p.on, To: site}),
		held:  day.Steps(false, day.Change[bool]{On: p.on, To: true})}
	a.species, _ = b.view.Species.Get(p.holding.ID)
	d := b.dutyUnder(b.lawAt(site), p.holding, day.Constant(site), a.held, cohort{species: p.holding.ID}, attributes{animal: a.Animal, species: a.species})
	d.Occurrence, d.animal = p.on.String(), a
	return d
}

// early lets a duty apply before the day on which it begins to, as it does on
// that day.
func (d Duty) early() Duty {
	if d.Applies.First() != inventory.No {
		return d
	}
	begins, is, _ := d.Applies.Next(day.First-1, func(is inventory.Tri) bool { return is != inventory.No })
	b := day.NewBuilder(is)
	for on, to := range d.Applies.Changes() {
		if on > begins {
			b.Add(on, to)
		}
	}
	d.Applies, d.begins = b.Line(), begins
	return d
}

// from gives one verdict before a day and the line from that day on.
func from(before *Verdict, begins day.Day, line Line) Line {
	b := day.NewBuilder(before)
	b.Add(begins, line.At(begins))
	for on, to := range line.Changes() {
		if on > begins {
			b.Add(on, to)
		}
	}
	return b.Line()
}
