package compliance

import (
	"cmp"
	"maps"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// stay is where an animal is held on each day, with whatever every rule about
// animals reads of it.
type stay struct {
	*inventory.Animal
	species *inventory.Species // nil where it is not recorded
	sites   day.Line[inventory.ID]
	only    inventory.ID   // the only site at which it ever is; zero where it is at none or several
	held    day.Line[bool] // at any site
	named   []*Permit      // papers that name it
}

// indexAnimals finds where each animal is held on each day, and how many of
// each species each site holds.
func (v *View) indexAnimals() {
	v.stays = make([]stay, 0, v.Animals.Len())
	v.stayOf = make(map[inventory.ID]*stay, v.Animals.Len())
	v.speciesAt = make(map[inventory.ID][]inventory.ID)
	steps := make(map[inventory.Ref][]countStep)
	for a := range v.Animals.All() {
		s := stay{Animal: a, sites: v.heldLine(a)}
		s.only, _ = onlySite(s.sites)
		s.species, _ = v.Species.Get(a.Species)
		s.held = day.Map(s.sites, func(site inventory.ID) bool { return site != inventory.ID{} })
		v.stays = append(v.stays, s)
		v.stayOf[a.ID] = &v.stays[len(v.stays)-1]
		countStay(steps, a.Species, s.sites)
	}
	v.countPlanned(steps)
	v.counts = countLines(steps)
	v.holdings = slices.SortedFunc(maps.Keys(steps), inventory.Ref.Compare)
	for _, ref := range v.holdings {
		v.speciesAt[ref.At] = append(v.speciesAt[ref.At], ref.ID)
	}
}

// indexNamed finds the papers that name each animal.
func (v *View) indexNamed() {
	for p := range v.Permits.All() {
		for _, animal := range p.Animals {
			if s := v.stayOf[animal]; s != nil {
				s.named = append(s.named, p)
			}
		}
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

// keptBy counts the animals that are in one person's hands; of nobody, those
// whose custody is not recorded, and those still to come.
func (v *View) keptBy(custodian inventory.Ref) map[inventory.Ref]day.Line[int] {
	if v.kept == nil {
		steps := map[inventory.Ref]map[inventory.Ref][]countStep{{}: {}}
		for i := range v.stays {
			a := &v.stays[i]
			if steps[a.Custodian] == nil {
				steps[a.Custodian] = make(map[inventory.Ref][]countStep)
			}
			countStay(steps[a.Custodian], a.Species, a.sites)
		}
		v.countPlanned(steps[inventory.Ref{}])
		v.kept = make(map[inventory.Ref]map[inventory.Ref]day.Line[int], len(steps))
		for custodian, held := range steps {
			v.kept[custodian] = countLines(held)
		}
	}
	return v.kept[custodian]
}

// countStay counts one animal while it is held.
func countStay(steps map[inventory.Ref][]countStep, species inventory.ID, sites day.Line[inventory.ID]) {
	at := sites.First()
	for on, site := range sites.Changes() {
		if at != (inventory.ID{}) {
			ref := inventory.Holding(species, at)
			steps[ref] = append(steps[ref], countStep{on, -1})
		}
		if at = site; at != (inventory.ID{}) {
			ref := inventory.Holding(species, at)
			steps[ref] = append(steps[ref], countStep{on, 1})
		}
	}
}

// countPlanned counts the burdens that are planned.
func (v *View) countPlanned(steps map[inventory.Ref][]countStep) {
	for p := range v.Planned.All() {
		if burden(p) {
			ref := inventory.Holding(p.Species, p.Site)
			steps[ref] = append(steps[ref], countStep{p.On, p.Count})
		}
	}
}

// burden says whether something planned adds animals.
func burden(p *inventory.Planned) bool {
	return (p.Kind == inventory.PlanArrival || p.Kind == inventory.PlanLitter) && p.Cancelled.IsZero()
}

func countLines(steps map[inventory.Ref][]countStep) map[inventory.Ref]day.Line[int] {
	lines := make(map[inventory.Ref]day.Line[int], len(steps))
	for ref, list := range steps {
		lines[ref] = countLine(list)
	}
	return lines
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

// Holdings gives every species that a site holds, held or will hold, in a
// fixed order. The list is the view's own.
func (v *View) Holdings() []inventory.Ref { return v.holdings }

// Count gives how many animals a holding has on each day.
func (v *View) Count(holding inventory.Ref) day.Line[int] { return v.counts[holding] }
