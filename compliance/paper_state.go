package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// paper is one permit read under one rule: the days that matter are worked
// out once, then any single day is answered from them.
type paper struct {
	*Permit
	kind    *permitKind
	owner   Role
	window  int
	legal   day.Deadline // last day on which filing is in time by the rule
	handIn  day.Day      // last day on which the office is open and it is in time
	post    day.Day      // last day on which a letter posted is there by then
	safe    day.Deadline // last day to act by: the day to post it, less the house's margin
	let     day.Line[bool]
	follows bool // a paper is recorded that takes over without a gap
	ending  ending
	next    bool // a paper that follows this one is recorded, with a gap or without
}

// stateOf is the line of one paper under one rule, whoever stands under it.
// Papers that name no animal are shared, so their lines are kept.
func (k *permitKind) stateOf(v *View, d *Duty, p *Permit) Line {
	key := paperKey{k, p.ID}
	shared := len(p.Animals) == 0
	if line, ok := v.papers.states[key]; shared && ok {
		return line
	}
	opened := k.open(v, d.Rule, p)
	line := opened.line(v)
	if shared {
		v.papers.states[key] = line
	}
	return line
}

// ownState is the line of a paper that is asked about for its own sake. Once
// somebody has given it back, or decided to let it end and it has ended,
// nothing is asked of it: what stood under it is asked on its own account.
func (k *permitKind) ownState(v *View, d *Duty) Line {
	p := d.paper
	paper := k.open(v, d.Rule, p)
	let := paper.let
	if !p.Surrendered.IsZero() {
		given := day.Steps(false, day.Change[bool]{On: p.Surrendered, To: true})
		let = day.Combine(let, given, func(a, b bool) bool { return a || b })
	}
	line := paper.line(v)
	if len(k.requires) > 0 {
		alone := line
		line = day.Switch(d.Sites, func(site inventory.ID) Line { return k.withRequires(v, d, p, site, alone) })
	}
	if let.Always(false) {
		return line
	}
	return day.Combine(line, let, func(verdict *Verdict, let bool) *Verdict {
		if let && verdict.Standing == OutOfOrder {
			return notApplicable
		}
		return verdict
	})
}

func (k *permitKind) open(v *View, r *Rule, p *Permit) paper {
	successors := v.papers.successors[p.ID]
	out := paper{Permit: p, kind: k, owner: r.Owner, window: r.Window,
		let:     v.decided(WillNotRenew, p.Ref()),
		follows: p.followed(successors), next: len(successors) > 0, ending: k.endingOf(v, p)}
	last, known := p.Expires.Known()
	if !known {
		return out
	}
	cal := v.calendarOf(p.Authority)
	period := day.Period{Shape: day.BeforeDeadline, Span: k.lead, Moves: k.moves}
	out.legal = period.On(last, cal)
	post := 0
	if a, ok := v.Authorities.Get(p.Authority); ok && !k.posting {
		post = a.PostDays
	}
	// The office must be open on the day of receipt, and a letter posted on
	// the day before a closed day lies.
	open := cal.Earlier(out.legal.On)
	out.safe = cal.SubtractWorking(open.On, post)
	out.handIn, out.post = open.On, out.safe.On
	if k.margin > 0 {
		out.safe.On = cal.Earlier(out.safe.On.Add(-k.margin)).On
	}
	out.safe.Provisional = out.safe.Provisional || open.Provisional || out.legal.Provisional
	return out
}

// followed says whether a paper is recorded that takes over without a gap.
func (p *Permit) followed(successors []*Permit) bool {
	last, known := p.Expires.Known()
	return known && slices.ContainsFunc(successors, func(next *Permit) bool {
		start := next.Start()
		return !start.IsZero() && start <= last+1
	})
}

// line answers on each day on which the answer can change, and only there.
func (p *paper) line(v *View) Line {
	var few [16]day.Day // nearly every paper turns less often
	turns := p.turns(few[:0])
	b := day.NewBuilder(v.in.Of(p.on(day.First)))
	b.Grow(len(turns))
	for _, d := range turns {
		b.Add(d, v.in.Of(p.on(d)))
	}
	return b.Line()
}

// turns adds to days those from which the answer may differ, ascending.
func (p *paper) turns(days []day.Day) []day.Day {
	days = append(days, p.Start(), p.Revoked, p.Surrendered, p.ending.sure, p.ending.perhaps)
	if last, known := p.Expires.Known(); known {
		days = append(days, last+1)
	}
	for _, s := range p.Suspensions {
		days = append(days, s.From, s.Lifted, s.From+1)
	}
	for _, a := range p.Applications {
		days = append(days, a.Posted, a.Received, a.Deficient, a.Decided)
	}
	for on := range p.let.Changes() {
		days = append(days, on)
	}
	return sorted(days)
}

// on answers for one day.
func (p *paper) on(d day.Day) Verdict {
	start := p.Start()
	switch {
	case begun(p.Revoked, d):
		return p.out(Revoked, p.obtain())
	case begun(p.Surrendered, d):
		return p.out(Surrendered, p.obtain())
	case p.suspended(d):
		return p.out(Suspended, p.obtain())
	case start.IsZero():
		return p.doubt(StartUnknown)
	case d < start:
		return Verdict{} // it is nothing yet
	case begun(p.ending.sure, d):
		return p.out(EndedWithEvent, Step{Do: ReturnPaper, Instance: p.Ref(), Owner: p.owner})
	}
	last, known := p.Expires.Known()
	if begun(p.ending.perhaps, d) && (!known || d <= last) {
		return p.doubt(EventUnknown)
	}
	switch {
	case p.Expires.Kind == day.Never:
		return Verdict{Standing: InOrder, State: InForce, Cause: p.Ref()}
	case !known:
		return p.doubt(ExpiryUnknown)
	case d <= last:
		return Verdict{Standing: InOrder, State: InForce, Step: p.before(d), Cause: p.Ref()}
	default:
		return p.after(d)
	}
}

