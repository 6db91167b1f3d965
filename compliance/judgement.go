package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// RuleLine is what one rule alone says of a duty.
type RuleLine struct {
	Rule *Rule
	Line Line
}

// Judgement is what all rules together say about one key.
type Judgement struct {
	Key    Key
	Sites  day.Line[inventory.ID]
	Law    Line // AND of the law rules
	Policy Line // AND of house rules; of guidance where neither law nor house speaks
	Rules  []RuleLine
	alone  [1]RuleLine // the room of Rules: nearly always one
}

// join works out the law and the policy line from the rules' own lines.
// Parameters are never merged into a rule that nobody enacted.
func (j *Judgement) join() {
	if len(j.Rules) == 1 { // nearly all
		j.Law, j.Policy = j.Rules[0].Line, day.Constant(notApplicable)
		if j.Rules[0].Rule.Layer != Law {
			j.Law, j.Policy = j.Policy, j.Law
		}
		return
	}
	law, house, guidance := day.Constant(notApplicable), day.Constant(notApplicable), day.Constant(notApplicable)
	for _, r := range j.Rules {
		switch r.Rule.Layer {
		case Law:
			law = day.Combine(law, r.Line, worse)
		case House:
			house = day.Combine(house, r.Line, worse)
		case Guidance:
			guidance = day.Combine(guidance, r.Line, worse)
		}
	}
	spoken := day.Combine(law, house, worse)
	j.Law = law
	j.Policy = day.Combine(house, day.Combine(guidance, spoken, func(g, s *Verdict) *Verdict {
		if s.Standing != NotApplicable {
			return notApplicable
		}
		return g
	}), worse)
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
		if (r.Rule.Layer == Law) != (layer == Law) || *r.Line.At(on) != *verdict {
			continue
		}
		if found.Rule == nil || r.Rule.Severity.Rank() < found.Rule.Severity.Rank() {
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
