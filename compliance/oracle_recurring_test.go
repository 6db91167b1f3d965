package compliance

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveRecurring answers for one day: is there an activity that was passed
// and still reaches, surely or perhaps?
func naiveRecurring(acts []Activity, every int, certificate bool, on day.Day) Standing {
	perhaps := false
	for _, a := range acts {
		if a.On > on || a.Passed == inventory.No {
			continue
		}
		reaches := every == 0 || on <= a.On.Add(every)
		unknown := false
		if certificate {
			switch a.Until.Kind {
			case day.Unknown:
				unknown = true
			case day.Known:
				reaches = reaches && on <= a.Until.On
			}
		}
		if certificate && unknown { // its end may be any day
			perhaps = true
			continue
		}
		if reaches && a.Passed == inventory.Yes {
			return InOrder
		}
		if reaches {
			perhaps = true
		}
	}
	if perhaps {
		return CannotTell
	}
	return OutOfOrder
}

func TestRecurringAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		every := rapid.SampledFrom([]int{0, 7, 30}).Draw(t, "every")
		certificate := every == 0 || rapid.Bool().Draw(t, "certificate")
		var acts []Activity
		for range rapid.IntRange(0, 4).Draw(t, "activities") {
			a := Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: anyDay(t, "on"), Passed: anyTri(t, "passed"), Until: anyEnd(t, "until")}
			acts = append(acts, a)
			h.put(Record(a))
		}
		params := fmt.Sprintf("{activity: drill.x, certificate: %t}", certificate)
		if every > 0 {
			params = fmt.Sprintf("{activity: drill.x, certificate: %t, every: %d days}", certificate, every)
		}
		line := lineOf(discard{}, book(discard{}, "law", "us", rule("test.r", "drill", "site", "recurring", params)), h.snapshot(), "drill", h.site.Ref())
		for on := base - 3; on <= base.Add(stretch+40); on++ {
			if got, want := line.At(on), naiveRecurring(acts, every, certificate, on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\n%+v\n%s", on, got.Standing, got.State, want, acts, params)
			}
		}
	})
}
