package compliance

import (
	"strconv"

	"antidotary/inventory/day"
)

// whyPaper tells the facts of one paper that its answer on a day rests on.
func (k *permitKind) whyPaper(v *View, d *Duty, permit *Permit, on day.Day) []Reason {
	p := k.open(v, d.Rule, permit)
	reasons := append(k.whyNumber(v, &p, on), Because("paper-days", "paper", p.Number, "start", orUnknown(p.Start()), "end", p.Expires.String()))
	if last, known := p.Expires.Known(); known && !k.lead.IsZero() {
		reasons = append(reasons, Because("paper-lead", "paper", p.Number, "lead", k.lead.String(), "end", last.String(),
			"legal", p.legal.On.String(), "handed", p.handIn.String(), "post", p.post.String(), "safe", p.safe.On.String()))
		if p.safe.Provisional {
			reasons = append(reasons, Because("holidays-unknown", "day", p.safe.On.String()))
		}
	}
	if a := p.latest(on); a != nil {
		reasons = append(reasons, Because("paper-applied", "paper", p.Number, "posted", orUnknown(a.Posted), "received", orUnknown(a.Received)))
		if begun(a.Decided, on) {
			reasons = append(reasons, Because("paper-decided", "outcome", string(a.Outcome), "day", a.Decided.String()))
		}
		if begun(a.Deficient, on) {
			reasons = append(reasons, Because("paper-deficient", "day", a.Deficient.String()))
		}
		reasons = append(reasons, Because("pending-"+Code(k.pending), "citation", orNone(k.cite)))
	}
	for _, s := range p.Suspensions {
		if s.From <= on {
			reasons = append(reasons, Because("paper-suspended", "from", s.From.String(), "lifted", orUnknown(s.Lifted)))
		}
	}
	if end := p.ending; begun(end.sure, on) {
		reasons = append(reasons, Because("paper-ended-with", "paper", p.Number, "day", end.sure.String()))
	} else if begun(end.perhaps, on) {
		reasons = append(reasons, Because("paper-perhaps-ended", "paper", p.Number, "day", end.perhaps.String()))
	}
	for _, dec := range v.decisions[p.Ref()] {
		if dec.Line().At(on) {
			reasons = append(reasons, Because("decided", "ruling", string(dec.Ruling), "by", v.NameOf(personRef(dec.By)),
				"day", dec.On.String(), "why", dec.Why, "consequence", dec.Consequence))
		}
	}
	return append(reasons, k.whyRequires(v, d, &p, on)...)
}

func (k *permitKind) whyNumber(v *View, p *paper, on day.Day) (reasons []Reason) {
	if !k.number {
		return nil
	}
	for i := range p.Grants {
		g := &p.Grants[i]
		if g.Max == 0 {
			continue
		}
		if n := k.countUnder(v, p.Permit, i).heads.At(on).most; n > g.Max {
			reasons = append(reasons, Because("paper-number", "taxon", g.Taxon, "max", strconv.Itoa(g.Max), "held", strconv.Itoa(n)))
		}
	}
	return reasons
}

func orUnknown(d day.Day) string {
	if d.IsZero() {
		return "not recorded"
	}
	return d.String()
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}
