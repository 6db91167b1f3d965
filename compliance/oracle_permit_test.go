package compliance

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// The oracle answers for one single day, straight from the definitions, with
// no thought for lines. base is the first day of the stretch in which
// everything random happens.
var base = d("2026-03-01")

const stretch = 40

func anyDay(t *rapid.T, label string) day.Day {
	return base.Add(rapid.IntRange(0, stretch).Draw(t, label))
}

// sometimes draws a day, or none.
func sometimes(t *rapid.T, label string) day.Day {
	if rapid.Bool().Draw(t, label+"?") {
		return anyDay(t, label)
	}
	return 0
}

func anyTri(t *rapid.T, label string) inventory.Tri {
	return inventory.Tri(rapid.IntRange(0, 2).Draw(t, label))
}

func anyEnd(t *rapid.T, label string) day.End {
	switch rapid.IntRange(0, 4).Draw(t, label+" kind") {
	case 0:
		return day.End{}
	case 1:
		return day.Forever()
	default:
		return day.Until(anyDay(t, label))
	}
}

func anyPermit(t *rapid.T, h *house, number string) Permit {
	p := h.permit(number, day.End{})
	p.From, p.Issued = sometimes(t, "from"), sometimes(t, "issued")
	p.Expires = anyEnd(t, "expires")
	if last, ok := p.Expires.Known(); ok && last < p.Start() {
		p.Expires = day.Until(p.Start())
	}
	p.Renewable = anyTri(t, "renewable")
	p.Revoked = 0
	if rapid.IntRange(0, 6).Draw(t, "revoked?") == 0 {
		p.Revoked = anyDay(t, "revoked")
	}
	if rapid.IntRange(0, 6).Draw(t, "surrendered?") == 0 {
		p.Surrendered = anyDay(t, "surrendered")
	}
	for range rapid.IntRange(0, 2).Draw(t, "suspensions") {
		s := Suspension{From: anyDay(t, "suspended")}
		if rapid.Bool().Draw(t, "lifted?") {
			s.Lifted = s.From.Add(rapid.IntRange(0, 30).Draw(t, "lifted after"))
		}
		p.Suspensions = append(p.Suspensions, s)
	}
	for range rapid.IntRange(0, 2).Draw(t, "applications") {
		a := Application{Posted: sometimes(t, "posted"), Received: sometimes(t, "received"), Deficient: sometimes(t, "deficient"), Decided: sometimes(t, "decided")}
		if !a.Decided.IsZero() {
			a.Outcome = rapid.SampledFrom([]Outcome{Granted, Refused}).Draw(t, "outcome")
		}
		p.Applications = append(p.Applications, a)
	}
	if rapid.IntRange(0, 3).Draw(t, "holder unknown") == 0 {
		p.Holder = inventory.Ref{}
	}
	if rapid.IntRange(0, 3).Draw(t, "place unknown") == 0 {
		p.Sites = nil
	}
	return p
}

// happened says that an event has come by a day.
func happened(event, on day.Day) bool { return event != 0 && event <= on }

// naivePaper says what one paper is worth on one day, or "" for nothing.
func naivePaper(p Permit, all []Permit, k permitTerms, letGo []Decision, on day.Day) Standing {
	if happened(p.Revoked, on) || happened(p.Surrendered, on) || naiveSuspended(p, on) {
		return OutOfOrder
	}
	begin := p.From
	if begin == 0 {
		begin = p.Issued
	}
	if begin == 0 {
		return CannotTell
	}
	if on < begin {
		return NotApplicable
	}
	if p.Expires.Kind == day.Unknown {
		return CannotTell
	}
	if p.Expires.Kind == day.Never || on <= p.Expires.On {
		return InOrder
	}
	return naiveAfter(p, all, k, letGo, on)
}

func naiveSuspended(p Permit, on day.Day) bool {
	for _, s := range p.Suspensions {
		lifted := s.Lifted != 0 && on >= s.Lifted && on > s.From
		if on >= s.From && !lifted {
			return true
		}
	}
	return false
}

// permitTerms are the parameters of the rule.
type permitTerms struct {
	lead    int
	posting bool
	means   pending
}

