package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Goal is a next step on the ladder, and what is missing for it. Progress is
// kept apart from standing: who has done everything still may nothing more
// until somebody signs.
type Goal struct {
	Stage   int          // 0: a sign-off of Species
	Species inventory.ID // zero: the stage
	Signs   []string     // roles that must sign
	// Worst and Best are what each part needs and what there is of it, in
	// each world.
	Worst, Best []Gap
	Met         inventory.Tri
	// Share is how much of it there is for sure, from 0 to 1: it says who is
	// nearest.
	Share float64
}

// Next says what is missing for the stage above the one that a person holds
// on a day; ok false: there is none.
func (s *Standings) Next(person inventory.ID, d day.Day) (Goal, bool) {
	p, known := s.h.people[person]
	if !known {
		return Goal{}, false
	}
	next := s.h.Ladder.Stage(s.at(p, d, Worst).stage(d) + 1)
	if next == nil {
		return Goal{}, false
	}
	g := Goal{Stage: next.Number, Signs: next.Signs}
	s.measure(&g, p, d, next.Entry, nil)
	return g, true
}

func (s *Standings) measure(g *Goal, p int32, d day.Day, c Condition, target *Species) {
	if c == nil {
		g.Met, g.Share = inventory.Yes, 1
		return
	}
	worst, best := s.at(p, d, Worst).ask(d, target), s.at(p, d, Best).ask(d, target)
	g.Worst, g.Best = c.Gaps(worst, nil), c.Gaps(best, nil)
	g.Met = joined(c.Met(worst), c.Met(best))
	g.Share = 1
	if n := len(g.Worst); n > 0 {
		g.Share = 1 - missing(g.Worst)/float64(n)
	}
}

// Lapse is when and why somebody may no longer open a species, if nothing more
// is recorded.
type Lapse struct {
	On  day.Day // the first day; unset: never
	Why No
}

// Lapses says from when on a person may not open a species any more that he
// may open on a day.
func (s *Standings) Lapses(person, species inventory.ID, level Level, d day.Day) Lapse {
	p, i, known := s.both(person, species)
	if !known {
		return Lapse{}
	}
	line := s.lineIn(p, i, level, Worst)
	if line.At(d) != MayOpen {
		return Lapse{d, line.At(d)}
	}
	on, why, ok := line.Next(d, func(no No) bool { return no != MayOpen })
	if !ok {
		return Lapse{}
	}
	return Lapse{on, why}
}

// Unsigned is a session that still waits for its mentor's signature.
type UnsignedSession struct {
	*Session
	By day.Day // the last day on which it may be signed
}

// Waiting gives the sessions of everybody that wait for a signature on a day,
// and those that ran out within so many days before it.
func (s *Standings) Waiting(d day.Day, back int) (all []UnsignedSession) {
	for p := range s.h.own {
		for _, x := range around(s.h.own[p], d, s.h.Ladder.SignWithin+back) {
			by := x.On.Add(s.h.Ladder.SignWithin)
			if x.Watched != inventory.No && x.Signed.IsZero() && x.On <= d && by >= d.Add(-back) {
				all = append(all, UnsignedSession{x.Session, by})
			}
		}
	}
	slices.SortFunc(all, func(a, b UnsignedSession) int { return int(a.By - b.By) })
	return all
}

// Signed gives the species that a person was ever signed off for, by what
// holds in the best case.
func (s *Standings) Signed(person inventory.ID) (all []inventory.ID) {
	p, known := s.h.people[person]
	if !known {
		return nil
	}
	for _, a := range s.h.actsOf[p] {
		if a.What == SpeciesGrant && a.granted[Best] == Holds && !slices.Contains(all, a.Species) {
			all = append(all, a.Species)
		}
	}
	return all
}
