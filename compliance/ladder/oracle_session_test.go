package ladder

import (
	"slices"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// taken is what earlier acts of the day have taken from somebody by some hour.
type taken struct {
	everything bool
	stage      int // no higher than this
	species    []inventory.ID
}

func (o *oracle) taken(p *Person, begun, ended time.Time, d day.Day) taken {
	t := taken{stage: TopStage}
	for _, a := range o.actsOn(p, d) {
		if !a.What.Adverse() || !o.adverse(cameBefore(a.At, begun, ended)) {
			continue
		}
		switch {
		case a.What == Suspension:
			t.everything = true
		case a.Species != inventory.ID{}:
			t.species = append(t.species, a.Species)
		default:
			t.stage = min(t.stage, a.Stage)
		}
	}
	return t
}

// cameBefore takes two instants to tell.
func cameBefore(at, begun, ended time.Time) inventory.Tri {
	if at.IsZero() || begun.IsZero() && ended.IsZero() {
		return inventory.Unknown
	}
	if !ended.IsZero() {
		return inventory.Bool(at.Before(ended))
	}
	if at.After(begun) {
		return inventory.Unknown
	}
	return inventory.Yes
}

// mayAt says the same for a place of which the stage may not be known: at worst
// he must be able to on each stage of it, at best on one.
func (o *oracle) mayAt(s *state, sp *Species, at Place, level Level, t taken) No {
	order := []int{}
	for stage := min(at.Least, o.Ladder.Top()); stage <= min(at.Most, o.Ladder.Top()); stage++ {
		order = append(order, stage)
	}
	hardest := order[len(order)-1]
	if o.world == Worst {
		order = append([]int{hardest}, order...)
	}
	for _, stage := range order {
		if no := o.may(s, sp, stage, level, t); (no == MayOpen) == (o.world == Best) {
			return no
		}
	}
	return o.may(s, sp, order[0], level, t)
}

// may says why somebody may not open a species, or that he may.
func (o *oracle) may(s *state, sp *Species, stage int, level Level, t taken) No {
	switch {
	case !s.person.Here.At(s.on):
		return NotHere
	case s.suspended() || t.everything || slices.Contains(t.species, sp.ID):
		return Suspended
	case min(s.stage(), t.stage) < stage:
		return BelowStage
	}
	terms := o.Ladder.Stages[stage]
	if terms.Signed {
		one, ever := s.signed[sp.ID]
		last := o.speciesLast(s, sp)
		switch {
		case !ever:
			return NotSignedOff
		case !one.has(s.on):
			return SignOffEnded
		case one.level < level:
			return TaskAbove
		case !terms.SpeciesHandled.IsZero() && (last == 0 || s.on > terms.SpeciesHandled.AddTo(last)):
			return SpeciesLapsed
		}
	}
	if !terms.Handled.IsZero() {
		if last := o.stageLast(s, stage); last == 0 || s.on > terms.Handled.AddTo(last) {
			return StageLapsed
		}
	}
	if !o.benefit(o.inForce(s.person, terms, s.on)) {
		return NotInForce
	}
	return MayOpen
}

func (o *oracle) inForce(p *Person, terms Stage, d day.Day) inventory.Tri {
	worst := inventory.Yes
	for _, what := range terms.InForce {
		worst = worseOf(worst, certified(p, what, d))
	}
	for _, r := range terms.Within {
		done := inventory.No
		for _, x := range p.Done[r.What] {
			if x.On <= d && d <= r.Within.AddTo(x.On) {
				done = betterOf(done, x.Passed)
			}
		}
		worst = worseOf(worst, done)
	}
	return worst
}

// certified says whether any certificate of a kind is good on a day.
func certified(p *Person, what string, d day.Day) inventory.Tri {
	good := inventory.No
	for _, x := range p.Done[what] {
		one := x.Passed
		last, known := x.Until.Known()
		switch {
		case d < x.On || known && d > last:
			one = inventory.No
		case !known && x.Until.Kind != day.Never:
			one = worseOf(one, inventory.Unknown)
		}
		good = betterOf(good, one)
	}
	return good
}

func worseOf(a, b inventory.Tri) inventory.Tri {
	if a == inventory.No || b == inventory.No {
		return inventory.No
	}
	return min(a, b) // unknown is less than yes
}

func betterOf(a, b inventory.Tri) inventory.Tri { return opposite(worseOf(opposite(a), opposite(b))) }

// teaches says whether somebody may teach a stage: up to his own.
func (s *state) teachesStage(stage int, t taken) bool {
	if min(s.stage(), t.stage) < stage {
		return false
	}
	for n, term := range s.teaches {
		if n >= stage && t.stage >= stage && term.has(s.on) {
			return true
		}
	}
	return false
}

// status says what became of a session.
func (o *oracle) status(x *Session) Status {
	if st, ok := o.judged[x]; ok {
		return st
	}
	st := o.judge(x)
	o.judged[x] = st
	return st
}

func (o *oracle) judge(x *Session) Status {
	p, sp := o.personOf(x.Trainee), o.kindOf(x.Species)
	s, t := o.before(p, x.On), o.taken(p, x.Begun, x.Ended, x.On)
	stage := o.asks(sp, x.On)
	switch {
	case !p.Here.At(x.On):
		return TraineeAway
	case s.suspended() || t.everything || slices.Contains(t.species, sp.ID):
		return TraineeSuspended
	case o.adverse(o.busy(p.ID, x)):
		return TraineeBusy
	case x.Watched == inventory.No && o.mayAt(s, sp, sp.Place.At(x.On), x.Level, t) == MayOpen:
		return CountsAlone
	case x.Watched == inventory.No:
		return AloneNotOpen
	case x.Level > Look && min(s.stage(), t.stage) < stage:
		return TraineeBelow
	case o.world == Best && x.Watched == inventory.Unknown && x.Mentor == inventory.ID{} && x.Signed.IsZero() && o.mayAt(s, sp, sp.Place.At(x.On), x.Level, t) == MayOpen:
		return CountsAlone
	case x.Signed.IsZero():
		return Unsigned
	case o.countsFrom(x) == 0:
		return SignedLate
	}
	return o.mentored(x, sp, stage)
}

func (o *oracle) mentored(x *Session, sp *Species, stage int) Status {
	m := o.personOf(x.Mentor)
	if m == nil {
		if o.world == Best {
			return Counts
		}
		return MentorUnknown
	}
	if o.adverse(o.busy(m.ID, x)) {
		return MentorBusy
	}
	s, t := o.before(m, x.On), o.taken(m, x.Begun, x.Ended, x.On)
	switch no := o.mayAt(s, sp, sp.Place.At(x.On), x.Level, t); {
	case no == NotHere:
		return MentorAway
	case no != MayOpen:
		return MentorBarred
	case !s.teachesStage(stage, t):
		return MentorNotOne
	}
	return Counts
}

// busy says whether somebody was in another session at the same time. With
// harmless animals a mentor may watch several trainees at once.
func (o *oracle) busy(who inventory.ID, x *Session) inventory.Tri {
	busy := inventory.No
	var sure, perhaps []*Session
	for _, y := range o.Sessions {
		if y == x || y.Trainee != who && y.Mentor != who || o.kindOf(y.Species) == nil || o.personOf(y.Trainee) == nil {
			continue
		}
		over := o.atOnce(x, y)
		together := inventory.No
		if x.Mentor == who && y.Mentor == who && x.Trainee != y.Trainee {
			together = worseOf(o.kindOf(x.Species).Harmless, o.kindOf(y.Species).Harmless)
		}
		busy = betterOf(busy, worseOf(over, opposite(together)))
		if together != inventory.No && over == inventory.Yes {
			sure = append(sure, y)
		} else if together != inventory.No && over == inventory.Unknown {
			perhaps = append(perhaps, y)
		}
	}
	most, limit := 1+trainees(x, sure), max(o.Ladder.HarmlessAtOnce, 1)
	switch {
	case most > limit:
		return inventory.Yes
	case 1+trainees(x, append(sure, perhaps...)) > limit:
		return betterOf(busy, inventory.Unknown)
	}
	return busy
}

// trainees gives how many other trainees were there at one moment of a
// session, at most.
func trainees(x *Session, others []*Session) (most int) {
	moments := []time.Time{x.Begun}
	for _, y := range others {
		moments = append(moments, y.Begun)
	}
	for _, at := range moments {
		if timed(x) && (at.Before(x.Begun) || !at.Before(x.Ended)) {
			continue
		}
		who := map[inventory.ID]bool{}
		for _, y := range others {
			if !timed(y) || !y.Begun.After(at) && at.Before(y.Ended) {
				who[y.Trainee] = true
			}
		}
		most = max(most, len(who))
	}
	return most
}

func timed(x *Session) bool { return !x.Begun.IsZero() && !x.Ended.IsZero() }

func (o *oracle) atOnce(x, y *Session) inventory.Tri {
	switch {
	case timed(x) && timed(y):
		return inventory.Bool(x.Begun.Before(y.Ended) && y.Begun.Before(x.Ended))
	case x.On == y.On && !o.Ladder.Untimed:
		return inventory.Unknown
	}
	return inventory.No
}
