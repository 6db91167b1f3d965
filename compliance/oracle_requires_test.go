package compliance

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// asksFor is a prerequisite of a rule, as the test writes it.
type asksFor struct {
	throughout bool
	lead       int // days
}

func (r asksFor) text() string {
	if r.throughout {
		return "{class: cover, at: throughout, citation: c}"
	}
	return fmt.Sprintf("{class: cover, at: filing, lead: %s}", day.Span{Days: r.lead})
}

// naivePending says that a paper is past its last day on a day, and that an
// application for it had come and was not decided.
func naivePending(q Permit, on day.Day) bool {
	if happened(q.Revoked, on) || happened(q.Surrendered, on) || naiveSuspended(q, on) || q.Start() == 0 || on < q.Start() || q.Expires.Kind != day.Known || on <= q.Expires.On {
		return false
	}
	pending := false
	for _, a := range q.Applications {
		if happened(a.Posted, on) || happened(a.Received, on) {
			pending = !happened(a.Decided, on)
		}
	}
	return pending
}

// naiveThere says whether the paper p has its prerequisite among the covers on
// a day.
func naiveThere(p Permit, covers []Permit, on day.Day) inventory.Tri {
	best := inventory.No
	for _, q := range covers {
		if p.Holder != q.Holder && !p.Holder.IsZero() && !q.Holder.IsZero() {
			continue
		}
		is := inventory.No
		switch s := naivePaper(q, covers, permitTerms{means: notEnough}, nil, on); {
		case naivePending(q, on) || s == CannotTell:
			is = inventory.Unknown
		case s == InOrder && (p.Holder.IsZero() || q.Holder.IsZero() || len(q.Sites) == 0):
			is = inventory.Unknown
		case s == InOrder:
			is = inventory.Yes
		}
		best = best.Or(is)
	}
	return best
}

// naiveReady says whether an application of a day meets a prerequisite: some
// day that is the lead or more before, and on each day since then it was there.
func naiveReady(p Permit, covers []Permit, lead int, on day.Day) inventory.Tri {
	since := inventory.Yes
	for at := on; at >= on.Add(-lead); at-- {
		since = since.And(naiveThere(p, covers, at))
	}
	return since
}

// naiveRequiring is what the paper is worth with what it requires.
func naiveRequiring(p Permit, covers []Permit, k permitTerms, needs []asksFor, on day.Day) Standing {
	s := naivePaper(p, []Permit{p}, k, nil, on)
	for _, r := range needs {
		if !r.throughout || s == NotApplicable || s == OutOfOrder {
			continue
		}
		switch naiveThere(p, covers, on) {
		case inventory.No:
			return OutOfOrder
		case inventory.Unknown:
			s = CannotTell
		}
	}
	if s == InOrder && (p.Holder.IsZero() || len(p.Sites) == 0) {
		return CannotTell
	}
	if s == NotApplicable {
		return OutOfOrder
	}
	return s
}

