package compliance

import (
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
)

// TestLimitsProhibitionsAndOrdersSurviveCompletion: whatever was told for sure
// stays told when the family, the origin, the use of the site, the results of
// inspections and the enclosures are filled in.
func TestLimitsProhibitionsAndOrdersSurviveCompletion(t *testing.T) {
	b := book(t, "law", "us", rule("a.r", "limit", "site", "limit", `{most: 2, of: 'family == "Elapidae"'}`)+
		rule("b.r", "held", "animal", "prohibit", `{unless: [{citation: c, scope: 'site_use == "zoo" && captive_bred'}]}`)+
		rule("c.r", "order", "animal", "order", "{before: arrival, activity: {what: drill.x}}"))
	rapid.Check(t, func(t *rapid.T) {
		s := freshLists(withPlans(t, randomHouse(t)))
		s.NotWatched = inventory.Table[NotWatched]{}
		var filled Batch
		for sp := range s.Species.All() {
			if sp.Family == "" {
				sp := *sp
				sp.Family = rapid.SampledFrom([]string{"Elapidae", "Viperidae"}).Draw(t, "c family")
				filled = append(filled, Record(sp))
			}
		}
		for site := range s.Sites.All() {
			if site.Use == "" {
				site := *site
				site.Use = rapid.SampledFrom([]inventory.SiteUse{inventory.UseZoo, inventory.UsePrivate}).Draw(t, "c use")
				filled = append(filled, Record(site))
			}
		}
		for a := range s.Animals.All() {
			if a.Origin.Bred == inventory.Unknown {
				a := *a
				a.Origin.Bred = inventory.Bool(rapid.Bool().Draw(t, "c bred"))
				filled = append(filled, Record(a))
			}
		}
		for act := range s.Activities.All() {
			if act.Passed == inventory.Unknown {
				act := *act
				act.Passed = inventory.Bool(rapid.Bool().Draw(t, "c passed"))
				filled = append(filled, Record(act))
			}
		}
		whole, err := filled.Apply(s)
		if err != nil {
			t.Skip(err)
		}
		after := Evaluate(b, whole, Ask{Now: noon})
		for j, on := range everyVerdict(Evaluate(b, s, Ask{Now: noon})) {
			if r := j.Key.Requirement; r != "limit" && r != "held" && r != "order" {
				continue
			}
			was, is := j.Law.At(on), after.Of(j.Key).Law.At(on)
			if !definite(was.Standing, is.Standing) {
				t.Fatalf("%v on %s: %s (%s), and once all is known %s (%s)", j.Key, on, was.Standing, was.State, is.Standing, is.State)
			}
		}
	})
}
