package compliance

import (
	"fmt"
	"slices"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// CaseResult is what the real judging says of a case.
type CaseResult struct {
	Pack *Pack
	Case *Case
	// Wrong is why it could not be judged at all; empty: it was.
	Wrong   string
	Answers []CaseAnswer // one for each expectation
}

// CaseAnswer is one answer beside what was expected.
type CaseAnswer struct {
	Want    Expect
	Got     Verdict
	Reasons []Reason // facts behind what was got
	Rules   []string // ids of the rules that met
	// Others are the occurrences that are asked of the subject on the day, where
	// what was expected is none of them.
	Others  []string
	Differs []string // fields that are not as expected; none: as expected
}

// Holds says whether every answer is as expected.
func (r *CaseResult) Holds() bool {
	return r.Wrong == "" && !slices.ContainsFunc(r.Answers, func(a CaseAnswer) bool { return len(a.Differs) > 0 })
}

// RunCases judges all tests of a pack, with the packs that they name from the
// rulebook.
func (b *Rulebook) RunCases(p *Pack) (all []CaseResult) {
	for _, c := range p.Cases {
		all = append(all, b.runCase(p, c))
	}
	return all
}

// only is a rulebook of a few packs.
func (b *Rulebook) only(packs ...*Pack) *Rulebook {
	out := &Rulebook{Holidays: b.Holidays, Packs: packs}
	out.settle() // of packs that are settled already
	return out
}

func (b *Rulebook) runCase(p *Pack, c *Case) CaseResult {
	out := CaseResult{Pack: p, Case: c}
	packs := []*Pack{p}
	for _, name := range c.With {
		at := slices.IndexFunc(b.Packs, func(other *Pack) bool { return other.Name == name })
		if at < 0 {
			out.Wrong = fmt.Sprintf("with: no pack %q is loaded or among the files; give its file or folder too, such as: antidotary rules test FOLDER", name)
			return out
		}
		if b.Packs[at].Name != p.Name {
			packs = append(packs, b.Packs[at])
		}
	}
	book := b.only(packs...)
	var l *ladder.Ladder
	if pack := book.LadderAt(c.Facts.Law); pack != nil {
		l = pack.Ladder
	} else if needs := c.Facts.withoutLadder(); needs != "" {
		out.Wrong = fmt.Sprintf("%s: no pack of this test has a ladder for its law, so nothing says what anybody may handle; name one, such as: with: [ladder]", needs)
		return out
	}
	s, err := c.Facts.records(c.Day, l).Apply(&Snapshot{})
	if err != nil {
		out.Wrong = fmt.Sprintf("facts: %v", err)
		return out
	}
	now := day.StartOf(c.Day, time.UTC).Add(12 * time.Hour)
	s.Pulse.Swept = now
	report := Evaluate(book, s, Ask{Now: now, On: c.Day, Assumptions: inventory.Assumptions{Plans: c.Come}})
	for _, want := range c.Expects {
		out.Answers = append(out.Answers, c.answer(report, want))
	}
	return out
}

func (c *Case) answer(r *Report, want Expect) CaseAnswer {
	a := CaseAnswer{Want: want}
	subject, _ := c.Facts.subject(want.Subject) // read, and so known
	key := Key{Requirement: want.Requirement, Subject: subject, Occurrence: want.Occurrence}
	j := r.Of(key)
	if j == nil {
		a.Others = occurrences(r, key, c.Day)
		a.compare()
		return a
	}
	verdict, _ := j.At(c.Day)
	a.Got, a.Reasons = *verdict, r.Why(j, c.Day)
	if want.Rule != "" {
		a.Got, a.Reasons = Verdict{}, nil
	}
	for _, rl := range j.Rules {
		a.Rules = append(a.Rules, rl.Rule.ID)
		if rl.Rule.ID == want.Rule {
			a.Got, a.Reasons = *rl.Line.At(c.Day), r.WhyRule(rl.Rule, key, c.Day)
		}
	}
	a.compare()
	return a
}

// occurrences lists what is asked of a subject on a day under a requirement.
func occurrences(r *Report, key Key, on day.Day) (all []string) {
	for _, j := range r.Judgements {
		if j.Key.Requirement != key.Requirement || j.Key.Subject != key.Subject || j.Key.Occurrence == "" {
			continue
		}
		if verdict, _ := j.At(on); verdict.Standing != NotApplicable {
			all = append(all, j.Key.Occurrence)
		}
	}
	slices.Sort(all)
	return all
}

// compare notes what differs. That nothing is asked of a subject of which
// occurrences are asked, without saying which, is no expectation that can hold.
func (a *CaseAnswer) compare() {
	differs := func(field string, is bool) {
		if is {
			a.Differs = append(a.Differs, field)
		}
	}
	differs("standing", a.Got.Standing != a.Want.Standing)
	differs("occurrence", a.Want.Occurrence == "" && len(a.Others) > 0)
	differs("state", a.Want.State != "" && a.Got.State != a.Want.State)
	differs("by", !a.Want.By.IsZero() && a.Got.Step.By != a.Want.By)
	differs("legal", !a.Want.Legal.IsZero() && a.Got.Step.Legal != a.Want.Legal)
}
