package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// untilFiling turns the step of applying for a paper into the one of having
// its prerequisite first, where that would not be there on the day to apply by
// if nobody does anything. Standing and state stay: a paper in force is worth
// what it is worth, whatever its renewal still needs.
func (k *permitKind) untilFiling(v *View, p *Permit, line Line, needs []need) Line {
	var few [16]day.Day
	turns := few[:0]
	turn := func(on day.Day, verdict *Verdict) {
		turns = append(turns, on)
		if by := verdict.Step.By; applies(verdict.Step) && !by.IsZero() {
			turns = append(turns, by+1) // from then on each day is the earliest to apply on
		}
	}
	turn(day.First, line.First())
	for on, verdict := range line.Changes() {
		turn(on, verdict)
	}
	for i := range needs {
		for on := range needs[i].there.Changes() {
			turns = append(turns, on)
		}
		for on := range needs[i].ready.Changes() {
			turns = append(turns, on)
		}
	}
	at := func(on day.Day) *Verdict { return k.beforeFiling(v, p, line.At(on), needs, on) }
	b := day.NewBuilder(at(day.First))
	for _, on := range sorted(turns) {
		b.Add(on, at(on))
	}
	return b.Line()
}

// applies says that a step is to ask an authority for a paper.
func applies(s Step) bool { return s.Do == FileRenewal || s.Do == ObtainPaper }

// beforeFiling is a verdict on a day with the step that comes first. Of
// several prerequisites that are not ready the one to be seen to first counts.
func (k *permitKind) beforeFiling(v *View, p *Permit, verdict *Verdict, needs []need, on day.Day) *Verdict {
	if !applies(verdict.Step) {
		return verdict
	}
	var first Step
	for i := range needs {
		n := &needs[i]
		if n.throughout {
			continue
		}
		if s := n.first(v, p, verdict.Step, on); !s.IsZero() && (first.IsZero() || s.By < first.By) {
			first = s
		}
	}
	if first.IsZero() {
		return verdict
	}
	out := *verdict
	out.Step = first
	return v.in.Of(out)
}

// first is what must be done before an application can be made; nothing where
// the prerequisite will be ready on the day to apply by, or on the day of the
// question where that is over.
func (n *need) first(v *View, p *Permit, file Step, on day.Day) Step {
	on = max(file.By, on)
	ready := n.ready.At(on)
	if ready == inventory.Yes {
		return Step{}
	}
	is := n.there.At(on)
	s := Step{Do: ObtainPrerequisite, Instance: file.Instance, Window: file.Window, Owner: file.Owner, Provisional: file.Provisional}
	if !is.Cause.IsZero() {
		s.Instance = is.Cause
	}
	switch {
	case ready == inventory.Unknown:
		s.Do = CompleteRecord
	case is.Standing == InOrder || is.State == Lapsed:
		s.Do = RenewPrerequisite
	}
	if file.By.IsZero() {
		return s // at once
	}
	s.By, s.Legal = n.by(v, p, file, &s.Provisional), file.Legal
	if !s.Legal.IsZero() {
		s.Legal = n.lead.SubtractFrom(s.Legal)
	}
	return s
}

// by is the last day on which acting is still in time for an application on
// its own last day: the day by which to renew what is in force when the lead
// begins and ends before that day, or else the day on which the lead begins.
func (n *need) by(v *View, p *Permit, file Step, provisional *bool) day.Day {
	from := n.lead.SubtractFrom(file.By)
	if is := n.there.At(from); is.Standing == InOrder {
		last := is
		for change, next := range n.there.Changes() {
			if change > from && next.Standing != InOrder {
				break
			}
			if change > from {
				last = next
			}
		}
		if by := last.Step.By; !by.IsZero() && by < file.By {
			*provisional = *provisional || last.Step.Provisional
			return by
		}
		return file.By
	}
	if n.lead.IsZero() || p == nil {
		return from
	}
	open := v.calendarOf(p.Authority).Earlier(from)
	*provisional = *provisional || open.Provisional
	return open.On
}

// bound is the line of a paper that is worth nothing on days on which its
// prerequisite is not in force.
func (n *need) bound(v *View, d *Duty, p *Permit, line Line) Line {
	return day.Combine(line, n.kept(v), func(own, is *Verdict) *Verdict {
		if own.Standing == NotApplicable || own.Standing == OutOfOrder {
			return own
		}
		switch inForce(is) {
		case inventory.No:
			s := Step{Do: ObtainPrerequisite, Instance: d.Subject, Owner: d.Rule.Owner}
			if !is.Cause.IsZero() {
				s.Instance = is.Cause
			}
			if is.State == Lapsed {
				s.Do = RenewPrerequisite
			}
			return v.in.Of(Verdict{Standing: OutOfOrder, State: PrerequisiteMissing, Step: s, Cause: own.Cause})
		case inventory.Unknown:
			if own.Standing == CannotTell {
				return own
			}
			return v.in.Of(Verdict{Standing: CannotTell, State: PrerequisiteUnknown, Cause: own.Cause,
				Step: Step{Do: CompleteRecord, Instance: is.Cause, Owner: d.Rule.Owner}})
		}
		if own.Standing == CannotTell || is.Step.IsZero() || !own.Step.IsZero() && own.Step.By <= is.Step.By {
			return own
		}
		out := *own
		out.Step = is.Step
		return v.in.Of(out)
	})
}

// kept is the line of the prerequisite with, while it is in force, the step
// that keeps it so: nothing where another paper takes over without a gap.
func (n *need) kept(v *View) Line {
	type segment struct {
		on day.Day
		is *Verdict
	}
	all := []segment{{day.First, n.there.First()}}
	for on, is := range n.there.Changes() {
		all = append(all, segment{on, is})
	}
	var last *Verdict // in force before the gap that comes next; nil: none comes
	for i := len(all) - 1; i >= 0; i-- {
		is := all[i].is
		if is.Standing != InOrder {
			last = nil
			if i > 0 {
				last = all[i-1].is
			}
			continue
		}
		out := Verdict{Standing: InOrder, State: is.State, Cause: is.Cause}
		switch {
		case last == nil:
		case last.Cause == is.Cause: // what was done about it by then counts
			out.Step = keepUp(is.Step)
		default:
			out.Step = keepUp(last.Step)
		}
		all[i].is = v.in.Of(out)
	}
	b := day.NewBuilder(all[0].is)
	for _, s := range all[1:] {
		b.Add(s.on, s.is)
	}
	return b.Line()
}

// keepUp is a step of the prerequisite's own as it is told of the paper that
// needs it.
func keepUp(s Step) Step {
	if s.Do == FileRenewal || s.Do == ObtainPaper || s.Do == StopBeforeEnd {
		s.Do = RenewPrerequisite
	}
	return s
}
