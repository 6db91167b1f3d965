package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Behind is an animal behind a door.
type Behind struct {
	Species inventory.ID
	// At is where this very animal was placed; zero: where its species is.
	At Place
}

// Door is a question: who may open it for a task, on a day.
type Door struct {
	Behind []Behind
	Task   Level
	On     day.Day
	People []inventory.ID // who is there to ask about
}

// Hand is what somebody may do at a door.
type Hand struct {
	Person  inventory.ID
	Primary Answer // by the strictest of the animals
	BackUp  inventory.Tri
	Why     No // why not as a back-up, in the worst case
}

// Pair is a primary and a back-up who may open together, and whether that is
// sure.
type Pair struct {
	Primary, BackUp inventory.ID // BackUp zero: none is needed
	Sure            bool
}

// Opens is the answer for a door, on the side of people.
type Opens struct {
	Stage Place // that the strictest animal asks for
	Hands []Hand
	Pairs []Pair
	Alone bool          // the task needs nobody else
	Third bool          // it needs a third person beside a pair
	Three inventory.Tri // and there is one: somebody who may be a back-up as well
	Never bool          // the task is never blocked by paperwork
}

// Open answers who may open a door: everybody who may, whom with, and why
// everybody else may not.
func (s *Standings) Open(q Door) Opens {
	o := Opens{Never: slices.Contains(s.h.Ladder.Opening.NeverRefuse, q.Task)}
	for _, b := range q.Behind {
		at := s.behind(b, q.On)
		o.Stage = Place{max(o.Stage.Least, at.Least), max(o.Stage.Most, at.Most)}
	}
	terms := s.h.Ladder.Opening
	o.Alone = terms.OnePerson || q.Task <= terms.AloneTo
	o.Third = !terms.OnePerson && (slices.Contains(terms.Third, q.Task) || terms.ThirdFrom > 0 && q.Task >= Restrain && o.Stage.Most >= terms.ThirdFrom)
	for _, id := range q.People {
		o.Hands = append(o.Hands, s.hand(id, q, o.Stage))
	}
	o.Settle()
	return o
}

// Settle finds the pairs again, after something else was found about somebody.
func (o *Opens) Settle() {
	o.Pairs = pairs(o.Hands, o.Alone && !o.Third)
	o.Three = inventory.Yes
	if o.Third {
		o.Three = thirds(o.Hands)
	}
}

// behind gives the place of an animal behind a door; one of which nothing is
// known is on the highest stage.
func (s *Standings) behind(b Behind, d day.Day) Place {
	if b.At != (Place{}) {
		return b.At
	}
	if i, ok := s.h.species[b.Species]; ok {
		return s.placeOf(i, d, 0)
	}
	return Place{0, s.h.Ladder.Top()}
}

// PlaceOf gives the place of a species on a day.
func (s *Standings) PlaceOf(species inventory.ID, d day.Day) Place {
	return s.behind(Behind{Species: species}, d)
}

func (s *Standings) hand(id inventory.ID, q Door, at Place) Hand {
	hand := Hand{Person: id, Primary: Answer{May: inventory.Yes, Stage: at}}
	for _, b := range q.Behind {
		a := Answer{Worst: BelowStage}
		if p, i, known := s.both(id, b.Species); known {
			a = s.mayAt(p, i, q.Task, q.On, s.behind(b, q.On))
		}
		if worse(a, hand.Primary) {
			hand.Primary = a
		}
	}
	if len(q.Behind) == 0 {
		hand.Primary.May = inventory.Unknown
	}
	hand.BackUp, hand.Why = s.backUp(id, q.On, at)
	return hand
}

// worse says whether an answer for one animal is stricter than for another.
func worse(a, b Answer) bool {
	return strictness(a.May) > strictness(b.May)
}

func strictness(may inventory.Tri) int {
	return [...]int{inventory.Yes: 0, inventory.Unknown: 1, inventory.No: 2}[may]
}

// backUp says whether somebody may stand by while another opens: there, not
// suspended, far enough up the ladder, and current.
func (s *Standings) backUp(id inventory.ID, d day.Day, at Place) (inventory.Tri, No) {
	p, known := s.h.people[id]
	if !known {
		return inventory.Unknown, BelowStage
	}
	var no [2]No
	for _, w := range []World{Worst, Best} {
		walker := s.at(p, d, w)
		no[w] = walker.stands(s.backUpStage(walker.world.needed(at)), d)
	}
	return answer(no[Worst], no[Best], at).May, no[Worst]
}

// backUpStage gives the stage that a back-up must hold beside animals of a
// stage.
func (s *Standings) backUpStage(animals int) int {
	o := s.h.Ladder.Opening
	stage := min(o.BackUp, animals)
	if o.BelowFrom > 0 && animals >= o.BelowFrom {
		stage = max(stage, animals-o.Below)
	}
	return min(stage, s.h.Ladder.Top())
}

// stands is may without a species: the stage, current and in force.
func (w *walker) stands(stage int, d day.Day) No {
	switch {
	case !w.here(d):
		return NotHere
	case w.suspended(d):
		return Suspended
	case w.stage(d) < stage:
		return BelowStage
	case !w.stages[stage].current(d, w.terms(stage)):
		return StageLapsed
	case !w.world.benefit(w.inForce(stage, d)):
		return NotInForce
	}
	return MayOpen
}

func pairs(hands []Hand, alone bool) (all []Pair) {
	for _, p := range hands {
		if p.Primary.May == inventory.No {
			continue
		}
		if alone {
			all = append(all, Pair{Primary: p.Person, Sure: p.Primary.May == inventory.Yes})
			continue
		}
		for _, b := range hands {
			if b.Person != p.Person && b.BackUp != inventory.No {
				all = append(all, Pair{p.Person, b.Person, p.Primary.May == inventory.Yes && b.BackUp == inventory.Yes})
			}
		}
	}
	return all
}

// thirds says whether there are three people of whom all may be back-ups, one
// of them somebody who may open.
func thirds(hands []Hand) inventory.Tri {
	enough := func(sure bool) bool {
		ups, primaries := 0, 0
		counts := func(t inventory.Tri) bool { return t == inventory.Yes || !sure && t == inventory.Unknown }
		for _, h := range hands {
			if counts(h.BackUp) {
				ups++
			}
			if counts(h.Primary.May) {
				primaries++
			}
		}
		return primaries > 0 && ups >= 3
	}
	return joined(enough(true), enough(false))
}
