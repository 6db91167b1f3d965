package ladder

import (
	"antidotary/inventory"
	"slices"
)

// Grant is what became of an act in one world.
type Grant uint8

// Whether an act holds, and if not, the first reason why.
const (
	NotAsked Grant = iota
	Holds
	FoundingUnsigned // nobody else signed
	NoSuchStage
	PersonSuspended
	StageNotHeld    // the one below, or the one of the species
	TaskTooHigh     // the stage does not allow it
	MentorNotAble   // who taught may not teach this
	SignerMissing   // a role that must sign
	ConditionsUnmet // of the ladder
)

// ByMentor is the word in a list of roles for whoever taught.
const ByMentor = "mentor"

// grantOf judges an act by what held before its day, and by what the person
// had done by it.
func (r *run) grantOf(w *walker, a *act) Grant {
	if a.What.Adverse() {
		return Holds
	}
	if a.What == Clearance {
		return r.signedBy(a, r.h.Ladder.Clear, 0)
	}
	if a.Stage > r.h.Ladder.Top() {
		return NoSuchStage
	}
	if a.Founding != "" {
		if len(a.Signers) == 0 {
			return FoundingUnsigned
		}
		return Holds
	}
	if w.suspended(a.On) || r.limits(a.person, a.At, a.At, a.On).bars(-1) {
		return PersonSuspended
	}
	switch a.What {
	case StageGrant:
		s := &r.h.Ladder.Stages[a.Stage]
		if w.stage(a.On) < a.Stage-1 {
			return StageNotHeld
		}
		return r.signedAndMet(w, a, s.Signs, a.Stage, s.Entry, nil)
	case MentorGrant:
		if w.stage(a.On) < a.Stage {
			return StageNotHeld
		}
		return r.signedAndMet(w, a, r.h.Ladder.Mentor.Signs, a.Stage, r.h.Ladder.Mentor.Entry, nil)
	}
	return r.speciesGrant(w, a)
}

// speciesGrant judges a sign-off for each stage that the species may be on: at
// worst it holds on all of them, at best on one.
func (r *run) speciesGrant(w *walker, a *act) Grant {
	at := w.placeOf(a.species, a.On)
	g := r.signOffAt(w, a, w.needs(a.species, a.On))
	if at.Least == at.Most {
		return g
	}
	for stage := at.Least; stage <= min(at.Most, r.h.Ladder.Top()) && (g == Holds) == (r.world.World == Worst); stage++ {
		if one := r.signOffAt(w, a, stage); (one == Holds) != (g == Holds) {
			return one
		}
	}
	return g
}

func (r *run) signOffAt(w *walker, a *act, stage int) Grant {
	s := &r.h.Ladder.Stages[stage]
	switch {
	case w.stage(a.On) < stage:
		return StageNotHeld
	case a.Level > s.Task:
		return TaskTooHigh
	}
	return r.signedAndMet(w, a, s.SignedBy, stage, s.SignOff, &r.h.Species[a.species])
}

func (r *run) signedAndMet(w *walker, a *act, roles []string, stage int, c Condition, target *Species) Grant {
	if g := r.signedBy(a, roles, stage); g != Holds {
		return g
	}
	if c != nil && !c.Met(w.ask(a.On, target)) {
		return ConditionsUnmet
	}
	return Holds
}

// signedBy says whether an act is signed for each role by another person, who
// was able to before its day.
func (r *run) signedBy(a *act, roles []string, stage int) Grant {
	var signing []string
	for _, role := range roles {
		if role == ByMentor {
			if !r.mentorAble(a, stage) {
				return MentorNotAble
			}
			continue
		}
		signing = append(signing, role)
	}
	if !r.match(a, signing, stage, nil) {
		return SignerMissing
	}
	return Holds
}

func (r *run) mentorAble(a *act, stage int) bool {
	if a.mentor < 0 {
		return false
	}
	m := r.walker(a.mentor, a.On)
	l := r.limits(a.mentor, a.At, a.At, a.On)
	return m.here(a.On) && !m.suspendedBefore(a.On) && !l.bars(-1) && m.mayTeach(stage, a.On, l)
}

// match finds another signer for each role.
func (r *run) match(a *act, roles []string, stage int, used []inventory.ID) bool {
	if len(roles) == 0 {
		return true
	}
	for _, id := range a.Signers {
		if !slices.Contains(used, id) && r.mayHaveSigned(a, id, roles[0], stage) && r.match(a, roles[1:], stage, append(used, id)) {
			return true
		}
	}
	return false
}

// mayHaveSigned says whether somebody could sign for a role on the day of an
// act: he was there, was not suspended, had the role, and held the stage where
// the ladder asks that of the role.
func (r *run) mayHaveSigned(a *act, id inventory.ID, role string, stage int) bool {
	p := r.h.person(id)
	if p < 0 {
		return false
	}
	w := r.walker(p, a.On)
	l := r.limits(p, a.At, a.At, a.On)
	if !w.here(a.On) || w.suspendedBefore(a.On) || l.bars(-1) || !r.h.People[p].Roles(role, a.On) {
		return false
	}
	return !slices.Contains(r.h.Ladder.Holding, role) || w.heldBefore(stage, a.On, l)
}
