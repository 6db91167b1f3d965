package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Standings is what everybody may do on every day, as far as records tell. It
// serves one goroutine at a time.
type Standings struct {
	h     *History
	worst *reading
	best  *reading
	last  [2][]*walker // as of lastDay
	on    day.Day
}

// Judge judges everything once.
func Judge(r Records) *Standings {
	h := NewHistory(r)
	worst := newRun(h, Worst)
	if worst.world.doubted {
		newRun(h, Best)
	} else { // nothing unknown was read: both worlds are the same
		for _, s := range h.held {
			s.status[Best] = s.status[Worst]
		}
		for _, a := range h.acts {
			a.granted[Best] = a.granted[Worst]
		}
	}
	s := &Standings{h: h}
	s.read()
	return s
}

func (s *Standings) read() {
	s.worst, s.best = &reading{World: Worst}, &reading{World: Best}
}

// Ladder gives the ladder that was judged by.
func (s *Standings) Ladder() *Ladder { return s.h.Ladder }

// in gives a reading of the world.
func (s *Standings) in(w World) *reading {
	if w == Worst {
		return s.worst
	}
	return s.best
}

// at gives a person as of a day.
func (s *Standings) at(p int32, d day.Day, w World) *walker {
	if s.on != d || s.last[w] == nil {
		if s.on != d {
			s.last = [2][]*walker{}
		}
		s.on = d
		s.last[w] = make([]*walker, len(s.h.People))
	}
	if s.last[w][p] == nil {
		s.last[w][p] = walk(s.h, s.in(w), p, d, nil, nil)
	}
	return s.last[w][p]
}

// Answer is whether somebody may open a species for a task.
type Answer struct {
	May         inventory.Tri
	Worst, Best No    // why not in each world; the same where it is known
	Stage       Place // that the animals ask for
}

// answer joins both worlds.
func answer(worst, best No, at Place) Answer {
	return Answer{joined(worst == MayOpen, best == MayOpen), worst, best, at}
}

// May says whether a person may open a species for a task on a day; an
// unknown person or species gives unknown. raise is the stage of the animal
// itself, where it is placed higher; 0: it is not.
func (s *Standings) May(person, species inventory.ID, level Level, d day.Day, raise int) Answer {
	p, i, known := s.both(person, species)
	if !known {
		return Answer{Worst: BelowStage}
	}
	return s.mayAt(p, i, level, d, s.placeOf(i, d, raise))
}

func (s *Standings) mayAt(p, i int32, level Level, d day.Day, at Place) Answer {
	var no [2]No
	for _, w := range []World{Worst, Best} {
		walker := s.at(p, d, w)
		no[w] = walker.mayAt(i, at, level, d, nil)
	}
	return answer(no[Worst], no[Best], at)
}

func (s *Standings) both(person, species inventory.ID) (p, i int32, known bool) {
	p, ok := s.h.people[person]
	i, found := s.h.species[species]
	return p, i, ok && found
}

func (s *Standings) placeOf(species int32, d day.Day, raise int) Place {
	at := s.h.Species[species].Place.At(d)
	return Place{max(at.Least, raise), max(at.Most, raise)}
}

// Line says on which days a person may open a species for a task.
func (s *Standings) Line(person, species inventory.ID, level Level) day.Line[inventory.Tri] {
	p, i, known := s.both(person, species)
	if !known {
		return day.Constant(inventory.Unknown)
	}
	if !s.everOpens(p, i) {
		return day.Constant(inventory.No)
	}
	return day.Combine(s.lineIn(p, i, level, Worst), s.lineIn(p, i, level, Best), func(worst, best No) inventory.Tri {
		return answer(worst, best, Place{}).May
	})
}

