package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Meets says on which days a person meets conditions, such as those that a
// jurisdiction has for a licence. target is the species that "same" is about;
// zero: none.
func (s *Standings) Meets(person, target inventory.ID, all All) day.Line[inventory.Tri] {
	p, ok := s.h.people[person]
	if !ok {
		return day.Constant(inventory.Unknown)
	}
	of := s.target(target)
	return day.Combine(s.meets(p, of, all, Worst), s.meets(p, of, all, Best), joined)
}

func (s *Standings) target(id inventory.ID) *Species {
	if i, ok := s.h.species[id]; ok {
		return &s.h.Species[i]
	}
	return nil
}

func (s *Standings) meets(p int32, of *Species, all All, w World) day.Line[bool] {
	end := walk(s.h, s.in(w), p, day.Last, nil, nil)
	turns := end.turns(all)
	b := day.NewBuilder(false)
	walker := newWalker(s.h, s.in(w), p)
	var l left
	for _, d := range turns {
		walker.on(&l, d, nil)
		b.Add(d, all.Met(walker.ask(d, of)))
	}
	return b.Line()
}

// MeetsGaps says what a person has of each part of conditions on a day, in one
// world.
func (s *Standings) MeetsGaps(person, target inventory.ID, all All, d day.Day, w World) []Gap {
	p, ok := s.h.people[person]
	if !ok {
		return nil
	}
	return all.Gaps(s.at(p, d, w).ask(d, s.target(target)), nil)
}

// turns gives every day on which a condition may begin or cease to be met.
func (w *walker) turns(c Condition) []day.Day {
	t := &turning{w: w, days: []day.Day{day.First}}
	for i := range w.evidence {
		t.days = append(t.days, w.evidence[i].On, w.evidence[i].counts)
	}
	for _, a := range w.h.actsOf[w.id] {
		t.days = append(t.days, a.On, w.lastOf(a)+1)
	}
	for _, c := range w.h.credits[w.id] {
		t.days = append(t.days, c.On)
	}
	t.condition(c)
	slices.Sort(t.days)
	t.days = slices.Compact(t.days)
	from, _ := slices.BinarySearch(t.days, day.First)
	return t.days[from:]
}

type turning struct {
	w    *walker
	days []day.Day
}

func (t *turning) condition(c Condition) {
	person := &t.w.h.People[t.w.id]
	switch c := c.(type) {
	case All:
		for _, part := range c {
			t.condition(part)
		}
	case Any:
		for _, part := range c {
			t.condition(part)
		}
	case *Count:
		t.count(c)
	case Held:
		t.held(c)
	case Age:
		if !person.Born.IsZero() {
			t.days = append(t.days, birthday(person.Born, c.Years))
		}
	case InForce:
		t.line(person.good(c.What), day.Span{})
	case Did:
		t.done([]string{c.What}, c.Within)
	case None:
		t.done(c.Events, c.Within)
		if !person.KnownFrom.IsZero() {
			t.days = append(t.days, c.Within.AddTo(person.KnownFrom-1)+1)
		}
	case Paper:
		t.line(person.Papers[c.Class], c.For)
	}
}

func (t *turning) count(c *Count) {
	for i := range t.w.evidence {
		on := t.w.evidence[i].On
		if !c.Filter.Within.IsZero() {
			t.days = append(t.days, c.Filter.Within.AddTo(on)+1)
		}
		if c.Of == SpanOf {
			t.days = append(t.days, c.Over.AddTo(on))
		}
	}
	for _, x := range t.w.h.credits[t.w.id] {
		t.days = append(t.days, c.Over.AddTo(x.First), c.Filter.Within.AddTo(x.First)+1)
	}
}

// held turns so long after each day on which a stage may have begun: by an
// act, or because a higher one was lost to time.
func (t *turning) held(c Held) {
	walk(t.w.h, t.w.world, t.w.id, day.Last, nil, func(d day.Day, _ *walker) {
		t.days = append(t.days, d, c.For.AddTo(d))
	})
}

func (t *turning) done(words []string, within day.Span) {
	for _, what := range words {
		for _, d := range t.w.h.People[t.w.id].Done[what] {
			t.days = append(t.days, d.On, within.AddTo(d.On)+1)
		}
	}
}

func (t *turning) line(l day.Line[inventory.Tri], after day.Span) {
	for on := range l.Changes() {
		t.days = append(t.days, on, after.AddTo(on))
	}
}
