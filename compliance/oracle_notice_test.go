package compliance

import (
	"cmp"
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveTold says whether an event is told of by the end of a day: read as
// brackets that events open and notices close, is its bracket closed by then?
func naiveTold(events, notices []Activity, e Activity, on day.Day) bool {
	type mark struct {
		Activity
		opens bool
	}
	var marks []mark
	for _, a := range events {
		marks = append(marks, mark{a, true})
	}
	for _, a := range notices {
		if a.On <= on {
			marks = append(marks, mark{a, false})
		}
	}
	slices.SortStableFunc(marks, func(a, b mark) int { // events stand before notices
		return cmp.Or(cmp.Compare(a.On, b.On), a.At.Compare(b.At))
	})
	depth, begun := 0, false
	for _, m := range marks {
		switch {
		case m.ID == e.ID:
			begun, depth = true, 1
		case begun && m.opens:
			depth++
		case begun:
			depth--
			if depth == 0 {
				return true
			}
		}
	}
	return false
}

// naiveInTime goes through the instants at which the event may have been, a
// quarter of an hour apart, and asks of each whether the day is in time.
func naiveInTime(e Activity, hours int, zone *time.Location, now time.Time, on day.Day) Standing {
	var may []time.Time
	if !e.At.IsZero() {
		may = []time.Time{e.At}
	} else {
		last := day.EndOf(e.On, zone).Add(-1)
		for t := day.StartOf(e.On, zone); !t.After(last); t = t.Add(15 * time.Minute) {
			may = append(may, t)
		}
		may = append(may, last)
	}
	in, out := false, false
	for _, t := range may {
		end := t.Add(time.Duration(hours) * time.Hour)
		begins, ends := day.StartOf(on, zone), day.EndOf(on, zone).Add(-1)
		switch {
		case !end.After(begins) || end.Before(ends) && now.After(end):
			out = true
		default:
			in = true
		}
	}
	switch {
	case in && out:
		return CannotTell
	case out:
		return OutOfOrder
	default:
		return InOrder
	}
}

func naiveNotice(events, notices []Activity, e Activity, untold Standing, on day.Day) Standing {
	var sure []Activity
	var maybe []Activity
	for _, a := range notices {
		if a.Passed == inventory.Yes {
			sure = append(sure, a)
		}
		if a.Passed != inventory.No {
			maybe = append(maybe, a)
		}
	}
	switch {
	case on < e.On:
		return NotApplicable
	case naiveTold(events, sure, e, on):
		return InOrder
	case naiveTold(events, maybe, e, on):
		return CannotTell
	default:
		return untold
	}
}

// TestNoticeAgreesWithItsOracle over both changes of the clock.
func TestNoticeAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{})
		start := rapid.SampledFrom([]day.Day{d("2026-10-30"), d("2027-03-12"), d("2026-12-23")}).Draw(t, "start")
		zone := zoneOf(h.site.Zone)
		complete := start.Add(rapid.IntRange(-3, 3).Draw(t, "complete"))
		h.put(Record(Feed{ID: inventory.NewID(), Topic: TopicActivities, Keeper: Head, Complete: complete, Confirmed: []day.Day{start + 90}, MaxAge: 200}))
		clock := rapid.Bool().Draw(t, "instants known")
		some := func(what string) (all []Activity) {
			for range rapid.IntRange(0, 4).Draw(t, what) {
				a := Activity{ID: inventory.NewID(), What: what, Subject: h.site.Ref(), On: start.Add(rapid.IntRange(0, 5).Draw(t, "on")), Passed: anyTri(t, "passed")}
				if clock {
					a.At = day.StartOf(a.On, zone).Add(time.Duration(rapid.IntRange(0, 22).Draw(t, "hour")) * time.Hour).UTC()
				}
				all = append(all, a)
				h.put(Record(a))
			}
			return all
		}
		events, notices := some("event.x"), some("notice.x")
		now := day.StartOf(start, zone).Add(time.Duration(rapid.IntRange(0, 200).Draw(t, "now")) * time.Hour)
		within := rapid.SampledFrom([]string{"immediately", "1 hour", "8 hours", "24 hours", "30 hours", "1 day", "3 days", "2 business days"}).Draw(t, "within")
		b := book(discard{}, "law", "us", rule("test.r", "told", "site", "notice", "{events: [event.x], told: notice.x, calendar: US-FED, within: "+within+"}"))
		r := Evaluate(b, h.snapshot(), Ask{Now: now})
		nth := make(map[day.Day]int)
		slices.SortStableFunc(events, func(a, b Activity) int { return cmp.Compare(a.On, b.On) })
		for _, e := range events {
			occurrence := "event.x " + e.On.String()
			if nth[e.On]++; nth[e.On] > 1 {
				occurrence += fmt.Sprint(" ", nth[e.On])
			}
			line := r.Of(Key{"told", h.site.Ref(), occurrence}).Law
			for on := start - 2; on <= start+15; on++ {
				untold := naiveWithin(e, within, zone, now, on)
				if untold == OutOfOrder && (e.On < complete || on < complete) { // nothing is listed of then
					untold = CannotTell
				}
				if got, want := line.At(on), naiveNotice(events, notices, e, untold, on); got.Standing != want {
					t.Fatalf("%s: %s on %s is %s (%s), the oracle says %s\nnow %s, listed from %s\n%+v\n%+v", within, occurrence, on, got.Standing, got.State, want, now, complete, events, notices)
				}
			}
		}
	})
}

// naiveWithin counts what the words of a rule say, day by day.
func naiveWithin(e Activity, within string, zone *time.Location, now time.Time, on day.Day) Standing {
	var n int
	var unit string
	if _, err := fmt.Sscanf(within, "%d %s", &n, &unit); err != nil { // immediately
		if on == e.On {
			return CannotTell
		}
		return OutOfOrder
	}
	if unit == "hour" || unit == "hours" {
		return naiveInTime(e, n, zone, now, on)
	}
	cal, _ := day.Embedded().Calendar("US-FED")
	for at := e.On; n > 0; {
		if at++; unit != "business" || cal.IsWorking(at) {
			n--
		}
		if at == on && n >= 0 {
			return InOrder
		}
	}
	if on <= e.On {
		return InOrder
	}
	return OutOfOrder
}
