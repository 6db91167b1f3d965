package ladder

import (
	"slices"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// run is one forward pass in one world.
type run struct {
	h       *History
	world   *reading
	walkers []*walker
	left    []left // of a run that judges a part again; see again.go
}

// walker gives a person as he was before a day. In a run over everything he is
// there already.
func (r *run) walker(p int32, d day.Day) *walker {
	if r.left != nil {
		r.lead(p, d)
	}
	w := r.walkers[p]
	w.before(d)
	return w
}

// newRun judges everything once, day by day.
func newRun(h *History, w World) *run {
	r := &run{h: h, world: &reading{World: w}, walkers: make([]*walker, len(h.People))}
	for p := range r.walkers {
		r.walkers[p] = newWalker(h, r.world, int32(p))
		r.walkers[p].evidence = make([]evidence, 0, len(h.own[p]))
	}
	for held, acts := h.held, h.acts; len(held) > 0 || len(acts) > 0; {
		d := day.Last + 1
		if len(held) > 0 {
			d = held[0].On
		}
		if len(acts) > 0 {
			d = min(d, acts[0].On)
		}
		n := 0
		for n < len(acts) && acts[n].On == d {
			n++
		}
		today := acts[:n]
		acts = acts[n:]
		for ; len(held) > 0 && held[0].On == d; held = held[1:] {
			s := held[0]
			s.status[w] = r.judge(s)
			r.walkers[s.trainee].judged(s, s.status[w])
		}
		for _, a := range today {
			r.act(a)
		}
	}
	return r
}

// judge says what a session counts for, by what held before its day.
func (r *run) judge(s *sitting) Status {
	w := r.walker(s.trainee, s.On)
	l := r.limits(s.trainee, s.Begun, s.Ended, s.On)
	switch {
	case !w.here(s.On):
		return TraineeAway
	case w.suspended(s.On) || l.bars(s.species):
		return TraineeSuspended
	case r.world.adverse(s.busyTrainee):
		return TraineeBusy
	case s.Watched == inventory.No:
		return r.alone(w, s, l)
	}
	if s.Level > Look && l.cap(w.stage(s.On)) < w.needs(s.species, s.On) {
		return TraineeBelow
	}
	if s.maybeAlone() && r.world.benefit(inventory.Unknown) && r.alone(w, s, l) == CountsAlone {
		return CountsAlone
	}
	return r.watched(s)
}

// maybeAlone says that nobody knows whether somebody watched, and that nobody
// signed for it.
func (s *sitting) maybeAlone() bool {
	return s.Watched == inventory.Unknown && s.Mentor == (inventory.ID{}) && s.Signed.IsZero()
}

func (r *run) alone(w *walker, s *sitting, l *limits) Status {
	if w.mayAt(s.species, w.placeOf(s.species, s.On), s.Level, s.On, l) != MayOpen {
		return AloneNotOpen
	}
	return CountsAlone
}

// watched judges the mentor's side of a session, and its signature.
func (r *run) watched(s *sitting) Status {
	switch {
	case s.counts.IsZero() && s.Signed.IsZero():
		return Unsigned
	case s.counts.IsZero():
		return SignedLate
	case s.mentor < 0:
		if r.world.benefit(inventory.Unknown) {
			return Counts
		}
		return MentorUnknown
	case r.world.adverse(s.busyMentor):
		return MentorBusy
	}
	m := r.walker(s.mentor, s.On)
	l := r.limits(s.mentor, s.Begun, s.Ended, s.On)
	stage := m.needs(s.species, s.On)
	switch no := m.mayAt(s.species, m.placeOf(s.species, s.On), s.Level, s.On, l); {
	case no == NotHere:
		return MentorAway
	case no != MayOpen:
		return MentorBarred
	case !m.mayTeach(stage, s.On, l):
		return MentorNotOne
	}
	return Counts
}

// limits gives what acts of the day took from a person before something ended
// that happened on it; nil: nothing. Which came first on one day takes two
// instants to tell.
func (r *run) limits(p int32, begun, ended time.Time, d day.Day) *limits {
	var l *limits
	for _, a := range r.h.takenOn(p, d) {
		if !r.world.adverse(earlier(a.At, begun, ended)) {
			continue
		}
		if l == nil {
			l = &limits{}
		}
		switch {
		case a.What == Suspension:
			l.barred = true
		case a.species >= 0:
			l.withdrawn = append(l.withdrawn, a.species)
		default:
			l.stage, l.capped = l.cap(a.Stage), true
		}
	}
	return l
}

// earlier says whether an instant came before something ended.
func earlier(at, begun, ended time.Time) inventory.Tri {
	switch {
	case at.IsZero():
		return inventory.Unknown
	case !ended.IsZero():
		return inventory.Bool(at.Before(ended))
	case !begun.IsZero() && !begun.Before(at): // it began after
		return inventory.Yes
	}
	return inventory.Unknown
}

// act judges an act of the day and applies it, where it holds.
func (r *run) act(a *act) {
	w := r.walker(a.person, a.On)
	w.settle(a.On)
	a.granted[r.world.World] = r.grantOf(w, a)
	w.apply(a)
}

// apply lets an act take effect on whoever it is about.
func (w *walker) apply(a *act) {
	g := a.granted[w.world.World]
	switch {
	case a.What.Adverse():
		w.takeAway(a, w.cleared(a))
	case g != Holds:
	case a.What == Clearance:
		w.clear(a.On)
	default:
		w.grant(a)
	}
}

// cleared says whether somebody was cleared again later on the day on which he
// was suspended: then the suspension ends with that day.
func (w *walker) cleared(a *act) bool {
	return a.What == Suspension && slices.ContainsFunc(w.h.actsOf[w.id], func(c *act) bool {
		return c.What == Clearance && c.On == a.On && c.granted[w.world.World] == Holds && w.world.benefit(later(c, a))
	})
}

// later says whether one act of a day came after another.
func later(c, a *act) inventory.Tri {
	if a.At.IsZero() || c.At.IsZero() {
		return inventory.Unknown
	}
	return inventory.Bool(c.At.After(a.At))
}
