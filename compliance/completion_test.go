package compliance

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// definite says of two answers, one before missing facts were filled in and
// one after, that what was told for sure stayed told.
func definite(was, is Standing) bool { return was == CannotTell || was == is }

// TestActivitiesSurviveCompletion: whether it was passed and how long a
// certificate lasts, filled in in any way.
func TestActivitiesSurviveCompletion(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "drill", "site", "recurring", "{activity: drill.x, every: 30 days, certificate: true}")+
		rule("test.y", "report", "site", "recurring", "{activity: drill.x, yearly: {month: 3, day: 31, for_previous_year: true}}"))
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		var acts []Activity
		for range rapid.IntRange(0, 4).Draw(t, "activities") {
			a := Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: anyDay(t, "on"), Passed: anyTri(t, "passed"), Until: anyEnd(t, "until"), Year: rapid.IntRange(2024, 2026).Draw(t, "year")}
			acts = append(acts, a)
			h.put(Record(a))
		}
		s := h.snapshot()
		var completed Batch
		for _, a := range acts {
			if a.Passed == inventory.Unknown {
				a.Passed = inventory.Bool(rapid.Bool().Draw(t, "c passed"))
			}
			if a.Until.Kind == day.Unknown {
				a.Until = rapid.SampledFrom([]day.End{day.Forever(), day.Until(anyDay(t, "c until"))}).Draw(t, "c end")
			}
			completed = append(completed, Record(a))
		}
		after, err := completed.Apply(s)
		if err != nil {
			t.Fatal(err)
		}
		before, full := Evaluate(b, s, Ask{Now: noon}), Evaluate(b, after, Ask{Now: noon})
		for j, on := range everyVerdict(before) {
			was, is := j.Law.At(on), full.Of(j.Key).Law.At(on)
			if !definite(was.Standing, is.Standing) {
				t.Fatalf("%v on %s: %s (%s), and %s (%s) once the facts were complete\n%+v", j.Key, on, was.Standing, was.State, is.Standing, is.State, acts)
			}
		}
	})
}

// TestCoverSurvivesCompletion: labels that nobody read, vials per course that
// nobody knows and coverage that nobody recorded, filled in in any way.
func TestCoverSurvivesCompletion(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "cover", "holding", "cover", coverRule))
	rapid.Check(t, func(t *rapid.T) {
		s := newShelf(discard{})
		sp := s.species("Naja kaouthia", "Elapidae")
		s.animal(sp)
		var lots []inventory.Lot
		var rows []inventory.Coverage
		for i := range rapid.IntRange(1, 3).Draw(t, "products") {
			name := fmt.Sprint("product ", i)
			row := inventory.Coverage{ID: inventory.NewID(), Product: s.product(name).ID, Species: sp.ID, Basis: inventory.Indicated, Source: "test"}
			if n := rapid.IntRange(0, 9).Draw(t, "full"); n > 0 {
				row.Vials = inventory.Always(inventory.Vials{Full: n})
			}
			rows = append(rows, row)
			s.put(Record(row))
			for j := range rapid.IntRange(0, 3).Draw(t, "lots") {
				l := anyLot(t, s, name, fmt.Sprint("L", j))
				lots = append(lots, l)
				s.put(Record(l))
			}
		}
		before := s.snapshot()
		var completed Batch
		for _, l := range lots {
			if l.Labelled.Kind == day.Unknown {
				l.Labelled = day.Until(anyDay(t, "c label"))
			}
			completed = append(completed, Record(l))
		}
		for _, row := range rows {
			if len(row.Vials) == 0 {
				row.Vials = inventory.Always(inventory.Vials{Full: rapid.IntRange(1, 9).Draw(t, "c full")})
			}
			completed = append(completed, Record(row))
		}
		after, err := completed.Apply(before)
		if err != nil {
			t.Fatal(err)
		}
		key := Key{Requirement: "cover", Subject: inventory.Holding(sp.ID, s.site.ID)}
		was, is := Evaluate(b, before, Ask{Now: noon}).Of(key).Law, Evaluate(b, after, Ask{Now: noon}).Of(key).Law
		for on := base - 8; on <= base.Add(stretch+40); on++ {
			if !definite(was.At(on).Standing, is.At(on).Standing) {
				t.Fatalf("%s: %s (%s), and %s (%s) once the facts were complete\n%+v\n%+v", on, was.At(on).Standing, was.At(on).State, is.At(on).Standing, is.At(on).State, rows, lots)
			}
		}
	})
}
