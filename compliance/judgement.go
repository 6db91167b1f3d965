package compliance

import (
	"cmp"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// RuleLine is what one rule alone says of a duty.
type RuleLine struct {
	Rule   *Rule
	Line   Line      // by itself
	counts *counting // nil where the whole of it counts; see Counted
}

// Judgement is what all rules together say about one key.
type Judgement struct {
	Key    Key
	Sites  day.Line[inventory.ID]
	Law    Line // AND of the law rules
	Policy Line // AND of house rules, and of guidance where neither law nor house speaks
	Rules  []RuleLine
	alone  [1]RuleLine // the room of Rules: nearly always one
}

// join works out the law and the policy line from the rules' own lines.
// Parameters are never merged into a rule that nobody enacted.
func (r *Report) join(j *Judgement) {
	if len(j.Rules) == 1 { // nearly all
		j.Law, j.Policy = j.Rules[0].Counted(), day.Constant(notApplicable)
		if j.Rules[0].Rule.Layer != Law {
			j.Law, j.Policy = j.Policy, j.Law
		}
		return
	}
	r.View.silence(j)
	j.Law = j.and(func(l Layer) bool { return l == Law })
	j.Policy = j.and(func(l Layer) bool { return l != Law })
}

// and is the worst of the rules of some layers on each day. Of verdicts alike
// in standing and day the one of the severer rule stands, and then one that
// does not hang on the order of the rules or on their names.
func (j *Judgement) and(of func(Layer) bool) Line {
	all := day.Constant(notApplicable)
	for severity := Critical.Rank(); severity <= Notice.Rank(); severity++ {
		same := day.Constant(notApplicable)
		for _, rl := range j.Rules {
			if of(rl.Rule.Layer) && rl.Rule.Severity.Rank() == severity {
				same = anded(same, rl.Counted(), worseOfEquals)
			}
		}
		all = anded(all, same, worse)
	}
	return all
}

// anded joins two lines by one of the ways to choose the worse verdict.
func anded(a, b Line, worse func(a, b *Verdict) *Verdict) Line {
	switch {
	case a.Always(notApplicable):
		return b
	case b.Always(notApplicable):
		return a
	default:
		return day.Combine(a, b, worse)
	}
}

// Site gives the site whose days and offices count on a day: where the
// subject is, or else where it will be next, or else where it was last.
func (j *Judgement) Site(on day.Day) inventory.ID {
	if site := j.Sites.At(on); site != (inventory.ID{}) {
		return site
	}
	if _, site, ok := j.Sites.Next(on, func(id inventory.ID) bool { return id != inventory.ID{} }); ok {
		return site
	}
	last := j.Sites.First()
	for _, site := range j.Sites.Changes() {
		if site != (inventory.ID{}) {
			last = site
		}
	}
	return last
}

// At gives the verdict that counts on a day: the worse of law and policy, law
// first where they are alike.
func (j *Judgement) At(on day.Day) (*Verdict, Layer) {
	law, policy := j.Law.At(on), j.Policy.At(on)
	if v := worse(law, policy); v == law && law.Standing != NotApplicable {
		return law, Law
	}
	return policy, House
}

// Binding finds the rule that binds on a day: the one whose verdict counts.
func (j *Judgement) Binding(on day.Day) RuleLine {
	verdict, layer := j.At(on)
	var found RuleLine
	for _, r := range j.Rules {
		if (r.Rule.Layer == Law) != (layer == Law) || *r.Counted().At(on) != *verdict {
			continue
		}
		if found.Rule == nil || cmp.Or(r.Rule.Severity.Rank()-found.Rule.Severity.Rank(), rank(found.Rule.Layer)-rank(r.Rule.Layer)) < 0 {
			found = r
		}
	}
	if found.Rule == nil && len(j.Rules) > 0 {
		found = j.Rules[0]
	}
	return found
}

// Combined is the line of the verdict that counts.
func (j *Judgement) Combined() Line { return day.Combine(j.Law, j.Policy, worse) }

// Part is what a rule's answer counts for on a day.
type Part string

// The parts.
const (
	Binds      Part = "binds"
	Superseded Part = "superseded" // it counts, and another asks for more
	LiftedOut  Part = "lifted"     // by another law
	Silenced   Part = "silenced"   // guidance where law or house speaks
	Idle       Part = "idle"       // it does not apply
)

// PartOf says what part a rule of the judgement plays on a day.
func (j *Judgement) PartOf(rl RuleLine, on day.Day) Part {
	counted, own := rl.Counted().At(on), rl.Line.At(on)
	switch {
	case own.Standing == NotApplicable:
		return Idle
	case counted.Standing != NotApplicable && j.Binding(on).Rule == rl.Rule:
		return Binds
	case counted.Standing != NotApplicable:
		return Superseded
	case rl.Rule.Layer == Guidance:
		return Silenced
	default:
		return LiftedOut
	}
}

// Laxer gives the law above a rule that asks for more than it on a day; nil
// where the rule asks for as much, or is no law of a place below and no rule of
// the house. No such rule relaxes that law.
func (j *Judgement) Laxer(rl RuleLine, on day.Day) *Rule {
	own := rl.Counted().At(on)
	if own.Standing == NotApplicable || rl.Rule.Layer == Guidance {
		return nil
	}
	for _, other := range j.Rules {
		above := other.Rule.Layer == Law && (rl.Rule.Layer == House || rl.Rule.Area != other.Rule.Area && inventory.Within(rl.Rule.Area, other.Rule.Area))
		theirs := other.Counted().At(on)
		if above && theirs.Standing != NotApplicable && worse(own, theirs) == theirs && *theirs != *own {
			return other.Rule
		}
	}
	return nil
}
