package compliance

import (
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveFresh says what a list proves on one day.
func naiveFresh(f Feed, on day.Day) Freshness {
	if on < f.Complete {
		return Outside
	}
	for _, c := range f.Confirmed { // a confirmation covers every day before it
		if on <= c.Add(f.MaxAge) {
			return Fresh
		}
	}
	return Stale
}

// naiveThrough is an answer through a list.
func naiveThrough(s Standing, fresh Freshness) Standing {
	switch {
	case s == NotApplicable:
		return s
	case fresh == Outside && s == OutOfOrder, fresh == Stale && s == InOrder:
		return CannotTell
	default:
		return s
	}
}

// naiveApplies is an answer of which it may be unknown whether it is asked.
func naiveApplies(s Standing, applies inventory.Tri) Standing {
	switch {
	case applies == inventory.No:
		return NotApplicable
	case applies == inventory.Unknown && s != InOrder && s != NotApplicable:
		return CannotTell
	default:
		return s
	}
}

// TestListsWatchingAndScopesAgreeWithTheirOracle runs one recurring duty
// through a random list, a random declaration and a scope that may be unknown.
func TestListsWatchingAndScopesAgreeWithTheirOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{})
		author := Person{ID: inventory.NewID(), Called: "Head"}
		use := rapid.SampledFrom([]inventory.SiteUse{"", inventory.UseZoo, inventory.UsePrivate}).Draw(t, "use")
		h.site.Use = use
		h.put(Record(author), Record(h.site))
		f := Feed{ID: inventory.NewID(), Topic: TopicActivities, Keeper: Head, Complete: anyDay(t, "complete"), MaxAge: rapid.IntRange(1, 20).Draw(t, "max age")}
		if rapid.Bool().Draw(t, "confirmed?") {
			f.Confirmed = []day.Day{f.Complete.Add(rapid.IntRange(0, 20).Draw(t, "confirmed"))}
		}
		h.put(Record(f))
		a := Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: anyDay(t, "on"), Passed: inventory.Yes}
		h.put(Record(a))
		var off *NotWatched
		if rapid.Bool().Draw(t, "not watched?") {
			off = &NotWatched{ID: inventory.NewID(), Subject: h.site.Ref(), By: author.ID, Why: "w", From: anyDay(t, "off")}
			off.Last = off.From.Add(rapid.IntRange(0, 20).Draw(t, "off for"))
			h.put(Record(*off))
		}
		applies := map[inventory.SiteUse]inventory.Tri{"": inventory.Unknown, inventory.UseZoo: inventory.Yes, inventory.UsePrivate: inventory.No}[use]
		b := book(discard{}, "law", "us", rule("test.r", "drill", "site", "recurring", "{activity: drill.x, every: 10 days}", "    scope: site_use == \"zoo\"\n"))
		s := h.snapshot()
		j := Evaluate(b, s, Ask{Now: noon}).Of(Key{Requirement: "drill", Subject: h.site.Ref()})
		if applies == inventory.No {
			if j != nil && j.Law.Len() > 0 {
				t.Fatalf("a duty that never applies was judged")
			}
			return
		}
		for on := base - 3; on <= base.Add(stretch+40); on++ {
			want := naiveThrough(naiveRecurring([]Activity{a}, 10, false, on), naiveFresh(f, on))
			if off != nil && off.From <= on && on <= off.Last && want == InOrder {
				want = CannotTell
			}
			want = naiveApplies(want, applies)
			if got := j.Law.At(on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\n%+v %+v %+v", on, got.Standing, got.State, want, f, a, off)
			}
		}
	})
}

// TestListAgreesWithItsOracle: the duty to confirm a list.
func TestListAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{})
		f := Feed{ID: inventory.NewID(), Topic: TopicStock, Site: h.site.ID, Keeper: Curator, Complete: anyDay(t, "complete"), MaxAge: rapid.IntRange(1, 20).Draw(t, "max age")}
		on := f.Complete
		for range rapid.IntRange(0, 3).Draw(t, "confirmations") {
			on = on.Add(rapid.IntRange(0, 15).Draw(t, "after"))
			f.Confirmed = append(f.Confirmed, on)
		}
		h.put(Record(f))
		b := book(discard{}, "house", "", rule("test.r", "list", "feed", "watch", "{what: list}"))
		line := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "list", Subject: f.Ref()}).Policy
		for on := base - 3; on <= base.Add(stretch+80); on++ {
			want := map[Freshness]Standing{Outside: NotApplicable, Fresh: InOrder, Stale: OutOfOrder}[naiveFresh(f, on)]
			if got := line.At(on); got.Standing != want {
				t.Fatalf("%s: %s, the oracle says %s\n%+v", on, got.Standing, want, f)
			}
		}
	})
}
