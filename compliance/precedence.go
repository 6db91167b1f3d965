package compliance

import (
	"slices"

	"antidotary/compliance/scope"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Exemption is a way out that a law itself names. Only such a one can be used
// to lift the law.
type Exemption struct {
	Name     string
	Citation Citation
}

// LiftKind says on what ground a rule lifts another. Its values are the keys
// of packs.
type LiftKind string

// The grounds.
const (
	// Exempts uses an exemption that the lifted law itself names.
	Exempts LiftKind = "exempts"
	// Preempts says that a law of a higher place cancels one of a place below
	// it. Whether it does is for a lawyer: it always needs legal review.
	Preempts LiftKind = "preempts"
)

// Lift is one rule's claim that another does not hold for a subject on the
// days on which the first applies, and its condition holds.
type Lift struct {
	By        *Rule
	Of        string // id of the lifted rule
	How       LiftKind
	Exemption string       // its name in the lifted rule; of Exempts only
	Scope     *scope.Scope // the rule's own scope and the lift's condition
	InOrder   bool         // lifts only while the duty of By on that subject is in order
	Citation  Citation
	Where     strict.Pos
	field     string
}

// Lifted is a lift among the rules of a rulebook.
type Lifted struct {
	*Lift
	Rule *Rule // the one that is lifted
}

// Lifting says on which days a lift holds for one subject; Unknown where that
// cannot be told.
type Lifting struct {
	Lifted
	Line    day.Line[inventory.Tri]
	Missing []string // attributes for want of which it is unknown
}

// counting is what comes of one rule's own line once the others are known. Few
// judgements have one.
type counting struct {
	line   Line                    // what counts
	speaks day.Line[inventory.Tri] // on which days the rule speaks
	lifts  []Lifting
}

// Counted is the line of the rule as far as it counts: not applicable on days
// on which it is lifted, or is guidance where law or house speaks.
func (r RuleLine) Counted() Line {
	if r.counts == nil {
		return r.Line
	}
	return r.counts.line
}

// LiftedOn yields the lifts that hold, or may hold, on a day.
func (r RuleLine) LiftedOn(on day.Day) (out []Lifting) {
	if r.counts == nil {
		return nil
	}
	for _, l := range r.counts.lifts {
		if l.Line.At(on) != inventory.No {
			out = append(out, l)
		}
	}
	return out
}

// speaks gives the days on which the rule speaks.
func (r RuleLine) speaks() day.Line[inventory.Tri] {
	if r.counts != nil {
		return r.counts.speaks
	}
	return day.Map(r.Line, func(verdict *Verdict) inventory.Tri { return inventory.Bool(verdict.Standing != NotApplicable) })
}

// doubted notes that whether the rule applies cannot be told on some days.
func (r *RuleLine) doubted(applies day.Line[inventory.Tri]) {
	r.counts = &counting{line: r.Line, speaks: day.Combine(r.Line, applies, speaking)}
}

// speaking: a rule speaks on a day on which it has an answer; whether it does
// cannot be told where that hangs on a fact that is missing.
func speaking(verdict *Verdict, applies inventory.Tri) inventory.Tri {
	if verdict.Standing == NotApplicable {
		return inventory.No
	}
	return applies
}

// lift works out which rules are lifted for whom, and on which days.
func (r *Report) lift() {
	lifts := r.View.Book.lifts
	if len(lifts) == 0 {
		return
	}
	byRule := make(map[*Rule]map[inventory.Ref][]Lifting)
	for _, l := range lifts { // whatever lifts l.By comes before
		if byRule[l.Rule] == nil {
			byRule[l.Rule] = make(map[inventory.Ref][]Lifting)
		}
		claim := *l.By
		claim.Scope = l.Scope
		for d := range r.View.bind(&claim, "") {
			line := d.Applies
			for _, above := range byRule[l.By][d.Subject] { // a rule that is lifted lifts nothing
				line = day.Combine(line, above.Line, func(is, lifted inventory.Tri) inventory.Tri { return is.And(lifted.Not()) })
			}
			if l.InOrder {
				line = day.Combine(line, r.inOrder(l.By, d.Subject), inventory.Tri.And)
			}
			if !line.Always(inventory.No) {
				byRule[l.Rule][d.Subject] = append(byRule[l.Rule][d.Subject], Lifting{l, line, d.Missing})
			}
		}
	}
	for _, j := range r.Judgements {
		for i := range j.Rules {
			rl := &j.Rules[i]
			r.View.liftLine(rl, byRule[rl.Rule][j.Key.Subject])
		}
	}
}

// inOrder gives the days on which a rule's own continuing duty about a subject
// is in order. No duty is none in order.
func (r *Report) inOrder(rule *Rule, subject inventory.Ref) day.Line[inventory.Tri] {
	out := day.Constant(inventory.No)
	j := r.Of(Key{Requirement: rule.Requirement, Subject: subject})
	if j == nil {
		return out
	}
	for _, rl := range j.Rules {
		if rl.Rule == rule {
			out = day.Map(rl.Line, func(verdict *Verdict) inventory.Tri {
				switch verdict.Standing {
				case InOrder:
					return inventory.Yes
				case CannotTell:
					return inventory.Unknown
				default:
					return inventory.No
				}
			})
		}
	}
	return out
}

// liftLine takes out of a rule's line the days on which it is lifted. Where
// that cannot be told, in order stays and everything else cannot be told.
func (v *View) liftLine(rl *RuleLine, lifts []Lifting) {
	if len(lifts) == 0 {
		return
	}
	lifted := day.Constant(inventory.No)
	for _, l := range lifts {
		lifted = day.Combine(lifted, l.Line, inventory.Tri.Or)
	}
	before := rl.speaks()
	rl.counts = &counting{lifts: lifts}
	rl.counts.line = day.Combine(rl.Line, lifted, v.liftOn)
	rl.counts.speaks = day.Combine(before, lifted, func(speaks, lifted inventory.Tri) inventory.Tri { return speaks.And(lifted.Not()) })
}

func (v *View) liftOn(verdict *Verdict, lifted inventory.Tri) *Verdict {
	switch {
	case lifted == inventory.Yes:
		return notApplicable
	case lifted == inventory.No || verdict.Standing == NotApplicable || verdict.Standing == InOrder:
		return verdict
	default:
		out := *verdict
		out.Standing, out.State = CannotTell, LiftUnknown
		return v.in.Of(out)
	}
}

// silence lets guidance count only on days on which neither law nor house
// speaks. Where it cannot be told whether they do, guidance may be what
// counts: its in order stays, and everything else cannot be told.
func (v *View) silence(j *Judgement) {
	if !slices.ContainsFunc(j.Rules, func(rl RuleLine) bool { return rl.Rule.Layer == Guidance }) {
		return
	}
	spoken := day.Constant(inventory.No)
	for _, rl := range j.Rules {
		if rl.Rule.Layer != Guidance {
			spoken = day.Combine(spoken, rl.speaks(), inventory.Tri.Or)
		}
	}
	if spoken.Always(inventory.No) {
		return
	}
	alone := day.Map(spoken, inventory.Tri.Not)
	for i := range j.Rules {
		if rl := &j.Rules[i]; rl.Rule.Layer == Guidance {
			rl.counts = &counting{line: day.Combine(rl.Line, alone, v.apply), speaks: day.Combine(rl.speaks(), alone, inventory.Tri.And)}
		}
	}
}

// WhyDoubtful tells for want of what it is unknown on a day whether the rule is
// lifted.
func (r RuleLine) WhyDoubtful(on day.Day) (reasons []Reason) {
	for _, l := range r.LiftedOn(on) {
		if l.Line.At(on) != inventory.Unknown {
			continue
		}
		reasons = append(reasons, Because("lift-doubtful", "rule", l.By.ID, "exemption", l.Ground(),
			"citation", l.Citation.Text, "certainty", l.Citation.Certainty.Words()))
		for _, name := range l.Missing {
			reasons = append(reasons, Because("attribute-missing", "attribute", name))
		}
	}
	return reasons
}

// Ground names that by which a lift lifts: the exemption, or preemption.
func (l *Lift) Ground() string {
	if l.How == Preempts {
		return "preemption"
	}
	return l.Exemption
}
