package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Place is a range of stages: where everything is known both ends are the
// same.
type Place struct{ Least, Most int }

// Placing puts species on stages by the highest of their hazards, never by a
// sum: a slow snake whose venom stops the breath is no easy snake. Floors
// apply after. What is not known may be anything.
type Placing struct {
	// Harmless is the stage of animals that are not venomous.
	Harmless int
	// ByScore is the stage for the highest hazard, scored 1 to 5.
	ByScore [5]int
	Floors  []Floor
}

// Floor is a lowest stage for what has an attribute.
type Floor struct {
	When  string   // one of FloorWords, or empty
	Names []string // species, genera or families
	Stage int
}

// FloorWords are the attributes that a floor may be for.
var FloorWords = []string{"no-antivenom", "spitting", "arboreal", "exotic"}

// Traits are what a species is placed by at one jurisdiction.
type Traits struct {
	Name, Genus, Family string
	Venomous            inventory.Tri
	Hazards             inventory.Hazards
	NoAntivenom         bool
	Native              inventory.Tri
}

// TraitsOf gives what a species is placed by under the law of a path.
func TraitsOf(s *inventory.Species, path string) Traits {
	return Traits{s.Accepted, s.Genus(), s.Family, s.Venomous, s.Hazards, s.NoAntivenom != "", s.NativeIn(path)}
}

// Of places a species by its traits, before anybody's own decision.
func (p *Placing) Of(t Traits) Place {
	if t.Venomous == inventory.No {
		return Place{p.Harmless, p.Harmless}
	}
	least, most := p.byHazards(t.Hazards)
	for _, f := range p.Floors {
		switch f.applies(t) {
		case inventory.Yes:
			least, most = max(least, f.Stage), max(most, f.Stage)
		case inventory.Unknown:
			most = max(most, f.Stage)
		}
	}
	if t.Venomous == inventory.Unknown {
		least = min(least, p.Harmless)
	}
	return Place{least, most}
}

func (p *Placing) byHazards(h inventory.Hazards) (least, most int) {
	lo, hi := 1, 1
	for _, score := range []int{h.Venom, h.Yield, h.Speed, h.Reach} {
		if score == 0 {
			hi = 5
			continue
		}
		lo, hi = max(lo, score), max(hi, score)
	}
	return p.ByScore[lo-1], p.ByScore[hi-1]
}

func (f *Floor) applies(t Traits) inventory.Tri {
	if len(f.Names) > 0 {
		if slices.Contains(f.Names, t.Name) || slices.Contains(f.Names, t.Genus) || slices.Contains(f.Names, t.Family) {
			return inventory.Yes
		}
		if t.Family == "" {
			return inventory.Unknown
		}
		return inventory.No
	}
	switch f.When {
	case "no-antivenom":
		return inventory.Bool(t.NoAntivenom)
	case "spitting":
		return t.Hazards.Spitting
	case "arboreal":
		return t.Hazards.Arboreal
	case "exotic":
		return t.Native.Not()
	}
	return inventory.No
}

// Decided applies people's own decisions to a place, in the order of their
// days. Upward anybody is heard; downward only somebody who was head of
// collection on that day, which head tells.
func Decided(base Place, decisions []*Placement, head func(inventory.ID, day.Day) bool) day.Line[Place] {
	line := day.Constant(base)
	decisions = slices.Clone(decisions)
	slices.SortStableFunc(decisions, func(a, b *Placement) int { return int(a.On - b.On) })
	for _, p := range decisions {
		byHead := head(p.By, p.On)
		line = day.Combine(line, p.holds(), func(at Place, holds inventory.Tri) Place {
			switch {
			case holds == inventory.No:
				return at
			case p.Stage >= at.Most:
				return Place{p.Stage, p.Stage}
			case byHead && holds == inventory.Yes:
				return Place{p.Stage, p.Stage}
			case byHead: // it may have ended
				return Place{min(at.Least, p.Stage), at.Most}
			}
			return Place{max(at.Least, p.Stage), at.Most}
		})
	}
	return line
}

// holds gives the days on which a placement is in force.
func (p *Placement) holds() day.Line[inventory.Tri] {
	b := day.NewBuilder(inventory.No)
	last, known := p.Until.Known()
	if p.Until.IsZero() {
		b.Add(p.On, inventory.Unknown)
	} else {
		b.Add(p.On, inventory.Yes)
	}
	if known {
		b.Add(last+1, inventory.No)
	}
	return b.Line()
}
