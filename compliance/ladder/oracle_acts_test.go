package ladder

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// loseByTime: the highest stage that is held is lost after a long lapse, and
// the one below is left. A lapse of before he came down to it does not count.
func (o *oracle) loseByTime(s *state) {
	top := s.stage()
	if top == 0 || o.Ladder.Stages[top].SetBackAfter.IsZero() || o.Ladder.Stages[top].Handled.IsZero() {
		return
	}
	last := o.stageLast(s, top)
	if last == 0 {
		return
	}
	since := s.on
	for since > o.begin && o.after(s.person, since-1).stage() == top {
		since--
	}
	lapsed := max(o.Ladder.Stages[top].Handled.AddTo(last)+1, since)
	if o.Ladder.Stages[top].SetBackAfter.AddTo(lapsed) <= s.on {
		s.held[top-1] = s.down(s.held, top-1)
	}
}

// down takes what is held above a number, and gives what is held of it then:
// whoever held more held this as well, for as long.
func (s *state) down(held map[int]term, to int) term {
	left := held[to]
	for n, t := range held {
		if n > to {
			if t.has(s.on) && (!left.has(s.on) || left.last != 0 && (t.last == 0 || t.last > left.last)) {
				left = t
			}
			delete(held, n)
		}
	}
	return left
}

// take applies what takes away.
func (o *oracle) take(s *state, a *Authorisation) {
	switch {
	case a.What == Suspension:
		b := bar{from: a.On}
		b.last, _ = a.Until.Known()
		if o.clearedLater(s, a) {
			b.last = a.On
		}
		s.barred = append(s.barred, b)
	case a.Species != inventory.ID{}:
		delete(s.signed, a.Species)
	default:
		s.held[a.Stage] = s.down(s.held, a.Stage)
		s.teaches[a.Stage] = s.down(s.teaches, a.Stage)
	}
}

// clearedLater: a clearance later on the day of a suspension ends it with the
// day. Which came first takes two instants to tell.
func (o *oracle) clearedLater(s *state, a *Authorisation) bool {
	for _, c := range o.actsOn(s.person, a.On) {
		if c.What != Clearance || o.grant(s, c) != Holds {
			continue
		}
		later := inventory.Unknown
		if !a.At.IsZero() && !c.At.IsZero() {
			later = inventory.Bool(c.At.After(a.At))
		}
		if o.benefit(later) {
			return true
		}
	}
	return false
}

// give applies what was granted.
func (o *oracle) give(s *state, a *Authorisation) {
	last := o.lastDay(a)
	renew := func(t term) term {
		if !t.has(a.On) {
			return term{a.On, last}
		}
		if t.last != 0 && (last == 0 || last > t.last) {
			t.last = last
		}
		return t
	}
	switch a.What {
	case Clearance:
		for i, b := range s.barred {
			if b.from < a.On && b.cleared == 0 {
				s.barred[i].cleared = a.On
			}
		}
	case StageGrant:
		s.held[a.Stage] = renew(s.held[a.Stage])
		for n := 1; n <= a.Stage; n++ {
			if n == a.Stage || len(s.starts[n]) == 0 {
				s.starts[n] = append(slices.Clone(s.starts[n]), a.On)
			}
		}
	case MentorGrant:
		s.teaches[a.Stage] = renew(s.teaches[a.Stage])
	case SpeciesGrant:
		one := s.signed[a.Species]
		if !one.has(a.On) {
			one.level = 0
		}
		one.term, one.level = renew(one.term), max(one.level, a.Level)
		one.starts = append(slices.Clone(one.starts), a.On)
		s.signed[a.Species] = one
	}
}

// lastDay of a grant; 0: none.
func (o *oracle) lastDay(a *Authorisation) day.Day {
	if last, known := a.Until.Known(); known {
		return last
	}
	review := o.Ladder.Review
	switch {
	case a.Founding != "":
		review = o.Ladder.FoundingReview
	case a.Until.Kind == day.Never:
		return 0
	case a.What == MentorGrant && !o.Ladder.Mentor.Review.IsZero():
		review = o.Ladder.Mentor.Review
	}
	if review.IsZero() {
		return 0
	}
	return review.AddTo(a.On)
}
