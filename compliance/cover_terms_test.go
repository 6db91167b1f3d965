package compliance

import (
	"fmt"
	"testing"

	"antidotary/inventory"
)

// TestCoverTermsAreThoseThatBindAtTheSite: each site is asked by the law of its
// place, or else by the house, or else by guidance. The rules differ in the
// minutes within which vials count.
func TestCoverTermsAreThoseThatBindAtTheSite(t *testing.T) {
	one := func(id string, minutes int, more ...string) string {
		return rule(id, "cover", "holding", "cover", fmt.Sprintf("{victims: 1, bases: [indicated], order_lead: 9 months, within_minutes: %d}", minutes), more...)
	}
	const noZoo = "    scope: 'site_use == \"zoo\"'\n"
	state, nation := pack("state", "law", "us/fl", one("state.r", 10)), pack("nation", "law", "us", one("nation.r", 20))
	house, guidance := pack("house", "house", "", one("house.r", 30)), pack("guide", "guidance", "", one("guide.r", 40))
	for _, c := range []struct {
		name       string
		packs      []string
		here, away string // the rule whose terms count at the site in us/fl, and at the one in gb
	}{
		{"guidance alone", []string{guidance}, "guide.r", "guide.r"},
		{"the house before guidance", []string{guidance, house}, "house.r", "house.r"},
		{"a law before both, in its place alone", []string{guidance, house, nation}, "nation.r", "house.r"},
		{"of two laws the nearer", []string{nation, guidance, state}, "state.r", "guide.r"},
		{"a law that does not apply there", []string{guidance, pack("state", "law", "us/fl", one("state.r", 10, noZoo))}, "guide.r", "guide.r"},
		{"a law that has ended", []string{guidance, pack("state", "law", "us/fl", one("state.r", 10, "    last: 2026-06-14\n"))}, "guide.r", "guide.r"},
		{"none at all", []string{nation}, "nation.r", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newShelf(t)
			sp := s.species("Naja kaouthia", "Elapidae")
			s.covers("P", sp, inventory.Indicated, 0, 10)
			s.arrives(sp, "2024-01-01")
			away, enclosure := s.otherSite("Away")
			away.Jurisdiction = inventory.Always("gb")
			s.put(Record(away))
			a := s.arrives(sp, "2024-01-01")
			a.Stays[0].Enclosure = enclosure.ID
			s.put(Record(a))
			r := Evaluate(books(t, c.packs...), s.snapshot(), Ask{Now: noon})
			for site, want := range map[inventory.ID]string{s.site.ID: c.here, away.ID: c.away} {
				terms, got := r.CoverTerms(site, d("2026-06-15")), ""
				if terms.Rule != nil {
					got = terms.Rule.ID
				}
				if got != want {
					t.Errorf("at %s the terms are those of %q, want %q", r.View.Site(site).Title, got, want)
				}
				if minutes := map[string]Within{"": OwnPlaces, "state.r": 10, "nation.r": 20, "house.r": 30, "guide.r": 40}[got]; terms.Within != minutes {
					t.Errorf("vials within %d minutes count, want %d", terms.Within, minutes)
				}
			}
		})
	}
}

// TestCoverTermsWhereNothingIsHeld: before the first animal comes the terms are
// those of the rule that would bind.
func TestCoverTermsWhereNothingIsHeld(t *testing.T) {
	params := "{victims: 1, bases: [indicated], order_lead: 9 months}"
	s := newShelf(t)
	r := Evaluate(books(t, pack("guide", "guidance", "", rule("guide.r", "cover", "holding", "cover", params)),
		pack("nation", "law", "us", rule("nation.r", "cover", "holding", "cover", params)),
		pack("abroad", "law", "gb", rule("abroad.r", "cover", "holding", "cover", params))), s.snapshot(), Ask{Now: noon})
	if terms := r.CoverTerms(s.site.ID, d("2026-06-15")); terms.Rule == nil || terms.Rule.ID != "nation.r" {
		t.Errorf("the terms are those of %+v, want nation.r", terms.Rule)
	}
}