func begun(event, d day.Day) bool { return !event.IsZero() && event <= d }

// suspended: an adverse event bites from its day; a lifting counts from its
// own day, but not on the day of the suspension.
func (p *paper) suspended(d day.Day) bool {
	return slices.ContainsFunc(p.Suspensions, func(s Suspension) bool {
		return s.From <= d && (s.Lifted.IsZero() || d < s.Lifted || d == s.From)
	})
}

// filed gives the day that counts as filing; unset where nothing counts yet.
func (p *paper) filed(a *Application) day.Day {
	if p.kind.posting && !a.Posted.IsZero() && (a.Received.IsZero() || a.Posted < a.Received) {
		return a.Posted
	}
	return a.Received
}

// latest gives the newest application that had been posted or received by a
// day.
func (p *paper) latest(d day.Day) *Application {
	var found *Application
	for i := range p.Applications {
		a := &p.Applications[i]
		if begun(a.Posted, d) || begun(a.Received, d) {
			found = a
		}
	}
	return found
}

// before is the next step while the paper is in force.
func (p *paper) before(d day.Day) Step {
	if p.follows {
		return Step{}
	}
	step := Step{Instance: p.Ref(), By: p.Expires.On, Legal: p.Expires.On, Window: p.window, Owner: p.owner}
	a := p.latest(d)
	switch {
	case p.let.At(d):
		step.Do = StopBeforeEnd
	case a == nil && p.Renewable == inventory.No:
		step.Do = ObtainPaper
	case a == nil || begun(a.Deficient, d) && !begun(a.Decided, d):
		step.Do, step.By, step.Legal, step.Provisional = FileRenewal, p.safe.On, p.legal.On, p.safe.Provisional
	case begun(a.Decided, d) && a.Outcome == Granted && p.next:
		return Step{}
	case begun(a.Decided, d) && a.Outcome == Granted:
		step.Do = RecordNewPaper
	case begun(a.Decided, d):
		step.Do = ObtainPaper
	case !begun(p.filed(a), d):
		step.Do, step.By, step.Legal = ChaseReceipt, p.legal.On, p.legal.On
	case p.kind.pending == continues && p.filed(a) <= p.legal.On:
		return Step{} // it will continue; nothing to chase before the end
	default:
		step.Do = ChaseDecision
	}
	return step
}

// after is what an application is worth once the last day is over.
func (p *paper) after(d day.Day) Verdict {
	missed := Step{Do: FileRenewal, Instance: p.Ref(), By: p.safe.On, Legal: p.legal.On, Window: p.window, Owner: p.owner}
	chase := Step{Do: ChaseDecision, Instance: p.Ref(), Window: p.window, Owner: p.owner}
	a := p.latest(d)
	switch {
	case p.follows && a == nil:
		return Verdict{} // its successor answers for these days
	case p.let.At(d):
		return p.out(Lapsed, Step{Do: StopBeforeEnd, Instance: p.Ref(), By: p.Expires.On, Window: p.window, Owner: p.owner})
	case a == nil:
		return p.out(Lapsed, missed)
	case begun(a.Decided, d) && a.Outcome == Granted && p.next:
		return Verdict{} // what was granted answers for itself
	case begun(a.Decided, d) && a.Outcome == Granted:
		record := Step{Do: RecordNewPaper, Instance: p.Ref(), By: p.Expires.On, Window: p.window, Owner: p.owner}
		return Verdict{Standing: CannotTell, State: GrantedNotRecorded, Step: record, Cause: p.Ref()}
	case begun(a.Decided, d):
		return p.out(PendingRefused, p.obtain())
	case p.kind.pending == voided:
		return p.out(VoidOnExpiry, chase)
	case begun(a.Deficient, d) || p.Renewable == inventory.No || p.kind.pending == notEnough:
		return p.out(PendingNotCovered, chase)
	default:
		return p.pending(a, d, chase)
	}
}

// pending: the rule says that the paper continues, if filed in time, received
// where receipt counts, renewable, and in force on the day of filing.
func (p *paper) pending(a *Application, d day.Day, chase Step) Verdict {
	filed := p.filed(a)
	switch {
	case !begun(filed, d) && a.Posted <= p.legal.On:
		chase.Do = ChaseReceipt
		return Verdict{Standing: CannotTell, State: PendingNoReceipt, Step: chase, Cause: p.Ref()}
	case !begun(filed, d) || filed > p.legal.On || p.suspended(filed):
		return p.out(PendingNotCovered, chase)
	case p.Renewable != inventory.Yes:
		return p.doubt(RenewableUnknown)
	default:
		return Verdict{Standing: InOrder, State: PendingContinued, Step: chase, Cause: p.Ref()}
	}
}

func (p *paper) out(state Code, step Step) Verdict {
	return Verdict{Standing: OutOfOrder, State: state, Step: step, Cause: p.Ref()}
}

func (p *paper) doubt(state Code) Verdict {
	return Verdict{Standing: CannotTell, State: state, Cause: p.Ref(),
		Step: Step{Do: CompleteRecord, Instance: p.Ref(), Owner: p.owner}}
}

func (p *paper) obtain() Step {
	return Step{Do: ObtainPaper, Instance: p.Ref(), Owner: p.owner}
}
