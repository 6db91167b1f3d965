package compliance

import (
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
)

// TestEventsLabelsAndRecordsSurviveCompletion: whatever was told for sure stays
// told when results are filled in, what labels carry, and the use of the site.
func TestEventsLabelsAndRecordsSurviveCompletion(t *testing.T) {
	b := book(t, "law", "us", rule("a.n", "told", "site", "notice", "{events: [event.x], told: notice.x, within: 3 days}", "    scope: site_use == \"private\"\n")+
		rule("a.a", "told", "animal", "notice", "{events: [event.x], animal_events: [move, death], told: notice.x, within: immediately}", "    scope: venomous\n")+
		rule("a.c", "record", "person", "clean-record", "{events: [event.x], failed: [label.x], cleared: notice.x, within: 20 days}")+
		rule("a.k", "kept", "animal", "keep", "{destroyed: destroyed.x, grounds: [{after: departure, for: 10 days}, {after: paper, class: keep, for: 12 days}]}", "    scope: venomous\n")+
		rule("a.w", "label", "animal", "wording", "{checked: label.x, fields: [banner, owner], every: 15 days}", "    scope: venomous\n"))
	rapid.Check(t, func(t *rapid.T) {
		s := freshLists(randomHouse(t))
		s.NotWatched = inventory.Table[NotWatched]{}
		var filled Batch
		for a := range s.Activities.All() {
			a := *a
			if a.Passed == inventory.Unknown {
				a.Passed = inventory.Bool(rapid.Bool().Draw(t, "c passed"))
			}
			if len(a.Fields) == 0 {
				a.Fields = rapid.SampledFrom([][]string{{"banner"}, {"owner", "banner"}}).Draw(t, "c fields")
			}
			filled = append(filled, Record(a))
		}
		for sp := range s.Species.All() {
			if sp.Venomous == inventory.Unknown {
				sp := *sp
				sp.Venomous = inventory.Bool(rapid.Bool().Draw(t, "c venomous"))
				filled = append(filled, Record(sp))
			}
		}
		for site := range s.Sites.All() {
			if site.Use == "" {
				site := *site
				site.Use = inventory.UsePrivate
				filled = append(filled, Record(site))
			}
		}
		after, err := filled.Apply(s)
		if err != nil {
			t.Skip("the records refuse it: ", err)
		}
		before, full := Evaluate(b, s, Ask{Now: noon}), Evaluate(b, after, Ask{Now: noon})
		for j, on := range everyVerdict(before) {
			was, is := j.Law.At(on), notApplicable
			if other := full.Of(j.Key); other != nil {
				is = other.Law.At(on)
			}
			if was.Standing == InOrder && is.Standing == NotApplicable { // whether it applies was filled in
				continue
			}
			if !definite(was.Standing, is.Standing) {
				t.Fatalf("%v on %s: %s (%s), and %s (%s) once the facts were complete", j.Key, on, was.Standing, was.State, is.Standing, is.State)
			}
		}
	})
}
