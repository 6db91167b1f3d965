package compliance

import (
	"cmp"
	"iter"

	"antidotary/compliance/scope"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// packRules are the duties of whoever keeps the packs. Their occurrence is the
// pack, so that each pack is a finding of its own.
var packRules = []*Rule{
	{
		ID: "watch.pack-review", Requirement: "pack-review", Layer: House, Subject: inventory.KindOrganisation, Kind: packReviewKind{},
		Title: "Every pack of rules in use is read again in time", Severity: Serious, Owner: Administrator, Window: 30, Scope: &scope.Scope{},
		Consequence: "Whether its rules are still what the law says cannot be told; ask the authority.",
		Citation:    ownDesign,
	},
	{
		ID: "watch.legal-review", Requirement: "legal-review", Layer: House, Subject: inventory.KindOrganisation, Kind: legalReviewKind{},
		Title: "That one law cancels another needs legal review", Severity: Serious, Owner: Administrator, Window: 30, Scope: &scope.Scope{},
		Consequence: "The law that is taken to be cancelled may hold; until a lawyer has looked, keep it too.",
		Citation:    ownDesign,
	},
}

// packDuties binds the house to each pack that may speak at some site.
func packDuties(v *View, r *Rule, asked func(*Pack) day.Line[bool]) iter.Seq[Duty] {
	return func(yield func(Duty) bool) {
		for d := range v.bind(r, "") {
			for _, p := range v.Book.Packs {
				one := d
				one.Occurrence = p.Name
				one.Applies = day.Combine(d.Applies, asked(p), func(is inventory.Tri, asked bool) inventory.Tri {
					return is.And(inventory.Bool(asked))
				})
				if !one.Applies.Always(inventory.No) && !yield(one) {
					return
				}
			}
		}
	}
}

func (v *View) packOf(d *Duty) *Pack {
	for _, p := range v.Book.Packs {
		if p.Name == d.Occurrence {
			return p
		}
	}
	return nil
}

// speaksIn gives the days on which a site of the house lies within an area.
func (v *View) speaksIn(area string) day.Line[bool] {
	line := day.Constant(area == "")
	for site := range v.Sites.All() {
		there := day.Map(v.laws[site.ID], func(path string) bool { return path != "" && inventory.Within(path, area) })
		line = day.Combine(line, there, func(a, b bool) bool { return a || b })
	}
	return line
}

// packReviewKind: a pack is good until the day by which it must be read again;
// then, and where nobody knows what was read or when, whether its rules are
// still the law cannot be told.
type packReviewKind struct{}

func (packReviewKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	return packDuties(v, r, func(p *Pack) day.Line[bool] { return v.speaksIn(p.Area) })
}

func (packReviewKind) Judge(v *View, d *Duty) Line {
	p := v.packOf(d)
	step := Step{Do: RecheckPack, Instance: d.Subject, Owner: d.Rule.Owner, Window: d.Rule.Window}
	unverified := v.in.Of(Verdict{Standing: CannotTell, State: RuleUnverified, Step: step})
	if p == nil || p.lacks() != "" {
		return day.Constant(unverified)
	}
	step.By = p.ReviewBy
	good := v.in.Of(Verdict{Standing: InOrder, State: PackRead, Step: step})
	past := v.in.Of(Verdict{Standing: CannotTell, State: RuleUnverified, Step: step})
	return day.Steps(good, day.Change[*Verdict]{On: p.ReviewBy + 1, To: past})
}

// lacks names what is not known of a pack, without which nobody can say which
// text its rules were taken from; empty: nothing.
func (p *Pack) lacks() string {
	switch {
	case p.Edition == "":
		return "edition"
	case p.ReadOn.IsZero():
		return "read_on"
	case p.ReviewBy.IsZero():
		return "review_by"
	default:
		return ""
	}
}

func (packReviewKind) Why(v *View, d *Duty, on day.Day) []Reason {
	p := v.packOf(d)
	if p == nil {
		return nil
	}
	reasons := []Reason{Because("pack-read", "pack", p.Title, "edition", cmp.Or(p.Edition, "not recorded"), "day", orUnknown(p.ReadOn), "end", orUnknown(p.ReviewBy))}
	if lacks := p.lacks(); lacks != "" {
		reasons = append(reasons, Because("pack-lacks", "lacking", lacks))
	}
	return reasons
}

// legalReviewKind: while a pack says that one of its laws cancels another that
// speaks at some site, that is told.
type legalReviewKind struct{}

func (legalReviewKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	return packDuties(v, r, func(p *Pack) day.Line[bool] {
		line := day.Constant(false)
		for _, l := range v.Book.preemptions(p) {
			line = day.Combine(line, v.meet(l), func(a, b bool) bool { return a || b })
		}
		return line
	})
}

// meet gives the days on which both rules of a lift may be in effect at some
// site.
func (v *View) meet(l Lifted) day.Line[bool] {
	and := func(a, b bool) bool { return a && b }
	return day.Combine(v.speaksIn(l.Rule.Area), day.Combine(l.By.InEffect(), l.Rule.InEffect(), and), and)
}

func (b *Rulebook) preemptions(p *Pack) (out []Lifted) {
	for _, l := range b.lifts {
		if l.How == Preempts && l.By.Pack == p {
			out = append(out, l)
		}
	}
	return out
}

func (legalReviewKind) Judge(v *View, d *Duty) Line {
	return day.Constant(v.in.Of(Verdict{Standing: CannotTell, State: NeedsLegalReview,
		Step: Step{Do: HaveReviewed, Instance: d.Subject, Owner: d.Rule.Owner}}))
}

func (legalReviewKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	p := v.packOf(d)
	if p == nil {
		return nil
	}
	for _, l := range v.Book.preemptions(p) {
		if v.meet(l).At(on) {
			reasons = append(reasons, Because("preempts", "rule", l.By.ID, "title", l.By.Title, "other", l.Rule.ID, "what", l.Rule.Title,
				"citation", l.Citation.Text, "certainty", l.Citation.Certainty.Words()))
		}
	}
	return reasons
}
