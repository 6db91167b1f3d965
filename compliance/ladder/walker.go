package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// walker is one person as he goes up and down the ladder, day by day, in one
// world. What it knows of a session is what was judged of it.
type walker struct {
	h     *History
	world *reading
	id    int32

	at       day.Day  // up to which time has been applied
	holds    []hold   // by stage; those of stage 0 are everybody's
	teaches  []hold   // by the stage up to which
	signed   []signed // species, by number
	stages   []clock  // by stage
	barred   []barred // suspensions
	lowered  day.Day  // when he last came down to a lower stage
	quiet    day.Day  // before it no stage ends or is lost by time
	past     []held   // stages that he held and lost
	evidence []evidence
	asked    []int32 // species whose place matters beside those signed off
	pending  []int32 // of the evidence, what counts only from a later day
}

// signed is a species that somebody may open.
type signed struct {
	species int32
	hold
	level Level
	clock
}

type barred struct {
	from, last day.Day // last unset: until cleared
	cleared    day.Day // unset: not
}

// evidence is a session as it counts for whoever handled.
type evidence struct {
	*sitting
	status Status
	counts day.Day // from which it does
}

// Status is what became of a session in one world.
type Status uint8

// Whether a session counts, and if not, the first reason why.
const (
	NotJudged   Status = iota
	Counts             // under a mentor
	CountsAlone        // of somebody who may open
	Unsigned
	SignedLate
	MentorUnknown
	TraineeAway
	MentorAway
	TraineeSuspended
	TraineeBelow // the animal's stage
	TraineeBusy  // in two sessions at once
	MentorBusy   // in two sessions at once
	MentorNotOne // may not teach this stage
	MentorBarred // may not open this species on that day
	AloneNotOpen // nobody watched, and the person may not open it
)

// good says that the session counts for something.
func (s Status) good() bool { return s == Counts || s == CountsAlone }

func newWalker(h *History, r *reading, id int32) *walker {
	n := len(h.Ladder.Stages)
	return &walker{h: h, world: r, id: id, at: day.First, holds: make([]hold, n), teaches: make([]hold, n), stages: make([]clock, n)}
}

func (w *walker) terms(stage int) terms {
	s := &w.h.Ladder.Stages[stage]
	return terms{s.Handled, s.Refresher, w.h.Routine}
}

func (w *walker) speciesTerms(stage int) terms {
	s := &w.h.Ladder.Stages[stage]
	return terms{s.SpeciesHandled, s.Refresher, w.h.Routine}
}

// stage gives the highest stage that is held on a day.
func (w *walker) stage(d day.Day) int {
	for s := len(w.holds) - 1; s > 0; s-- {
		if w.holds[s].on(d) {
			return s
		}
	}
	return 0
}

// suspended says whether somebody is suspended on a day, on which a clearance
// of that day counts.
func (w *walker) suspended(d day.Day) bool {
	return slices.ContainsFunc(w.barred, func(b barred) bool { return b.on(d) && (b.cleared.IsZero() || d < b.cleared) })
}

// suspendedBefore is suspended by what was before the day: a clearance of the
// day itself gives no authority on it.
func (w *walker) suspendedBefore(d day.Day) bool {
	return slices.ContainsFunc(w.barred, func(b barred) bool { return b.on(d) && (b.cleared.IsZero() || d <= b.cleared) })
}

func (b barred) on(d day.Day) bool { return b.from <= d && (b.last.IsZero() || d <= b.last) }

func (w *walker) signedOff(species int32) *signed {
	for i := range w.signed {
		if w.signed[i].species == species {
			return &w.signed[i]
		}
	}
	return nil
}

// before applies everything that came before a day, and what time takes on it:
// it is what somebody's authority on that day rests on.
func (w *walker) before(d day.Day) {
	w.settle(d - 1)
	w.setBackUntil(d)
	w.at = max(w.at, d)
}

// settle applies, in the order of their days, the sessions that count from a
// day up to this one, and what time takes by then.
func (w *walker) settle(d day.Day) {
	for {
		on := w.nextTaken()
		if on.IsZero() || on > d {
			break
		}
		w.setBackUntil(on)
		w.take(on)
		w.at = max(w.at, on)
	}
	w.setBackUntil(d)
	w.at = max(w.at, d)
}

// nextTaken gives the first day from which a session counts that has not been
// taken in; unset: there is none.
func (w *walker) nextTaken() (on day.Day) {
	for _, i := range w.pending {
		if c := w.evidence[i].counts; on.IsZero() || c < on {
			on = c
		}
	}
	return on
}

// judged takes a session of the day, with what was judged of it.
func (w *walker) judged(s *sitting, status Status) {
	counts := s.counts
	if status == CountsAlone {
		counts = s.On
	}
	w.evidence = append(w.evidence, evidence{s, status, counts})
	if status.good() {
		w.pending = append(w.pending, int32(len(w.evidence)-1))
	}
}

