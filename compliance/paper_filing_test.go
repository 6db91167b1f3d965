package compliance

import (
	"testing"

	"antidotary/inventory/day"
)

// TestPostOrHandIn: the two last days of one renewal.
func TestPostOrHandIn(t *testing.T) {
	for _, c := range []struct {
		name, renewal      string
		post               int
		by, posted, handed string
		source             string
	}{
		{"E1", "{lead: 30 days}", 5, "2026-05-21", "2026-05-21", "2026-05-29", "worked example E1 of this project's job description, common practice, no source"},
		{"E1 with a margin of the house", "{lead: 30 days, margin_days: 7}", 5, "2026-05-14", "2026-05-21", "2026-05-29", "E1, and a week before it"},
		{"E1 where posting counts", "{lead: 30 days, counts: posting}", 5, "2026-05-29", "2026-05-29", "2026-05-29", "E1 without post"},
		{"E1 without post", "{lead: 30 days}", 0, "2026-05-29", "2026-05-29", "2026-05-29", "E1 without post"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			h.auth.PostDays = c.post
			p := h.permit("P", day.Until(d("2026-06-30")))
			h.put(Record(h.auth), Record(p))
			r := Evaluate(book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep, renewal: "+c.renewal+"}")), h.snapshot(), Ask{Now: noon})
			j := r.Of(Key{Requirement: "paper", Subject: a.Ref()})
			step := j.Law.At(d("2026-04-01")).Step
			got := r.FilingOf(j.Rules[0].Rule, step)
			if step.By != d(c.by) || got.Post != d(c.posted) || got.HandIn != d(c.handed) {
				t.Errorf("act by %s, post by %s, hand in by %s; want %s, %s, %s (%s)", step.By, got.Post, got.HandIn, c.by, c.posted, c.handed, c.source)
			}
			step.Do = ObtainPaper
			if got := r.FilingOf(j.Rules[0].Rule, step); got != (Filing{}) {
				t.Errorf("of another step: %+v", got)
			}
		})
	}
}

// TestFilingOfOtherRules: an exemption's paper, and a paper that no rule asks
// for, are filed too.
func TestFilingOfOtherRules(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	h.auth.PostDays = 5
	p, other := h.permit("P", day.Until(d("2026-06-30"))), h.permit("O", day.Until(d("2026-06-30")))
	other.Class = "other"
	h.put(Record(h.auth), Record(p), Record(other))
	r := Evaluate(book(t, "law", "us", rule("test.r", "held", "animal", "prohibit", "{unless: [{citation: c, paper: {class: keep, renewal: {lead: 30 days}}}]}")), h.snapshot(), Ask{Now: noon})
	for _, c := range []struct {
		key          Key
		post, handIn string
	}{
		{Key{Requirement: "held", Subject: a.Ref()}, "2026-05-21", "2026-05-29"},
		{Key{Requirement: "paper.kept", Subject: other.Ref()}, "2026-04-24", "2026-05-01"},
	} {
		j := r.Of(c.key)
		verdict, _ := j.At(d("2026-03-01"))
		if got := r.FilingOf(j.Binding(d("2026-03-01")).Rule, verdict.Step); got != (Filing{d(c.post), d(c.handIn)}) {
			t.Errorf("%v: %+v for %+v", c.key, got, verdict.Step)
		}
	}
	if got := r.FilingOf(nil, Step{Do: FileRenewal, Instance: p.Ref()}); got != (Filing{}) {
		t.Errorf("of no rule: %+v", got)
	}
}