func TestRequiresAgreesWithItsOracle(t *testing.T) {
	first, bound := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		a := h.animal(h.species("Naja kaouthia", "Elapidae"))
		keeper := Person{ID: inventory.NewID(), Called: "Ada Fern"}
		h.put(Record(keeper))
		k := permitTerms{lead: rapid.IntRange(0, 15).Draw(t, "lead"), means: rapid.SampledFrom([]pending{continues, notEnough}).Draw(t, "pending means")}
		p := anyPermit(t, h, "P")
		p.Class = "keep"
		h.put(Record(p))
		var covers []Permit
		for i := range rapid.IntRange(0, 3).Draw(t, "covers") {
			q := anyPermit(t, h, fmt.Sprint("Q", i))
			q.Class = "cover"
			if rapid.IntRange(0, 4).Draw(t, "of somebody else") == 0 {
				q.Holder = keeper.Ref()
			}
			if i > 0 && rapid.Bool().Draw(t, "renews") {
				q.Renews = covers[i-1].ID
			}
			covers = append(covers, q)
			h.put(Record(q))
		}
		var needs []asksFor
		var texts []string
		for i, throughout := range rapid.SampledFrom([][]bool{{false}, {true}, {false, true}}).Draw(t, "needs") {
			needs = append(needs, asksFor{throughout: throughout, lead: rapid.IntRange(0, 9).Draw(t, "lead of it")})
			texts = append(texts, needs[i].text())
		}
		params := fmt.Sprintf(`{class: keep, renewal: {lead: %s}, pending: {means: %s, citation: "c"}`, day.Span{Days: k.lead}, k.means)
		s, err := h.batch.Apply(&Snapshot{})
		if err != nil {
			t.Skip(err)
		}
		line := lineOf(discard{}, book(discard{}, "law", "us", rule("test.r", "paper", "animal", "permit", params+", requires: ["+strings.Join(texts, ", ")+"]}")), s, "paper", a.Ref())
		plain := lineOf(discard{}, book(discard{}, "law", "us", rule("test.r", "paper", "animal", "permit", params+"}")), s, "paper", a.Ref())
		for on := base - 10; on <= base.Add(stretch+50); on++ {
			got, want := line.At(on), naiveRequiring(p, covers, k, needs, on)
			if got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\npaper %+v\ncovers %+v\nrule %s %v", on, got.Standing, got.State, want, p, covers, params, texts)
			}
			if got.State == PrerequisiteMissing || got.State == PrerequisiteUnknown {
				bound++
			}
			if len(needs) != 1 || needs[0].throughout {
				continue
			}
			own := plain.At(on)
			if got.Standing != own.Standing || got.State != own.State {
				t.Fatalf("%s: what filing needs made %s (%s) into %s (%s)", on, own.Standing, own.State, got.Standing, got.State)
			}
			if why := naiveStep(p, covers, needs[0], own, got, on); why != "" {
				t.Fatalf("%s: %s: %+v, without what it requires %+v\npaper %+v\ncovers %+v\nrule %s %v", on, why, got.Step, own.Step, p, covers, params, texts)
			}
			if got.Step != own.Step {
				first++
			}
		}
	})
	if first == 0 || bound == 0 {
		t.Errorf("%d steps came first, %d papers were bound: nothing is proved", first, bound)
	}
}

// naiveStep says what is wrong with a step on a day, beside the step that the
// rule would give if it required nothing.
func naiveStep(p Permit, covers []Permit, r asksFor, own, got *Verdict, on day.Day) string {
	if own.Step.Do != FileRenewal && own.Step.Do != ObtainPaper {
		if got.Step != own.Step {
			return "another step changed"
		}
		return ""
	}
	if own.State == NoPaper { // whose it would be is not known here
		if got.Step.By != 0 {
			return "it is to be done at once"
		}
		return ""
	}
	switch ready := naiveReady(p, covers, r.lead, max(on, own.Step.By)); {
	case ready == inventory.Yes && got.Step != own.Step:
		return "it is ready, and something else comes first"
	case ready == inventory.Yes:
		return ""
	case ready == inventory.Unknown && got.Step.Do != CompleteRecord:
		return "nobody knows whether it is ready, and nobody is told to find out"
	case ready == inventory.No && got.Step.Do != RenewPrerequisite && got.Step.Do != ObtainPrerequisite:
		return "it is not ready, and nothing comes first"
	case own.Step.By == 0 && got.Step.By != 0:
		return "it is to be done at once"
	case own.Step.By == 0:
		return ""
	case got.Step.By > own.Step.By:
		return "it comes later than what it is for"
	}
	from := own.Step.By.Add(-r.lead)
	if there := naiveThere(p, covers, from); there != inventory.Yes && got.Step.By > from {
		return "it comes too late for its lead"
	}
	for at := from; at <= own.Step.By; at++ { // it must be renewed before it ends
		if naiveThere(p, covers, at) == inventory.No && got.Step.By >= at && naiveThere(p, covers, at-1) == inventory.Yes && !eventOn(covers, at) {
			return "it comes after the end of what is in force"
		}
	}
	return ""
}

// eventOn says that something befell one of some papers on a day, which nobody
// could have renewed away.
func eventOn(papers []Permit, on day.Day) bool {
	for _, p := range papers {
		if p.Revoked == on || p.Surrendered == on || p.Start() == on {
			return true
		}
		for _, s := range p.Suspensions {
			if s.From == on {
				return true
			}
		}
	}
	return false
}