func naiveAfter(p Permit, all []Permit, k permitTerms, letGo []Decision, on day.Day) Standing {
	takenOver, recorded := false, false // without a gap, or at all
	for _, next := range all {
		start := next.From
		if start == 0 {
			start = next.Issued
		}
		if next.Renews == p.ID && start != 0 && start <= p.Expires.On+1 {
			takenOver = true
		}
		recorded = recorded || next.Renews == p.ID
	}
	var app *Application
	for i := range p.Applications {
		if happened(p.Applications[i].Posted, on) || happened(p.Applications[i].Received, on) {
			app = &p.Applications[i]
		}
	}
	if app == nil && takenOver {
		return NotApplicable
	}
	for _, dec := range letGo {
		if dec.Subject == p.Ref() && dec.On <= on && (dec.Last == 0 || on <= dec.Last) {
			return OutOfOrder
		}
	}
	switch {
	case app == nil:
		return OutOfOrder
	case happened(app.Decided, on) && app.Outcome == Refused:
		return OutOfOrder
	case happened(app.Decided, on) && recorded:
		return NotApplicable
	case happened(app.Decided, on):
		return CannotTell // granted, and the new paper is not recorded
	case k.means != continues || happened(app.Deficient, on) || p.Renewable == inventory.No:
		return OutOfOrder
	}
	deadline := p.Expires.On.Add(-k.lead)
	counts := app.Received
	if k.posting && app.Posted != 0 && (app.Received == 0 || app.Posted < app.Received) {
		counts = app.Posted
	}
	switch {
	case !happened(counts, on) && app.Posted <= deadline:
		return CannotTell // posted in time, no receipt
	case !happened(counts, on) || counts > deadline || naiveSuspended(p, counts):
		return OutOfOrder
	case p.Renewable == inventory.Unknown:
		return CannotTell
	default:
		return InOrder
	}
}

// naiveDuty is the best paper alone, in the house's hands and for the site.
func naiveDuty(papers []Permit, k permitTerms, letGo []Decision, on day.Day) Standing {
	best := NotApplicable
	for _, p := range papers {
		s := naivePaper(p, papers, k, letGo, on)
		if s == InOrder && (p.Holder.IsZero() || len(p.Sites) == 0) {
			s = CannotTell
		}
		if best == NotApplicable || s != NotApplicable && s < best {
			best = s
		}
	}
	if best == NotApplicable {
		return OutOfOrder
	}
	return best
}

func TestPermitAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		a := h.animal(h.species("Naja kaouthia", "Elapidae"))
		author := Person{ID: inventory.NewID(), Called: "Head"}
		h.put(Record(author))
		k := permitTerms{lead: rapid.IntRange(2, 15).Draw(t, "lead"), posting: rapid.Bool().Draw(t, "posting counts"),
			means: rapid.SampledFrom([]pending{continues, notEnough, voided}).Draw(t, "pending means")}
		var papers []Permit
		for i := range rapid.IntRange(1, 3).Draw(t, "papers") {
			p := anyPermit(t, h, fmt.Sprint("P", i))
			if i > 0 && rapid.Bool().Draw(t, "renews") {
				p.Renews = papers[i-1].ID
			}
			papers = append(papers, p)
			h.put(Record(p))
		}
		var letGo []Decision
		if rapid.IntRange(0, 3).Draw(t, "let go") == 0 {
			dec := Decision{ID: inventory.NewID(), Ruling: WillNotRenew, Subject: papers[0].Ref(), By: author.ID, On: anyDay(t, "decided to let go"), Why: "w", Consequence: "c"}
			letGo = append(letGo, dec)
			h.put(Record(dec))
		}
		counts := "receipt"
		if k.posting {
			counts = "posting"
		}
		params := fmt.Sprintf(`{class: keep, renewal: {lead: %d days, counts: %s}, pending: {means: %s, citation: "c"}}`, k.lead, counts, k.means)
		s, err := h.batch.Apply(&Snapshot{})
		if err != nil {
			t.Skip(err) // a random record that the records themselves refuse
		}
		line := lineOf(discard{}, book(discard{}, "law", "us", rule("test.r", "paper", "animal", "permit", params)), s, "paper", a.Ref())
		for on := base - 10; on <= base.Add(stretch+50); on++ {
			if got, want := line.At(on), naiveDuty(papers, k, letGo, on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\npapers %+v\nrule %s", on, got.Standing, got.State, want, papers, params)
			}
		}
	})
}

// discard is a testing.TB for builders used inside of rapid's own loop: what
// goes wrong there panics.
type discard struct{ testing.TB }

func (discard) Helper()           {}
func (discard) Fatal(args ...any) { panic(fmt.Sprint(args...)) }
func (discard) Fatalf(format string, args ...any) {
	panic(fmt.Sprintf(format, args...))
}