// everOpens says whether a person may ever open a species: not where each
// stage on which it ever is takes a sign-off, and none of his ever holds. Of
// most people and species that is so, and no day need be asked.
func (s *Standings) everOpens(p, species int32) bool {
	for _, a := range s.h.actsOf[p] {
		if a.What == SpeciesGrant && a.species == species && a.granted[Best] == Holds {
			return true
		}
	}
	l, place := s.h.Ladder, s.h.Species[species].Place
	unsigned := func(at Place) bool {
		for stage := min(at.Least, l.Top()); stage <= min(at.Most, l.Top()); stage++ {
			if !l.Stages[stage].Signed {
				return true
			}
		}
		return false
	}
	if unsigned(place.First()) {
		return true
	}
	for _, at := range place.Changes() {
		if unsigned(at) {
			return true
		}
	}
	return false
}

func (s *Standings) lineIn(p, species int32, level Level, w World) day.Line[No] {
	b := day.NewBuilder(BelowStage)
	walk(s.h, s.in(w), p, day.Last, []int32{species}, func(d day.Day, w *walker) {
		b.Add(d, w.mayAt(species, w.placeOf(species, d), level, d, nil))
	})
	return b.Line()
}

// Stages says which stage a person holds on a day.
func (s *Standings) Stages(person inventory.ID, d day.Day) Place {
	p, ok := s.h.people[person]
	if !ok {
		return Place{0, s.h.Ladder.Top()}
	}
	return Place{s.at(p, d, Worst).stage(d), s.at(p, d, Best).stage(d)}
}

// Held is what became of a session.
type HeldSession struct {
	*Session
	Worst, Best Status
	From        day.Day // from which it counts; unset: never
}

// Sessions gives a person's sessions, in their order.
func (s *Standings) Sessions(person inventory.ID) (all []HeldSession) {
	p, ok := s.h.people[person]
	if !ok {
		return nil
	}
	for _, x := range s.h.own[p] {
		all = append(all, HeldSession{x.Session, x.status[Worst], x.status[Best], x.counts})
	}
	return all
}

// MadeAct is what became of an act.
type MadeAct struct {
	*Authorisation
	Worst, Best Grant
}

// Acts gives the acts about a person, in their order.
func (s *Standings) Acts(person inventory.ID) (all []MadeAct) {
	p, ok := s.h.people[person]
	if !ok {
		return nil
	}
	for _, x := range s.h.actsOf[p] {
		all = append(all, MadeAct{x.Authorisation, x.granted[Worst], x.granted[Best]})
	}
	return all
}

// Fallen lists what held in one judgement and does not in a later one: what a
// correction takes away.
func (s *Standings) Fallen(after *Standings) (fallen []MadeAct) {
	for p := range s.h.actsOf {
		if slices.Equal(s.h.actsOf[p], after.h.actsOf[p]) {
			continue
		}
		now := make(map[inventory.ID]*act)
		for _, x := range after.h.actsOf[p] {
			now[x.ID] = x
		}
		for _, x := range s.h.actsOf[p] {
			y := now[x.ID]
			if x.granted[Worst] == Holds && (y == nil || y.granted[Worst] != Holds) {
				made := MadeAct{Authorisation: x.Authorisation}
				if y != nil {
					made.Worst, made.Best = y.granted[Worst], y.granted[Best]
				}
				fallen = append(fallen, made)
			}
		}
	}
	return fallen
}

// Why says on which days a person may not open a species for a task in one
// world, and why not.
func (s *Standings) Why(person, species inventory.ID, level Level, w World) day.Line[No] {
	p, i, known := s.both(person, species)
	if !known {
		return day.Constant(BelowStage)
	}
	return s.lineIn(p, i, level, w)
}

// Counted says whether a session counts.
func (h HeldSession) Counted() inventory.Tri { return joined(h.Worst.good(), h.Best.good()) }

// Held says whether an act holds.
func (m MadeAct) Held() inventory.Tri { return joined(m.Worst == Holds, m.Best == Holds) }

// joined is what both worlds say together: yes where even the worst does, no
// where not even the best does.
func joined(worst, best bool) inventory.Tri {
	switch {
	case worst:
		return inventory.Yes
	case !best:
		return inventory.No
	}
	return inventory.Unknown
}