// take lets sessions that count from this day on move the clocks.
func (w *walker) take(d day.Day) {
	keep := w.pending[:0]
	for _, i := range w.pending {
		e := &w.evidence[i]
		switch {
		case e.counts > d:
			keep = append(keep, i)
		default:
			w.feed(e)
		}
	}
	w.pending = keep
}

func (w *walker) feed(e *evidence) {
	sp := &w.h.Species[e.species]
	if e.Level < w.h.Ladder.HandlingFrom || !w.world.benefit(sp.Harmless.Not()) {
		return
	}
	clean := 0
	if e.status == Counts {
		clean = int(e.clean)
	}
	at, top := sp.Place.At(e.On), w.h.Ladder.Top()
	for s := range min(at.Most, top) + 1 {
		if w.refreshes(s, Place{min(at.Least, top), min(at.Most, top)}) {
			w.stages[s].feed(e.On, clean, w.terms(s))
		}
	}
	if one := w.signedOff(e.species); one != nil {
		one.clock.feed(e.On, clean, w.speciesTerms(w.needs(e.species, e.On)))
	}
}

// refreshes says whether handling at a place keeps a stage current.
func (w *walker) refreshes(stage int, at Place) bool {
	higher := w.h.Ladder.Stages[stage].HigherCounts
	switch {
	case at.Least == at.Most:
		return stage == at.Most || stage < at.Most && higher
	case stage <= at.Least && higher:
		return true
	}
	return w.world.benefit(inventory.Unknown) && (stage >= at.Least || higher)
}

// placeOf gives where a species is on a day.
func (w *walker) placeOf(species int32, d day.Day) Place { return w.h.Species[species].Place.At(d) }

// needs gives the stage that a species asks for on a day, within the ladder.
func (w *walker) needs(species int32, d day.Day) int {
	return min(w.world.needed(w.placeOf(species, d)), w.h.Ladder.Top())
}

// grant applies a grant that holds.
func (w *walker) grant(a *act) {
	last := w.lastOf(a)
	w.quiet = 0
	switch a.What {
	case StageGrant:
		w.ended(a.Stage, a.On)
		w.holds[a.Stage] = w.holds[a.Stage].again(a.On, last)
		for s := 1; s <= a.Stage; s++ {
			if s == a.Stage || w.stages[s].last.IsZero() {
				w.stages[s].start(a.On)
			}
		}
	case MentorGrant:
		w.teaches[a.Stage] = w.teaches[a.Stage].again(a.On, last)
	case SpeciesGrant:
		w.signOff(a, last)
	}
}

func (w *walker) signOff(a *act, last day.Day) {
	one := w.signedOff(a.species)
	if one == nil {
		w.signed = append(w.signed, signed{species: a.species})
		one = &w.signed[len(w.signed)-1]
	}
	if !one.hold.on(a.On) {
		one.level = a.Level
	}
	one.hold, one.level = one.hold.again(a.On, last), max(one.level, a.Level)
	one.clock.start(a.On)
}

// lastOf gives the last good day of a grant; unset: it has none.
func (w *walker) lastOf(a *act) day.Day {
	if last, known := a.Until.Known(); known {
		return last
	}
	if a.Until.Kind == day.Never && a.Founding == "" {
		return 0
	}
	review := w.h.Ladder.Review
	switch {
	case a.Founding != "":
		review = w.h.Ladder.FoundingReview
	case a.What == MentorGrant && !w.h.Ladder.Mentor.Review.IsZero():
		review = w.h.Ladder.Mentor.Review
	}
	if review.IsZero() {
		return 0
	}
	return review.AddTo(a.On)
}

// takeAway applies what takes away, from its day on.
func (w *walker) takeAway(a *act, cleared bool) {
	w.quiet = 0
	switch {
	case a.What == Suspension:
		last, _ := a.Until.Known()
		if cleared {
			last = a.On
		}
		w.barred = append(w.barred, barred{from: a.On, last: last})
	case a.species >= 0:
		w.signed = slices.DeleteFunc(w.signed, func(s signed) bool { return s.species == a.species })
	default:
		w.setBackTo(a.Stage, a.On)
		takeAbove(w.teaches, a.Stage, a.On)
	}
}

// clear ends the suspensions that began before a day.
func (w *walker) clear(d day.Day) {
	for i := range w.barred {
		if b := &w.barred[i]; b.from < d && b.cleared.IsZero() {
			b.cleared = d
		}
	}
}

// here says whether the person is at work on a day.
func (w *walker) here(d day.Day) bool { return w.h.People[w.id].Here.At(d) }

func (w *walker) inForce(stage int, d day.Day) inventory.Tri {
	return w.h.open[w.id].stages[stage].At(d)
}
