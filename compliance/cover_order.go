package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// withOrders puts on each covered stretch the day by which to order so that
// it does not end, and keeps that day, missed, on the stretch that follows.
// What is ordered already is to be chased, not ordered again.
func (k *coverKind) withOrders(v *View, d *Duty, plain Line, grounds []inventory.Ground) Line {
	o := ordering{coverKind: k, view: v, duty: d, plain: plain, grounds: grounds, letRun: v.decided(RunDown, d.Subject),
		planned: k.arriving(v, d, grounds), outside: v.outsideOnly(d.Subject.At)}
	b := day.NewBuilder(o.step(day.First-1, plain.First()))
	var missed Step
	for _, on := range o.turns() {
		next := o.step(on, plain.At(on))
		if next.Standing == InOrder {
			missed = next.Step
		} else if next.Standing == OutOfOrder && !missed.IsZero() && next.Step.Do == ReplaceAntivenom {
			late := *next
			late.Step.By, late.Step.Legal, late.Step.Window = missed.By, missed.Legal, missed.Window
			next = v.in.Of(late)
		}
		b.Add(on, next)
	}
	return b.Line()
}

// ordering finds the step of each stretch.
type ordering struct {
	*coverKind
	view    *View
	duty    *Duty
	plain   Line
	grounds []inventory.Ground
	letRun  day.Line[bool]
	planned day.Line[bool] // with what is coming there is a course
	outside day.Line[bool] // the site may not hold antivenom itself
}

// turns gives the days on which the step may change.
func (o *ordering) turns() []day.Day {
	var days []day.Day
	for on := range o.plain.Changes() {
		days = append(days, on)
	}
	for on := range o.planned.Changes() {
		days = append(days, on)
	}
	return sorted(days)
}

// arriving gives the days on which the vials that are coming would make a
// course, with those that are there for sure.
func (k *coverKind) arriving(v *View, d *Duty, grounds []inventory.Ground) day.Line[bool] {
	if k.scene.Victims > 1 {
		return k.relieved(v, d.Subject, whatIsComing)
	}
	out := day.Constant(false)
	for _, g := range grounds {
		key := k.scene.stock(g.Product, d.Subject.At)
		coming := v.coming(key)
		if coming.Always(0) {
			continue
		}
		levels := day.Combine(v.atHand(key), g.Vials, func(s atHand, n inventory.Vials) level { return level{stock: s, course: n} })
		enough := day.Combine(levels, coming, func(l level, n int) bool {
			return n > 0 && l.course.Full > 0 && l.stock.all().Sure+n >= l.course.Full
		})
		out = day.Combine(out, enough, func(a, b bool) bool { return a || b })
	}
	return out
}

// step gives a verdict its step.
func (o *ordering) step(on day.Day, verdict *Verdict) *Verdict {
	switch {
	case verdict.Standing == InOrder && verdict.State == Covered:
		return o.untilEnd(on, verdict)
	case verdict.Step.Do == ReplaceAntivenom:
		return o.short(on, verdict)
	default:
		return verdict
	}
}

// short is what to do where there is too little: chase what is coming; where
// the house may hold none, agree with somebody who may.
func (o *ordering) short(on day.Day, verdict *Verdict) *Verdict {
	out := *verdict
	switch comes, ok := o.comes(on); {
	case ok:
		out.Step.Do, out.Step.By = ChaseOrder, comes
	case o.outside.At(on):
		out.Step.Do = SignAgreement
	default:
		return verdict
	}
	return o.view.in.Of(out)
}

// comes gives the day from which what is coming makes a course, if it does
// before the stretch ends.
func (o *ordering) comes(on day.Day) (day.Day, bool) {
	if o.planned.At(on) {
		return on, true
	}
	comes, _, ok := o.planned.Next(on, func(enough bool) bool { return enough })
	if !ok {
		return 0, false
	}
	ends, _, changes := o.plain.Next(on, func(v *Verdict) bool { return v.Standing == InOrder })
	return comes, !changes || comes < ends
}

// untilEnd puts on a covered stretch what must be done, and by when, so that
// it does not end. Where the rule itself says nothing afterwards, because the
// species is then short even alone, another rule asks for that.
func (o *ordering) untilEnd(on day.Day, verdict *Verdict) *Verdict {
	ends, after, ok := o.plain.Next(on, func(next *Verdict) bool { return next.Standing != InOrder })
	if !ok || after.Standing == NotApplicable {
		return verdict
	}
	v, d := o.view, o.duty
	out := *verdict
	out.Step = Step{Do: OrderAntivenom, Instance: d.Subject, Legal: ends - 1, Window: d.Rule.Window, Owner: d.Rule.Owner}
	switch {
	case after.State == NotApproved || after.State == ApprovalUnknown:
		out.Step.Do, out.Step.Instance, out.Step.By = ObtainApproval, after.Cause, ends-1
	case after.State == PartnerUnknown:
		out.Step.Do, out.Step.By = ConfirmAgreement, ends-1
	case o.letRun.At(max(on, d.today(v))):
		out.Step.Do, out.Step.By = MoveSpecies, ends-1
	case o.planned.At(ends):
		out.Step.Do, out.Step.By = ChaseOrder, ends-1
	case o.outside.At(ends):
		out.Step.Do, out.Step.By = SignAgreement, ends-1
	default:
		by := day.WeekendsOnly().Earlier(o.orderBy(ends))
		out.Step.By, out.Step.Provisional = by.On, by.Provisional
	}
	return v.in.Of(out)
}

// orderBy gives the day by which to order so that vials are checked and at
// hand on the first short day: by the quickest product.
func (o *ordering) orderBy(short day.Day) (by day.Day) {
	for i, g := range o.grounds {
		if on := o.orderProduct(g.Product, short); i == 0 || on > by {
			by = on
		}
	}
	return by
}

// orderProduct subtracts, in calendar days, what the quickest offer that
// stands takes: the supplier's lead, the import paper, customs and checking;
// else the product's own lead; and the house's margin. The paper's days count
// unless one is in force until the vials are there. Where nobody knows, the
// rule's own lead.
func (o *ordering) orderProduct(product inventory.ID, short day.Day) (by day.Day) {
	for _, s := range o.view.supplies[product] {
		days, known := s.Lead(o.importable(s, short))
		if on := short.Add(-days - o.margin); known && on > by && s.Offered().At(on) == inventory.Yes {
			by = on
		}
	}
	if !by.IsZero() {
		return by
	}
	if p, ok := o.view.Products.Get(product); ok && p.LeadDays > 0 {
		return short.Add(-p.LeadDays - o.margin)
	}
	return o.lead.SubtractFrom(short)
}

// importable says whether an import paper that an offer needs is in force at
// the site on the day on which vials must be there at the latest.
func (o *ordering) importable(s *inventory.Supply, short day.Day) bool {
	if s.Paper == "" {
		return false
	}
	k := &permitKind{class: s.Paper, place: true, pending: notEnough}
	site := o.duty.Subject.At
	for _, p := range o.view.papers.candidates(k.class, o.duty, site) {
		line, fits := k.paperFor(o.view, o.duty, p, site)
		if fits && line.At(short-1).Standing == InOrder {
			return true
		}
	}
	return false
}
