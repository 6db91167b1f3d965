package compliance

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestEachPaperIsItsOwnObligation is P7 and its kin: the paper that the law
// of the place asks for, by what the place is.
func TestEachPaperIsItsOwnObligation(t *testing.T) {
	const (
		zooExempt = "Dangerous Wild Animals Act 1976: zoos exempt (R2); precedence case P7 derived from it"
		and       = "50 CFR 10.3 (R): no permit relieves of another requirement; precedence statement 1"
	)
	zoo := rule("gb.zoo", "paper.zoo", "site", "permit", "{class: zoo-licence, match: [place]}", "    scope: site_use == \"zoo\"\n")
	wild := rule("gb.dwa", "paper.dwa", "animal", "permit", "{class: dwa-licence}", "    scope: venomous && site_use != \"zoo\"\n")
	for _, c := range []struct {
		name     string
		use      inventory.SiteUse
		classes  []string
		zoo, dwa Standing
		source   string
	}{
		{"a licensed zoo without the private keeper's licence", inventory.UseZoo, []string{"zoo-licence"}, InOrder, NotApplicable, zooExempt},
		{"the same animals at a private address", inventory.UsePrivate, []string{"zoo-licence"}, NotApplicable, OutOfOrder, zooExempt},
		{"a private address with the licence", inventory.UsePrivate, []string{"dwa-licence"}, NotApplicable, InOrder, zooExempt},
		{"a zoo with the private keeper's licence alone", inventory.UseZoo, []string{"dwa-licence"}, OutOfOrder, NotApplicable, and},
		{"nobody recorded what the place is, no papers", "", nil, CannotTell, CannotTell, "definition of this project: applicability unknown"},
		{"nobody recorded what the place is, both papers", "", []string{"zoo-licence", "dwa-licence"}, InOrder, InOrder, "definition of this project: applicability unknown"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			h.site.Use, h.site.Jurisdiction = c.use, inventory.Always("gb/eaw")
			h.put(Record(h.site))
			a := h.animal(h.species("Vipera berus", "Viperidae"))
			for _, class := range c.classes {
				p := h.permit(class, day.Until(d("2027-12-31")))
				p.Class = class
				h.put(Record(p))
			}
			r := Evaluate(book(t, "law", "gb", zoo+wild), h.snapshot(), Ask{Now: noon})
			for key, want := range map[Key]Standing{{Requirement: "paper.zoo", Subject: h.site.Ref()}: c.zoo, {Requirement: "paper.dwa", Subject: a.Ref()}: c.dwa} {
				got := NotApplicable
				if j := r.Of(key); j != nil {
					got = j.Law.At(d("2026-06-15")).Standing
				}
				if got != want {
					t.Errorf("%s: %s, want %s (%s)", key.Requirement, got, want, c.source)
				}
			}
		})
	}
}

// TestTwoLawsTwoPapers: of a federal and a state requirement of one class
// each is judged alone; the state's permit stands under both or under one.
func TestTwoLawsTwoPapers(t *testing.T) {
	const source = "50 CFR 10.3 (R), 13.22(a) (R); precedence case P10: a lower law that is laxer relaxes nothing"
	b := books(t, pack("us", "law", "us", rule("us.a", "paper", "animal", "permit", "{class: keep, renewal: {lead: 30 days}}")),
		pack("fl", "law", "us/fl", rule("fl.a", "paper", "animal", "permit", "{class: keep, renewal: {lead: 15 days}}")))
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	h.put(Record(h.permit("P", day.Until(d("2026-12-31")))))
	j := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "paper", Subject: a.Ref()})
	on := d("2026-06-15")
	if got := j.Law.At(on).Step.Legal; got != d("2026-12-01") || j.Binding(on).Rule.ID != "us.a" || len(j.Rules) != 2 {
		t.Errorf("legally by %s, %s binds of %d rules; want 2026-12-01 by us.a of 2 (%s)", got, j.Binding(on).Rule.ID, len(j.Rules), source)
	}
}

// TestTermsOfLicences: what is good on the last day, and not on the next.
func TestTermsOfLicences(t *testing.T) {
	for _, c := range []struct {
		name, from, last, source string
	}{
		{"two years beginning with the day of the grant", "2026-03-10", "2028-03-09", "SI 2010/839 (R2), the earlier reading, date D"},
		{"four years beginning with the date", "2023-06-01", "2027-05-31", "Zoo Licensing Act 1981 s.5(1) (R), date D"},
		{"four years beginning with the date, over a leap year", "2022-09-01", "2026-08-31", "Zoo Licensing Act 1981 s.5(1) (R), date D"},
		{"limited entry of fifteen consecutive days", "2026-06-01", "2026-06-15", "510 ILCS 68/65-5, P.A. 103-363 (R), date D"},
		{"an export permit of six months", "2026-08-31", "2027-02-28", "50 CFR 23.54 (R), month's end clamped, date D"},
		{"an import permit of twelve months", "2026-02-28", "2027-02-28", "50 CFR 23.54 (R), date D"},
		{"E3: a paper valid to 15 March", "2025-03-16", "2026-03-15", "worked example E3 of this project's job description, common practice, no source"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			p := h.permit("P", day.Until(d(c.last)))
			p.Issued, p.From = d(c.from), d(c.from)
			h.put(Record(p))
			line := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part23)), h.snapshot(), "paper", a.Ref())
			for on, want := range map[day.Day]Code{d(c.from) - 1: NoPaper, d(c.from): InForce, d(c.last): InForce, d(c.last) + 1: Lapsed} {
				if got := line.At(on).State; got != want {
					t.Errorf("%s: %s, want %s (%s)", on, got, want, c.source)
				}
			}
		})
	}
}

// TestVialsForOneVictim: how many vials are enough for one victim, and that
// one fewer is not.
func TestVialsForOneVictim(t *testing.T) {
	for _, c := range []struct {
		name, species string
		full          int
		source        string
	}{
		{"ST-1: crotalid Fab over 8 hours", "Crotalus atrox", 12, "Ann Emerg Med 2018;71:314, doi 10.1016/j.annemergmed.2017.05.021 (R2)"},
		{"ST-1 and AV-2: crotalid Fab over 24 hours", "Crotalus atrox", 18, "the same (R2), and drug monograph 2020 (R) computed: (6+6)+3x2"},
		{"AV-4: crotalid F(ab')2 with one repeat and one late dose", "Crotalus adamanteus", 24, "drug monograph (R), computed 10+10+4"},
		{"AV-13: European viper F(ab')2, neurotoxic, all repeats", "Vipera aspis", 7, "joint clinical practice guideline CPG 81, 2020 (R2), computed 2+5x1"},
		{"AV-11: Thai monovalent after one repeat", "Calloselasma rhodostoma", 6, "Thai Pharmacopoeia (R), computed 2x3"},
		{"P12: Indian polyvalent, the most for neurotoxic bites", "Naja naja", 20, "package inserts and national treatment guideline (R)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for vials, want := range map[int]Code{c.full: Covered, c.full - 1: Short} {
				s := newShelf(t)
				sp := s.species(c.species, "")
				s.covers("product", sp, inventory.Indicated, 0, c.full)
				s.lot("product", "L", vials, day.Until(d("2030-01-31")))
				s.animal(sp)
				if got := s.cover(sp).At(d("2026-06-15")).State; got != want {
					t.Errorf("%d vials: %s, want %s (%s)", vials, got, want, c.source)
				}
			}
		})
	}
}
