package ladder

import (
	"slices"

	"antidotary/inventory/day"
)

// No is why somebody may not open a species, on the side of the person.
type No uint8

// Why not, in the order in which they are asked; MayOpen is none of them.
const (
	MayOpen No = iota
	NotHere
	Suspended
	BelowStage
	NotSignedOff
	SignOffEnded
	TaskAbove // the sign-off does not go that far
	StageLapsed
	SpeciesLapsed
	NotInForce // a certificate, a clearance or a drill that the stage asks for
)

// limits are what acts of the day itself have taken away by some hour of it.
type limits struct {
	barred    bool
	capped    bool
	stage     int     // if capped: no higher than this
	withdrawn []int32 // species
}

// cap gives the lower of a stage and the limit.
func (l *limits) cap(stage int) int {
	if l != nil && l.capped {
		return min(stage, l.stage)
	}
	return stage
}

func (l *limits) bars(species int32) bool {
	return l != nil && (l.barred || slices.Contains(l.withdrawn, species))
}

// mayAt asks may for each stage that the animals may be on: at worst none of
// them may refuse, at best one that does not is enough.
func (w *walker) mayAt(species int32, at Place, level Level, d day.Day, l *limits) No {
	first := min(w.world.needed(at), w.h.Ladder.Top())
	no := w.may(species, first, level, d, l)
	if at.Least == at.Most {
		return no
	}
	for stage := at.Least; stage <= min(at.Most, w.h.Ladder.Top()) && (no == MayOpen) == (w.world.World == Worst); stage++ {
		if one := w.may(species, stage, level, d, l); (one == MayOpen) != (no == MayOpen) {
			return one
		}
	}
	return no
}

// may asks whether somebody may open a species for a task on a day, given the
// stage that the animals ask for and what was taken away earlier on that day;
// nil: nothing.
func (w *walker) may(species int32, stage int, level Level, d day.Day, l *limits) No {
	switch {
	case !w.here(d):
		return NotHere
	case w.suspended(d) || l.bars(species):
		return Suspended
	case l.cap(w.stage(d)) < stage:
		return BelowStage
	}
	terms := &w.h.Ladder.Stages[stage]
	if terms.Signed {
		if no := w.maySpecies(species, stage, level, d); no != MayOpen {
			return no
		}
	}
	if !w.stages[stage].current(d, w.terms(stage)) {
		return StageLapsed
	}
	if !w.world.benefit(w.inForce(stage, d)) {
		return NotInForce
	}
	return MayOpen
}

func (w *walker) maySpecies(species int32, stage int, level Level, d day.Day) No {
	one := w.signedOff(species)
	switch {
	case one == nil || one.from.IsZero() || one.from > d:
		return NotSignedOff
	case !one.on(d):
		return SignOffEnded
	case level > one.level:
		return TaskAbove
	case !one.current(d, w.speciesTerms(stage)):
		return SpeciesLapsed
	}
	return MayOpen
}

// mayTeach says whether somebody may teach a stage on a day, by what he was
// granted before it: none above his own.
func (w *walker) mayTeach(stage int, d day.Day, l *limits) bool {
	if !w.heldBefore(stage, d, l) {
		return false
	}
	return slices.ContainsFunc(w.teaches[stage:], func(x hold) bool { return x.on(d) && x.from < d })
}

var noNames = [...]string{"may-open", "not-here", "suspended", "below-stage", "not-signed-off", "sign-off-ended", "task-above", "stage-lapsed", "species-lapsed", "not-in-force"}

// String gives the reason's code, for which words are kept elsewhere.
func (n No) String() string { return noNames[n] }
