package compliance

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestProhibitionWins is P6, and what it rests on: a valid permit helps
// nobody unless the law that prohibits names it.
func TestProhibitionWins(t *testing.T) {
	const zoo = `{unless: [{citation: "licensed zoo or research", scope: 'site_use in ["zoo", "research"]'}]}`
	const atrox = "    scope: species == \"Crotalus atrox\"\n"
	for _, c := range []struct {
		name, species, params, scope string
		use                          inventory.SiteUse
		want                         Code
		source                       string
	}{
		{"a private keeper with a valid local permit", "Naja kaouthia", zoo, "", inventory.UsePrivate, Prohibited, "P6; 3 Del. C. 7201: no permit shall be issued, except research or licensed zoo (R)"},
		{"a zoo is in the state's own exemption", "Naja kaouthia", zoo, "", inventory.UseZoo, ExemptByLaw, "P6; 3 Del. C. 7201 (R)"},
		{"what the site is is not recorded", "Naja kaouthia", zoo, "", "", ExemptionUnknown, "P6, and unknown never reads as in order"},
		{"a rattlesnake of the closed list", "Crotalus atrox", "{}", atrox, inventory.UsePrivate, Prohibited, "510 ILCS 68/10-20 (R): Crotalus atrox is excluded from private permits"},
		{"another rattlesnake", "Crotalus horridus", "{}", atrox, inventory.UsePrivate, "", "510 ILCS 68/10-20 (R)"},
	} {
		h := newHouse(t).lists()
		h.site.Use = c.use
		a := h.animal(h.species(c.species, "Elapidae"))
		h.put(Record(h.site), Record(h.permit("P", day.Until(d("2027-12-31")))))
		b := books(t, pack("state", "law", "us", rule("state.r", "held", "animal", "prohibit", c.params, c.scope)),
			pack("city", "law", "us/fl", rule("city.r", "held", "animal", "permit", part13)))
		j := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "held", Subject: a.Ref()})
		got := notApplicable
		for _, r := range j.Rules {
			if r.Rule.ID == "state.r" {
				got = r.Line.At(d("2026-06-15"))
			}
		}
		if got.State != c.want {
			t.Errorf("%s: %s, %s; want %s (%s)", c.name, got.Standing, got.State, c.want, c.source)
		}
		if law := j.Law.At(d("2026-06-15")); law.Standing < got.Standing {
			t.Errorf("%s: the law line says %s (%s)", c.name, law.Standing, c.source)
		}
	}
}

// TestCityForbidsOneSpecies is E11: 45 held including one of a forbidden
// species; the state's limit is met and shown, the city's prohibition is law,
// the house's own limit policy.
func TestCityForbidsOneSpecies(t *testing.T) {
	const source = "worked example E11 of this project's job description, common practice, no source"
	h := newHouse(t).lists()
	sp := h.species("Naja kaouthia", "Elapidae")
	for range 44 {
		h.animal(sp)
	}
	z := h.animal(h.species("Bitis gabonica", "Viperidae"))
	b := books(t, pack("state", "law", "us", rule("state.r", "limit", "site", "limit", "{most: 50}")),
		pack("city", "law", "us/fl", rule("city.r", "held", "animal", "prohibit", "{}", "    scope: species == \"Bitis gabonica\"\n")),
		pack("house", "house", "", rule("house.r", "limit", "site", "limit", "{most: 40}")))
	r := Evaluate(b, h.snapshot(), Ask{Now: noon})
	limit, held := r.Of(Key{Requirement: "limit", Subject: h.site.Ref()}), r.Of(Key{Requirement: "held", Subject: z.Ref()})
	on := d("2026-06-15")
	if limit.Law.At(on).State != WithinLimit || limit.Policy.At(on).State != OverLimit || held.Law.At(on).State != Prohibited {
		t.Errorf("%s, %s, %s (%s)", limit.Law.At(on).State, limit.Policy.At(on).State, held.Law.At(on).State, source)
	}
}

