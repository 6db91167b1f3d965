package compliance

import (
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
)

var firstAid = rule("test.r", "first-aid", "person", "recurring", "{activity: certificate.first-aid, certificate: true}", "    scope: '\"keeper\" in roles'\n")

// TestRolesAreDated: a rule for keepers asks a person from the day on which
// the person is one, whenever the question is put, and only while here.
func TestRolesAreDated(t *testing.T) {
	b := book(t, "law", "us", firstAid)
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		p := Person{ID: inventory.NewID(), Called: "Somebody", Site: h.site.ID, Joined: sometimes(t, "joined"), Leaves: sometimes(t, "leaves")}
		for range rapid.IntRange(0, 3).Draw(t, "offices") {
			p.Offices = append(p.Offices, Office{Role: rapid.SampledFrom([]Role{Keeper, Trainee}).Draw(t, "role"), From: sometimes(t, "from"), Last: sometimes(t, "last")})
		}
		h.put(Record(p))
		s := h.snapshot()
		today := anyDay(t, "today")
		j := Evaluate(b, s, Ask{Now: noon, On: today}).Of(Key{Requirement: "first-aid", Subject: p.Ref()})
		for on := base - 3; on <= base.Add(stretch+3); on++ {
			want := NotApplicable
			if p.Has(Keeper, h.site.ID, on) {
				want = OutOfOrder // nobody has a certificate
			}
			got := NotApplicable
			if j != nil {
				got = j.Law.At(on).Standing
			}
			if got != want {
				t.Fatalf("%s, asked on %s: %s, want %s\n%+v", on, today, got, want, p)
			}
		}
	})
}
