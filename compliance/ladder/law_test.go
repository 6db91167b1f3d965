package ladder

import (
	"testing"
	"time"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// conditions reads conditions as a law's experience rule writes them.
func conditions(t *testing.T, text string) All {
	t.Helper()
	doc, err := strict.Parse("rule.yaml", []byte("experience:\n"+text))
	if err != nil {
		t.Fatal(err)
	}
	all := ReadConditions(doc.Root(), "experience", -1)
	if err := doc.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

// florida: 68A-6.017 F.A.C., as read on justia.com "current through 24 Sep
// 2024": 18 years of age; no listed conviction and no refused inspection
// within 3 years of the application; at least 1 year and at least 1,000 hours
// of practical experience with the species or others of the same family.
const florida = `
  - age: {at_least: 18}
  - none: {of: [conviction.wildlife, inspection.refused], within: 3 years}
  - hours: {at_least: 1000, same: family}
  - span: {at_least: 1 year, same: family}
`

// hours adds sessions of some hours on days evenly from a first to a last.
func (x *tale) hours(trainee, mentor *Person, kind *Species, first, last string, sessions, hours int) {
	for i := range sessions {
		d := on(first).Add(i * on(last).Sub(on(first)) / max(sessions-1, 1))
		s := x.session(trainee, mentor, kind, d.String(), "c")
		s.Ended = s.Begun.Add(time.Duration(hours) * time.Hour)
	}
}

// TestFloridaExperience: the vectors follow from the rule's text by its own
// arithmetic, except for the anniversary of a conviction, on which the text is
// silent: the day itself is taken as within, the cautious side.
func TestFloridaExperience(t *testing.T) {
	for _, c := range []struct {
		what           string
		sessions       int
		hours          int
		first, last    string
		family         string
		born           string
		event, eventOn string
		applies        string
		want           bool
	}{
		{"1000 h over 365 days", 200, 5, "2025-01-10", "2026-01-09", "Elapidae", "1990-01-01", "", "", "2026-01-10", true},
		{"a day before the year is full", 200, 5, "2025-01-10", "2026-01-09", "Elapidae", "1990-01-01", "", "", "2026-01-09", false},
		{"1000 h over 200 days", 200, 5, "2025-01-10", "2025-07-28", "Elapidae", "1990-01-01", "", "", "2025-07-29", false},
		{"999 h over 700 days", 111, 9, "2024-01-10", "2025-12-10", "Elapidae", "1990-01-01", "", "", "2026-01-10", false},
		{"1000 h over two years of another family", 200, 5, "2024-01-10", "2026-01-09", "Viperidae", "1990-01-01", "", "", "2026-01-10", false},
		{"18 on the day", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "2008-01-10", "", "", "2026-01-10", true},
		{"18 on the day after", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "2008-01-11", "", "", "2026-01-10", false},
		{"born on 29 February, 28 February", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "2008-02-29", "", "", "2026-02-28", false},
		{"born on 29 February, 1 March", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "2008-02-29", "", "", "2026-03-01", true},
		{"convicted, a day less than three years ago", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "1990-01-01", "conviction.wildlife", "2023-10-01", "2026-09-30", false},
		{"convicted three years ago to the day", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "1990-01-01", "conviction.wildlife", "2023-10-01", "2026-10-01", false},
		{"convicted more than three years ago", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "1990-01-01", "conviction.wildlife", "2023-10-01", "2026-10-02", true},
		{"an inspection refused", 200, 5, "2024-01-10", "2026-01-09", "Elapidae", "1990-01-01", "inspection.refused", "2024-10-01", "2026-10-02", false},
	} {
		x, ann, mentor, _ := worked(t)
		x.records.Authorisations = nil
		for _, p := range []*Person{ann, mentor} {
			x.founded(p, "2023-12-31", 2)
		}
		x.teaching(mentor, "2023-12-31", 2)
		for i := range x.records.Authorisations { // this is about the experience, not about reviews here
			x.records.Authorisations[i].Until = day.Until(on("2030-12-31"))
		}
		kind, cobra := x.kind("worked with", c.family, 1), x.kind("cobra", "Elapidae", 1)
		x.hours(ann, mentor, kind, c.first, c.last, c.sessions, c.hours)
		ann.Born = on(c.born)
		if c.event != "" {
			ann.Done[c.event] = []Done{{On: on(c.eventOn), Passed: inventory.Yes}}
		}
		rule := conditions(t, florida)
		for _, w := range []World{Worst, Best} {
			if got := x.met(rule, ann, cobra, c.applies, w); got != c.want {
				t.Errorf("%s: eligible %v, not %v: %+v", c.what, got, c.want, rule.Gaps(x.judge().at1(x, ann, cobra, c.applies), nil))
			}
		}
	}
}

// at1 gives the question about somebody for what is missing.
func (s *Standings) at1(x *tale, p *Person, about *Species, d string) *Asked {
	return s.at(s.h.person(p.ID), on(d), Worst).ask(on(d), &s.h.Species[s.h.species[about.ID]])
}

// TestFloridaWithoutRecords: what nobody knows is neither met nor refused.
func TestFloridaWithoutRecords(t *testing.T) {
	for what, forget := range map[string]func(*Person, *Species){
		"when he was born":       func(p *Person, _ *Species) { p.Born = 0 },
		"what happened before":   func(p *Person, _ *Species) { p.KnownFrom = on("2025-01-01") },
		"the family of the kind": func(_ *Person, s *Species) { s.Family = "" },
	} {
		x, ann, mentor, kind := worked(t)
		cobra := x.kind("cobra", kind.Family, 1)
		x.records.Authorisations[0].On, x.records.Authorisations[1].On, x.records.Authorisations[2].On = on("2025-05-01"), on("2025-05-01"), on("2025-05-01")
		x.hours(ann, mentor, kind, "2025-05-02", "2026-04-20", 200, 5)
		rule := conditions(t, florida)
		for _, w := range []World{Worst, Best} {
			if !x.met(rule, ann, cobra, "2026-05-02", w) {
				t.Errorf("with everything known: not met in world %d", w)
			}
		}
		forget(ann, kind)
		if x.met(rule, ann, cobra, "2026-05-02", Worst) || !x.met(rule, ann, cobra, "2026-05-02", Best) {
			t.Errorf("not known: %s: must be open", what)
		}
	}
}

// papers gives a line of a paper that is in force from some days up to others.
func papers(pairs ...string) day.Line[inventory.Tri] {
	b := day.NewBuilder(inventory.No)
	for i := 0; i < len(pairs); i += 2 {
		b.Add(on(pairs[i]), inventory.Yes)
		if i+1 < len(pairs) {
			b.Add(on(pairs[i+1])+1, inventory.No)
		}
	}
	return b.Line()
}

// TestPapersHeldForYears: how long a permit was held.
//   - Valais, vs.ch (secondary): restrictions in the first two years of a
//     permit; permit of 2025-05-01: restricted on 2027-04-30, free on
//     2027-05-01. Counts of animals and species are not the ladder's.
//   - Queensland, qld.gov.au (secondary): at least 1 year with a licence for
//     snakes that are not dangerous.
//   - New South Wales, older licence text, quoted (secondary): at least 2 years.
func TestPapersHeldForYears(t *testing.T) {
	for _, c := range []struct {
		rule string
		line day.Line[inventory.Tri]
		on   string
		want bool
	}{
		{"  - paper: {class: permit.keeping, for: 2 years}", papers("2025-05-01"), "2027-04-30", false},
		{"  - paper: {class: permit.keeping, for: 2 years}", papers("2025-05-01"), "2027-05-01", true},
		{"  - paper: {class: permit.keeping, for: 1 year}", papers("2025-03-01"), "2026-02-28", false},
		{"  - paper: {class: permit.keeping, for: 1 year}", papers("2025-03-01"), "2026-03-01", true},
		{"  - paper: {class: permit.keeping, for: 1 year}", papers("2025-03-01", "2025-12-31", "2026-01-01", "2026-12-31"), "2026-03-01", true},
		{"  - paper: {class: permit.keeping, for: 1 year}", papers("2025-03-01", "2025-12-31", "2026-01-02", "2026-12-31"), "2026-03-01", false},
		{"  - paper: {class: permit.keeping, for: 1 year}", papers("2025-03-01", "2026-02-28"), "2026-03-01", false},
		{"  - paper: {class: permit.keeping, for: 2 years}", papers("2024-02-29"), "2026-02-27", false},
		{"  - paper: {class: permit.keeping, for: 2 years}", papers("2024-02-29"), "2026-02-28", true},
	} {
		x, ann, _, _ := worked(t)
		ann.Papers["permit.keeping"] = c.line
		if got := x.met(conditions(t, c.rule), ann, nil, c.on, Worst); got != c.want {
			t.Errorf("%s on %s: %v, not %v", c.rule, c.on, got, c.want)
		}
	}
}

// TestQueenslandLevels: three named levels of dangerous snakes, qld.gov.au
// (secondary), as floors with names: species, genera; what is not named stays
// where its hazards put it.
func TestQueenslandLevels(t *testing.T) {
	placing := Placing{Harmless: 1, ByScore: [5]int{2, 2, 2, 2, 2}, Floors: []Floor{
		{Names: []string{"Pseudechis porphyriacus", "Pseudechis guttatus"}, Stage: 2},
		{Names: []string{"Acanthophis", "Notechis", "Austrelaps"}, Stage: 3},
		{Names: []string{"Oxyuranus", "Pseudonaja", "Tropidechis carinatus"}, Stage: 4},
	}}
	known := inventory.Hazards{Venom: 3, Yield: 3, Speed: 3, Reach: 3}
	for _, c := range []struct {
		name, genus string
		want        int
	}{
		{"Pseudechis porphyriacus", "Pseudechis", 2}, {"Pseudechis guttatus", "Pseudechis", 2},
		{"Acanthophis antarcticus", "Acanthophis", 3}, {"Notechis scutatus", "Notechis", 3}, {"Austrelaps superbus", "Austrelaps", 3},
		{"Oxyuranus scutellatus", "Oxyuranus", 4}, {"Pseudonaja textilis", "Pseudonaja", 4}, {"Tropidechis carinatus", "Tropidechis", 4},
		{"Furina diadema", "Furina", 2},
	} {
		got := placing.Of(Traits{Name: c.name, Genus: c.genus, Family: "Elapidae", Venomous: inventory.Yes, Hazards: known})
		if got != (Place{c.want, c.want}) {
			t.Errorf("%s on %v, not on %d", c.name, got, c.want)
		}
	}
}

// TestAnEndorsementCoversThoseBelow: New South Wales, older licence text,
// quoted (secondary): a Category 2 endorsement covers 1 and 2.
func TestAnEndorsementCoversThoseBelow(t *testing.T) {
	x, ann, _, _ := worked(t)
	x.founded(ann, "2026-02-01", 2)
	for stage, want := range []bool{true, true, true} {
		if got := x.met(Held{Stage: stage}, ann, nil, "2026-02-01", Worst); got != want {
			t.Errorf("stage %d held: %v", stage, got)
		}
	}
	if x.met(Held{Stage: 2}, ann, nil, "2026-01-31", Best) {
		t.Error("held before it was granted")
	}
}

// TestSouthAustraliaController: endorsed for Category 2 or ten call-outs in the
// log, and first aid current; permit procedures (secondary).
func TestSouthAustraliaController(t *testing.T) {
	rule := conditions(t, `
  - any:
      - paper: {class: endorsement.category-2}
      - did: {what: call-out, at_least: 10}
  - in_force: {what: certificate.first-aid}
`)
	for _, c := range []struct {
		endorsed bool
		callOuts int
		aid      string // last good day
		want     bool
	}{
		{false, 10, "2026-05-01", true},
		{false, 9, "2026-05-01", false},
		{false, 10, "2026-04-30", false},
		{true, 0, "2026-05-01", true},
		{true, 0, "2026-04-30", false},
	} {
		x, ann, _, _ := worked(t)
		if c.endorsed {
			ann.Papers["endorsement.category-2"] = papers("2026-01-01")
		}
		for i := range c.callOuts {
			ann.Done["call-out"] = append(ann.Done["call-out"], Done{On: on("2026-01-01").Add(i), Passed: inventory.Yes})
		}
		ann.Done["certificate.first-aid"] = []Done{{On: on("2025-05-01"), Passed: inventory.Yes, Until: day.Until(on(c.aid))}}
		if got := x.met(rule, ann, nil, "2026-05-01", Worst); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}