// TestExemptByPaper: an exemption that asks for a paper lasts as long as the
// paper, and carries the step that keeps it.
func TestExemptByPaper(t *testing.T) {
	const params = `{unless: [{citation: "Moss by-law 4(2)", scope: 'site_use == "private"', paper: {class: keep, renewal: {lead: 30 days}}}]}`
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	h.put(Record(h.permit("P", day.Until(d("2026-12-31")))))
	b, s := book(t, "law", "us", rule("test.r", "held", "animal", "prohibit", params)), h.snapshot()
	line := lineOf(t, b, s, "held", a.Ref())
	if got := line.At(d("2026-12-31")); got.State != ExemptByLaw || got.Step.Do != FileRenewal || got.Step.Legal != d("2026-12-01") {
		t.Errorf("while it lasts: %+v", got)
	}
	if got := line.At(d("2027-01-01")); got.State != Prohibited || got.Step.Do != MoveOut {
		t.Errorf("a day later: %+v", got)
	}
	r := Evaluate(b, s, Ask{Now: noon})
	why := r.Why(r.Of(Key{Requirement: "held", Subject: a.Ref()}), d("2027-01-01"))
	if len(why) < 2 || why[0].Code != "exemption-paper" || why[1].Code != "paper-days" {
		t.Errorf("why: %v", why)
	}
}

// TestProhibitedIsToldAhead: of an animal that is planned, or recorded, to
// come, and of a rule that begins later, by the day before.
func TestProhibitedIsToldAhead(t *testing.T) {
	h := newHouse(t).lists()
	sp := h.species("Naja kaouthia", "Elapidae")
	here, coming := h.animal(sp), h.animal(sp)
	coming.Arrived, coming.Stays[0].From = d("2027-03-01"), d("2027-03-01")
	h.put(Record(coming))
	h.planned(inventory.PlanArrival, sp, "2027-05-12", 3)
	h.planned(inventory.PlanArrival, sp, "2027-05-12", 1) // the same day: one duty
	r := Evaluate(book(t, "law", "us", rule("test.r", "held", "animal", "prohibit", "{}", "    from: 2027-01-01\n")), h.snapshot(), Ask{Now: noon})
	for _, c := range []struct {
		name string
		key  Key
		on   string
	}{
		{"the rule begins", Key{Requirement: "held", Subject: here.Ref()}, "2027-01-01"},
		{"the animal comes", Key{Requirement: "held", Subject: coming.Ref()}, "2027-03-01"},
		{"animals are planned", Key{"held", inventory.Holding(sp.ID, h.site.ID), "2027-05-12"}, "2027-05-12"},
	} {
		j := r.Of(c.key)
		if j == nil {
			t.Errorf("%s: nothing was judged", c.name)
			continue
		}
		before, then := j.Law.At(d(c.on)-1), j.Law.At(d(c.on))
		if before.Standing != InOrder || before.Step.Do != KeepOut || before.Step.By != d(c.on)-1 {
			t.Errorf("%s, the day before: %+v", c.name, before)
		}
		if then.Standing != OutOfOrder || then.Step.Do != MoveOut {
			t.Errorf("%s, on the day: %+v", c.name, then)
		}
		if why := r.Why(j, d("2026-06-15")); !slices.ContainsFunc(why, func(r Reason) bool { return r.Code == "exemption-none" }) {
			t.Errorf("%s: why %v", c.name, why)
		}
	}
}

// TestProhibitionNeedsNoList: that an animal is here is recorded, whoever
// keeps lists; that nobody has a paper for it is not.
func TestProhibitionNeedsNoList(t *testing.T) {
	h := newHouse(t)
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	for params, want := range map[string]Code{"{}": Prohibited, `{unless: [{citation: c, paper: {class: keep}}]}`: ListMissing} {
		if got := lineOf(t, book(t, "law", "us", rule("test.r", "held", "animal", "prohibit", params)), h.snapshot(), "held", a.Ref()).At(d("2026-06-15")); got.State != want {
			t.Errorf("%s: %s, want %s", params, got.State, want)
		}
	}
}

