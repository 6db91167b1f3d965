package compliance

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveClean goes through every day on which something would still count.
func naiveClean(acts []Activity, f *Feed, within int, outside bool, on day.Day) Standing {
	span := within
	if outside {
		span--
	}
	doubt, unknown := false, false
	for x := on.Add(-span); x <= on; x++ {
		looked := f != nil && x >= f.Complete
		for _, a := range acts {
			switch {
			case a.On == x && (a.What == "event.x" || a.What == "inspection.x" && a.Passed == inventory.No):
				return OutOfOrder
			case a.On == x && a.What == "inspection.x" && a.Passed == inventory.Unknown:
				doubt = true
			case a.What == "check.x" && a.Passed == inventory.Yes && a.On <= on && x < a.On && f != nil && f.Complete <= a.On:
				looked = true
			}
		}
		unknown = unknown || !looked
	}
	if doubt || unknown || f == nil || naiveFresh(*f, on) != Fresh {
		return CannotTell
	}
	return InOrder
}

func TestCleanRecordAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{})
		p := h.personCalled("Somebody")
		var f *Feed
		if rapid.IntRange(0, 4).Draw(t, "list kept") > 0 {
			f = &Feed{ID: inventory.NewID(), Topic: TopicActivities, Keeper: Head, Complete: anyDay(t, "complete"), MaxAge: rapid.IntRange(1, 60).Draw(t, "max age")}
			f.Confirmed = []day.Day{f.Complete.Add(rapid.IntRange(0, 20).Draw(t, "confirmed"))}
			h.put(Record(*f))
		}
		var acts []Activity
		for range rapid.IntRange(0, 4).Draw(t, "activities") {
			a := Activity{ID: inventory.NewID(), What: rapid.SampledFrom([]string{"event.x", "inspection.x", "check.x"}).Draw(t, "what"), Subject: p.Ref(), On: anyDay(t, "on"), Passed: anyTri(t, "passed")}
			acts = append(acts, a)
			h.put(Record(a))
		}
		within, outside := rapid.IntRange(1, 30).Draw(t, "within"), rapid.Bool().Draw(t, "outside")
		params := fmt.Sprintf("{events: [event.x], failed: [inspection.x], cleared: check.x, within: %s, anniversary: %s}", day.Span{Days: within}, map[bool]string{true: "outside", false: "inside"}[outside])
		line := lineOf(discard{}, book(discard{}, "law", "us", rule("test.r", "record", "person", "clean-record", params)), h.snapshot(), "record", p.Ref())
		for on := base - 3; on <= base.Add(stretch+60); on++ {
			if got, want := line.At(on), naiveClean(acts, f, within, outside, on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\n%+v\n%+v\n%s", on, got.Standing, got.State, want, f, acts, params)
			}
		}
	})
}

// TestCleanRecordOfLaw: where the anniversary lies is the rule's to say.
func TestCleanRecordOfLaw(t *testing.T) {
	const florida, texas = "Rule 68A-6.017 FAC (R opening part), boundary D: fail closed", "Texas Parks & Wildlife Code 43.851 (R)"
	for _, c := range []struct {
		params, convicted, on string
		want                  Standing
		source                string
	}{
		{"within: 3 years", "2023-10-01", "2026-09-30", OutOfOrder, florida},
		{"within: 3 years", "2023-10-01", "2026-10-01", OutOfOrder, florida},
		{"within: 3 years", "2023-10-01", "2026-10-02", InOrder, florida},
		{"within: 5 years, anniversary: outside", "2021-09-14", "2026-09-13", OutOfOrder, texas},
		{"within: 5 years, anniversary: outside", "2021-09-14", "2026-09-14", InOrder, texas},
		{"within: 1 year", "2024-02-29", "2025-02-28", OutOfOrder, "months clamp: Texas Finance Code 371.004 (R)"},
		{"within: 1 year", "2024-02-29", "2025-03-01", InOrder, "the same"},
	} {
		h := newHouse(t).lists()
		p := h.personCalled("Somebody")
		h.did("conviction.x", p.Ref(), c.convicted)
		line := lineOf(t, book(t, "law", "us", rule("test.r", "record", "person", "clean-record", "{events: [conviction.x], "+c.params+"}")), h.snapshot(), "record", p.Ref())
		if got := line.At(d(c.on)); got.Standing != c.want {
			t.Errorf("convicted %s, %s, on %s: %s (%s), want %s (%s)", c.convicted, c.params, c.on, got.Standing, got.State, c.want, c.source)
		}
	}
}

// TestCleanRecordOfANewList: a list that began last year says nothing of the
// two years before, until somebody looks into them.
func TestCleanRecordOfANewList(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "record", "person", "clean-record", "{events: [conviction.x], within: 3 years, cleared: check.background}"))
	for _, c := range []struct {
		checked string
		want    Code
		do      Code
	}{{"", RecordTooShort, HoldActivity}, {"2025-05-31", RecordTooShort, HoldActivity}, {"2025-06-01", RecordClean, ""}, {"2026-06-15", RecordClean, ""}} {
		h := newHouse(t)
		h.put(Record(Feed{ID: inventory.NewID(), Topic: TopicActivities, Keeper: Head, Complete: d("2025-06-01"), Confirmed: []day.Day{d("2026-06-14")}, MaxAge: 30}))
		p := h.personCalled("Somebody")
		if c.checked != "" {
			h.did("check.background", p.Ref(), c.checked)
		}
		r := Evaluate(b, h.snapshot(), Ask{Now: noon})
		j := r.Of(Key{Requirement: "record", Subject: p.Ref()})
		if got := j.Law.At(d("2026-06-15")); got.State != c.want || got.Step.Do != c.do {
			t.Errorf("checked %q: %s, %s; want %s, %s", c.checked, got.State, got.Step.Do, c.want, c.do)
		}
		if why := fmt.Sprint(r.Why(j, d("2026-06-15"))); c.want == RecordTooShort && !strings.Contains(why, "2028-05-31") {
			t.Errorf("%s does not say until when", why)
		}
	}
}

func TestCleanRecordRefuses(t *testing.T) {
	for params, want := range map[string]string{
		"{within: 3 years}":                                 "needs events and/or failed",
		"{events: [x]}":                                     "within",
		"{events: [x], within: 3 year}":                     "span of time",
		"{events: [x], within: 0 days}":                     "no time at all",
		"{events: [X], within: 3 years}":                    "lower-case words",
		"{events: [x], within: 3 years, boundary: inside}":  "boundary",
		"{events: [x], within: 3 years, anniversary: both}": "allowed: inside, outside",
	} {
		_, err := ReadPack("p.yaml", []byte(pack("p", "law", "us", rule("r", "record", "person", "clean-record", params))))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", params, err, want)
		}
	}
}
