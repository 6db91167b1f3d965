package ladder

import (
	"cmp"
	"maps"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// oracle answers the same questions as a judgement, from the definitions and
// slowly: what somebody stands at on a day is what he stood at on the day
// before, with what that day brought, and every question about his work goes
// through all of it again. It shares records and configuration with the
// engine, and none of its code.
type oracle struct {
	Records
	world  World
	begin  day.Day // nothing happens before it
	states map[moment]*state
	judged map[*Session]Status
	acted  map[*Authorisation]Grant
}

// moment is a person before the acts of a day, or after them.
type moment struct {
	person inventory.ID
	day    day.Day
	after  bool
}

// state is what somebody stands at.
type state struct {
	person  *Person
	on      day.Day
	known   day.Day      // sessions that count by this day are known
	held    map[int]term // stages
	teaches map[int]term // may teach up to
	signed  map[inventory.ID]signOff
	starts  map[int][]day.Day // days from which a stage's currency runs
	barred  []bar
}

// term is from a day to a last one; last 0: no end.
type term struct{ from, last day.Day }

func (t term) has(d day.Day) bool { return t.from != 0 && t.from <= d && (t.last == 0 || d <= t.last) }

type signOff struct {
	term
	level  Level
	starts []day.Day
}

type bar struct{ from, last, cleared day.Day }

func newOracle(r Records, w World) *oracle {
	o := &oracle{Records: r, world: w, begin: day.Last, states: make(map[moment]*state), judged: make(map[*Session]Status), acted: make(map[*Authorisation]Grant)}
	for _, s := range r.Sessions {
		o.begin = min(o.begin, s.On)
	}
	for _, a := range r.Authorisations {
		o.begin = min(o.begin, a.On)
	}
	return o
}

func (o *oracle) benefit(t inventory.Tri) bool {
	return t == inventory.Yes || t == inventory.Unknown && o.world == Best
}

func (o *oracle) adverse(t inventory.Tri) bool {
	return t == inventory.Yes || t == inventory.Unknown && o.world == Worst
}

func (o *oracle) personOf(id inventory.ID) *Person {
	for i := range o.People {
		if o.People[i].ID == id {
			return &o.People[i]
		}
	}
	return nil
}

func (o *oracle) kindOf(id inventory.ID) *Species {
	for i := range o.Species {
		if o.Species[i].ID == id {
			return &o.Species[i]
		}
	}
	return nil
}

// asks is the stage that a species asks for on a day.
func (o *oracle) asks(sp *Species, d day.Day) int {
	at := sp.Place.At(d)
	if o.world == Best {
		return min(at.Least, o.Ladder.Top())
	}
	return min(at.Most, o.Ladder.Top())
}

// before is somebody on a day by what was dated before it, and by what time
// takes on it.
func (o *oracle) before(p *Person, d day.Day) *state {
	at := moment{p.ID, d, false}
	if s, ok := o.states[at]; ok {
		return s
	}
	var s *state
	if d <= o.begin {
		s = &state{person: p, held: map[int]term{}, teaches: map[int]term{}, signed: map[inventory.ID]signOff{}, starts: map[int][]day.Day{}}
	} else {
		s = o.after(p, d-1).copied()
	}
	s.on, s.known = d, d-1
	o.loseByTime(s)
	o.states[at] = s
	return s
}

// after is somebody at the end of a day.
func (o *oracle) after(p *Person, d day.Day) *state {
	at := moment{p.ID, d, true}
	if s, ok := o.states[at]; ok {
		return s
	}
	s := o.before(p, d).copied()
	s.known = d
	for _, a := range o.actsOn(p, d) {
		g := o.grant(s, a)
		o.acted[a] = g
		if a.What.Adverse() {
			o.take(s, a)
		} else if g == Holds {
			o.give(s, a)
		}
	}
	o.states[at] = s
	return s
}

func (s *state) copied() *state {
	c := *s
	c.held, c.teaches, c.signed, c.starts = maps.Clone(s.held), maps.Clone(s.teaches), maps.Clone(s.signed), maps.Clone(s.starts)
	c.barred = slices.Clone(s.barred)
	return &c
}

// actsOn gives somebody's acts of a day: what gives first, a stage before a
// species of it, and what takes away last, so that it wins.
func (o *oracle) actsOn(p *Person, d day.Day) (acts []*Authorisation) {
	for _, a := range o.Authorisations {
		if a.Person == p.ID && a.On == d && (a.Species == inventory.ID{} || o.kindOf(a.Species) != nil) {
			acts = append(acts, a)
		}
	}
	order := map[What]int{Clearance: 1, StageGrant: 2, MentorGrant: 3, SpeciesGrant: 4, SetBack: 5, Suspension: 6}
	slices.SortFunc(acts, func(a, b *Authorisation) int {
		return cmp.Or(cmp.Compare(order[a.What], order[b.What]), cmp.Compare(a.Stage, b.Stage), a.At.Compare(b.At), slices.Compare(a.ID[:], b.ID[:]))
	})
	return acts
}

func (s *state) stage() (top int) {
	for n, t := range s.held {
		if t.has(s.on) {
			top = max(top, n)
		}
	}
	return top
}

func (s *state) suspended() bool {
	return slices.ContainsFunc(s.barred, func(b bar) bool {
		return term{b.from, b.last}.has(s.on) && (b.cleared == 0 || s.on < b.cleared)
	})
}

// heldSince is the first of the days without a break on which a stage or a
// higher one was held.
func (o *oracle) heldSince(s *state, stage int) (since day.Day, holds bool) {
	if stage <= 0 {
		return day.First, true
	}
	if s.stage() < stage {
		return 0, false
	}
	since = s.on
	for since > o.begin && o.after(s.person, since-1).stage() >= stage {
		since--
	}
	return since, true
}