// TestProhibitMistakes: what a pack may get wrong.
func TestProhibitMistakes(t *testing.T) {
	for _, c := range []struct{ subject, params, want string }{
		{"animal", "{unless: [{citation: c}]}", "exempts everything"},
		{"animal", "{unless: [{scope: venomous}]}", "citation"},
		{"animal", "{unless: [{citation: c, scope: venemous}]}", "venemous"},
		{"animal", "{unless: [{citation: c, paper: {match: [taxon]}}]}", "class"},
		{"animal", "{unless: [{citation: c, paper: {class: x, number: 3}}]}", "number"},
		{"animal", "{exempt: []}", "exempt"},
		{"site", "{}", "no subject \"site\""},
	} {
		mistaken(t, "law", rule("mine.r", "held", c.subject, "prohibit", c.params), c.want)
	}
}

// naiveProhibit answers for one animal on one day: is it here, and does one
// of the two exemptions hold?
func naiveProhibit(s *Snapshot, a *inventory.Animal, on day.Day) (_ Standing, applies bool) {
	at := a.Held(s.SiteOf).At(on)
	site, _ := s.Sites.Get(at)
	if site == nil || !inventory.Within(inventory.LineOf("", site.Jurisdiction).At(on), "us/fl") {
		return NotApplicable, false
	}
	zoo := inventory.Bool(site.Use == inventory.UseZoo)
	if site.Use == "" {
		zoo = inventory.Unknown
	}
	sp, _ := s.Species.Get(a.Species)
	paper := inventory.No
	var all []Permit
	for p := range s.Permits.All() {
		all = append(all, *p)
	}
	for _, p := range all {
		named := slices.Contains(p.Animals, a.ID)
		if len(p.Animals) > 0 && !named || len(p.Animals) == 0 && !p.AnyPlace && len(p.Sites) > 0 && !slices.Contains(p.Sites, at) {
			continue
		}
		fits := p.Lists(sp)
		if named {
			fits = inventory.Yes
		}
		switch naivePaper(p, all, permitTerms{means: notEnough}, nil, on) {
		case CannotTell:
			fits = fits.And(inventory.Unknown)
		case OutOfOrder, NotApplicable:
			fits = inventory.No
		}
		paper = paper.Or(fits)
	}
	switch zoo.Or(a.Origin.Bred.And(paper)) {
	case inventory.Yes:
		return InOrder, true
	case inventory.No:
		return OutOfOrder, true
	}
	return CannotTell, true
}

func TestProhibitAgreesWithItsOracle(t *testing.T) {
	const params = `{unless: [{citation: c, scope: captive_bred, paper: {class: keep, match: [taxon]}}, {citation: c, scope: 'site_use == "zoo"'}]}`
	b := book(t, "law", "us/fl", rule("test.r", "held", "animal", "prohibit", params))
	seen := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := freshLists(randomHouse(t))
		s.Planned = inventory.Table[inventory.Planned]{}
		s.NotWatched = inventory.Table[NotWatched]{}
		r := Evaluate(b, s, Ask{Now: noon})
		for a := range s.Animals.All() {
			j := r.Of(Key{Requirement: "held", Subject: a.Ref()})
			begins, first := day.Day(0), NotApplicable
			for on := base - 3; on <= base.Add(stretch+60) && begins == 0; on++ {
				if standing, applies := naiveProhibit(s, a, on); applies {
					begins, first = on, standing
				}
			}
			for on := base - 3; on <= base.Add(stretch+60); on++ {
				want, _ := naiveProhibit(s, a, on)
				if begins != 0 && on < begins {
					want = InOrder
				}
				got := notApplicable
				if j != nil {
					got = j.Law.At(on)
				}
				if got.Standing != want || on < begins && first > InOrder && got.Step.By != begins-1 {
					t.Fatalf("%s on %s: %+v, the oracle says %s, beginning on %s", a.Accession, on, got, want, begins)
				}
				seen[fmt.Sprint(want, on < begins)]++
			}
		}
	})
	if len(seen) < 5 {
		t.Errorf("only %v were seen", seen)
	}
}
