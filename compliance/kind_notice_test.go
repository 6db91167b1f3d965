package compliance

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// clockAt reads an instant with its distance from UTC.
func clockAt(text string) time.Time {
	t, err := time.Parse("2006-01-02T15:04-07:00", text)
	if err != nil {
		panic(err)
	}
	return t.UTC()
}

// noticeOf gives the line of the only event of a site under params.
func noticeOf(t *testing.T, h *house, params, occurrence string, now time.Time) Line {
	t.Helper()
	b := book(t, "law", "us", rule("test.r", "told", "site", "notice", params))
	j := Evaluate(b, h.snapshot(), Ask{Now: now}).Of(Key{"told", h.site.Ref(), occurrence})
	if j == nil {
		t.Fatalf("no duty %q", occurrence)
	}
	return j.Law
}

func (h *house) did(what string, subject inventory.Ref, on string, more ...func(*Activity)) Activity {
	a := Activity{ID: inventory.NewID(), What: what, Subject: subject, On: d(on), Passed: inventory.Yes}
	for _, f := range more {
		f(&a)
	}
	h.put(Record(a))
	return a
}

func instantOf(text string) func(*Activity) { return func(a *Activity) { a.At = clockAt(text) } }

// TestWorkerClock: 29 CFR 1904.39 counts hours by the clock, over the autumn's
// change too (R for the hours, D for the instants), and so over the spring's.
func TestWorkerClock(t *testing.T) {
	for _, c := range []struct {
		event, within, end, by string
	}{
		{"2026-10-31T20:00-04:00", "8 hours", "2026-11-01T03:00-05:00", "2026-11-01"},
		{"2026-10-31T20:00-04:00", "24 hours", "2026-11-01T19:00-05:00", "2026-11-01"},
		{"2027-03-13T20:00-05:00", "8 hours", "2027-03-14T05:00-04:00", "2027-03-14"},
		{"2027-03-13T20:00-05:00", "24 hours", "2027-03-14T21:00-04:00", "2027-03-14"},
		{"2026-07-01T16:00-04:00", "8 hours", "2026-07-02T00:00-04:00", "2026-07-01"}, // over at midnight
	} {
		h := newHouse(t).lists()
		on := c.event[:10]
		h.did("event.death", h.site.Ref(), on, instantOf(c.event))
		params := "{events: [event.death], told: notice.death, within: " + c.within + "}"
		end, occurrence := clockAt(c.end), "event.death "+on
		step := noticeOf(t, h, params, occurrence, clockAt(c.event)).At(d(on)).Step
		if !step.At.Equal(end) || step.By != d(c.by) || step.Do != TellAuthority {
			t.Errorf("%s within %s: %s by %s, at %s; want by %s, at %s (29 CFR 1904.39)", c.event, c.within, step.Do, step.By, step.At, c.by, end)
		}
		for now, want := range map[time.Time]Standing{end: InOrder, end.Add(time.Second): OutOfOrder} {
			if strings.Contains(c.end, "T00:00") { // the whole day before is in time
				want = InOrder
			}
			line := noticeOf(t, h, params, occurrence, now)
			if got := line.At(d(c.by)); got.Standing != want {
				t.Errorf("%s within %s, asked at %s: %s is %s, want %s", c.event, c.within, now, c.by, got.Standing, want)
			}
			if got := line.At(d(c.by) + 1); got.Standing != OutOfOrder {
				t.Errorf("%s within %s: the day after is %s", c.event, c.within, got.Standing)
			}
		}
	}
}

// TestOnlyTheDayOfTheEventIsKnown: eight hours from some time on a day end
// between eight in the morning and eight in the morning of the next.
func TestOnlyTheDayOfTheEventIsKnown(t *testing.T) {
	h := newHouse(t).lists()
	h.did("event.bite", h.site.Ref(), "2026-07-01")
	params := "{events: [event.bite], told: notice.bite, within: 8 hours}"
	for _, c := range []struct {
		now, on string
		want    Standing
		state   Code
	}{
		{"2026-07-01T08:00-04:00", "2026-07-01", InOrder, NotToldYet},
		{"2026-07-01T08:01-04:00", "2026-07-01", CannotTell, EventTimeUnknown},
		{"2026-07-01T08:00-04:00", "2026-07-02", CannotTell, EventTimeUnknown},
		{"2026-07-02T07:59-04:00", "2026-07-02", CannotTell, EventTimeUnknown},
		{"2026-07-02T08:01-04:00", "2026-07-02", OutOfOrder, NotTold},
		{"2026-07-01T08:00-04:00", "2026-07-03", OutOfOrder, NotTold},
	} {
		got := noticeOf(t, h, params, "event.bite 2026-07-01", clockAt(c.now)).At(d(c.on))
		if got.Standing != c.want || got.State != c.state || got.Step.By != d("2026-07-01") {
			t.Errorf("asked at %s, %s is %s (%s) by %s; want %s (%s) by 2026-07-01", c.now, c.on, got.Standing, got.State, got.Step.By, c.want, c.state)
		}
	}
}

// TestDaysToTell: the last day is in time, and the day after is not.
func TestDaysToTell(t *testing.T) {
	for _, c := range []struct {
		name, event, within, more, legal, source string
	}{
		{"discontinuance", "2026-01-31", "30 days", "", "2026-03-02", "50 CFR 13.26 (R), date D"},
		{"a change, on a Friday before a holiday", "2026-05-22", "1 business day", ", calendar: US-FED", "2026-05-26", "510 ILCS 68/20-10 (R), Memorial Day, date D"},
		{"a change, on a Saturday", "2026-05-30", "1 business day", ", calendar: US-FED", "2026-06-01", "the same, D"},
		{"a change of an address", "2026-05-22", "10 days", "", "2026-06-01", "17 Ill. Adm. Code 885.140 (R), date D"},
		{"proofs", "2021-06-30", "4 weeks", "", "2021-07-28", "NRW Gifttiergesetz (R2), date D"},
		{"months clamp", "2027-01-31", "1 month", "", "2027-02-28", "BGB s.188(3) (R)"},
		{"and move off a Sunday", "2027-01-31", "1 month", ", moves_to_working_day: true", "2027-03-01", "BGB s.193 (R)"},
		{"roll forward", "2026-12-11", "14 days", ", calendar: GB-SCT, moves_to_working_day: true", "2026-12-29", "holidays of Scotland (R), date D"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			h.did("event.x", h.site.Ref(), c.event)
			line := noticeOf(t, h, "{events: [event.x], told: notice.x, within: "+c.within+c.more+"}", "event.x "+c.event, noon)
			legal := d(c.legal)
			if got := line.At(d(c.event)).Step; got.Legal != legal || got.By != legal {
				t.Errorf("by %s, legal %s; want %s (%s)", got.By, got.Legal, legal, c.source)
			}
			if line.At(legal).Standing != InOrder || line.At(legal+1).Standing != OutOfOrder || line.At(d(c.event)-1).Standing != NotApplicable {
				t.Errorf("%s, %s after %s (%s)", line.At(legal).Standing, line.At(legal+1).Standing, legal, c.source)
			}
		})
	}
}

// TestAtOnce: N.C. Gen. Stat. 14-417(c) (R): immediately. What is told on the
// day of the escape is in order; on that day nobody can say for a house that has
// not told that it is late, and after it that it is not.
func TestAtOnce(t *testing.T) {
	params := "{events: [event.escape], told: notice.escape, within: immediately}"
	for told, want := range map[string][3]Standing{
		"":           {CannotTell, OutOfOrder, OutOfOrder},
		"2026-06-10": {InOrder, InOrder, InOrder},
		"2026-06-12": {CannotTell, OutOfOrder, InOrder},
	} {
		h := newHouse(t).lists()
		h.did("event.escape", h.site.Ref(), "2026-06-10")
		if told != "" {
			h.did("notice.escape", h.site.Ref(), told)
		}
		line := noticeOf(t, h, params, "event.escape 2026-06-10", noon)
		for i, w := range want {
			if got := line.At(d("2026-06-10").Add(i)); got.Standing != w {
				t.Errorf("told %q: day %d is %s, want %s", told, i, got.Standing, w)
			}
		}
	}
}

// TestTheAuthoritysDayEnds where the authority is: a house east of it is told
// the day that is in time wherever one looks, a house far west of it the day
// before.
func TestTheAuthoritysDayEnds(t *testing.T) {
	for _, c := range []struct {
		site, zone, by string
		now            string
		on             string
		want           Standing
	}{
		{"America/New_York", "America/New_York", "2026-07-11", "2026-07-12T09:00-04:00", "2026-07-11", InOrder},
		{"Pacific/Auckland", "America/New_York", "2026-07-11", "2026-07-12T15:59+12:00", "2026-07-12", InOrder},
		{"Pacific/Auckland", "America/New_York", "2026-07-11", "2026-07-12T16:00+12:00", "2026-07-12", OutOfOrder},
		{"America/New_York", "Pacific/Auckland", "2026-07-10", "2026-07-11T07:59-04:00", "2026-07-11", InOrder},
		{"America/New_York", "Pacific/Auckland", "2026-07-10", "2026-07-11T08:00-04:00", "2026-07-11", OutOfOrder},
	} {
		h := newHouse(t).lists()
		h.site.Zone = c.site
		h.put(Record(h.site))
		h.did("event.x", h.site.Ref(), "2026-07-01")
		line := noticeOf(t, h, "{events: [event.x], told: notice.x, within: 10 days, zone: "+c.zone+"}", "event.x 2026-07-01", clockAt(c.now))
		if got := line.At(d(c.on)); got.Standing != c.want || got.Step.By != d(c.by) || got.Step.Legal != d("2026-07-11") {
			t.Errorf("%+v: %s by %s, legal %s", c, got.Standing, got.Step.By, got.Step.Legal)
		}
	}
}

// TestEventsOfAnAnimal are asked about after it has left, and even where it was
// here for less than a day; an activity of the same day tells the hour.
func TestEventsOfAnAnimal(t *testing.T) {
	h := newHouse(t).lists()
	sp := h.species("Naja kaouthia", "Elapidae")
	a := h.animal(sp)
	a.Left = &inventory.Disposition{How: inventory.Escaped, On: d("2026-06-10")}
	oneDay := h.animal(sp)
	oneDay.Arrived, oneDay.Stays[0].From = d("2026-06-10"), d("2026-06-10")
	oneDay.Left = &inventory.Disposition{How: inventory.Escaped, On: d("2026-06-10")}
	unknown := h.animal(sp)
	unknown.Arrived = 0
	other := h.site
	other.ID, other.Title = inventory.NewID(), "Other"
	away := inventory.Enclosure{ID: inventory.NewID(), Site: other.ID, Code: "X"}
	moved := h.animal(sp)
	moved.Stays = append(moved.Stays, inventory.Stay{Enclosure: away.ID, From: d("2026-06-01")})
	h.put(Record(other), Record(away), Record(a), Record(oneDay), Record(unknown), Record(moved))
	h.did("event.escape", a.Ref(), "2026-06-10", instantOf("2026-06-10T20:00-04:00"))
	b := book(t, "law", "us", rule("test.r", "told", "animal", "notice", "{events: [event.escape], animal_events: [escape, arrival, move], told: notice.any, within: 24 hours}", "    scope: venomous\n"))
	r := Evaluate(b, h.snapshot(), Ask{Now: noon})
	for _, c := range []struct {
		animal     inventory.Animal
		occurrence string
		on         string
		want       Standing
		at         time.Time
	}{
		{a, "escape 2026-06-10", "2026-06-09", NotApplicable, time.Time{}},
		{a, "escape 2026-06-10", "2026-06-10", InOrder, clockAt("2026-06-11T20:00-04:00")},
		{a, "escape 2026-06-10", "2026-06-12", OutOfOrder, clockAt("2026-06-11T20:00-04:00")},
		{a, "arrival 2000-01-01", "2000-01-03", OutOfOrder, time.Time{}},
		{oneDay, "escape 2026-06-10", "2026-06-12", OutOfOrder, time.Time{}},
		{unknown, "arrival", "2026-06-10", CannotTell, time.Time{}},
		{moved, "move 2026-06-01", "2026-06-03", OutOfOrder, time.Time{}},
	} {
		j := r.Of(Key{"told", c.animal.Ref(), c.occurrence})
		if j == nil {
			t.Errorf("%s: no duty %s", c.animal.Accession, c.occurrence)
			continue
		}
		if got := j.Law.At(d(c.on)); got.Standing != c.want && c.animal.ID != a.ID || !got.Step.At.Equal(c.at) {
			t.Errorf("%s, %s: %s is %s (%s), at %s; want %s at %s", c.animal.Accession, c.occurrence, c.on, got.Standing, got.State, got.Step.At, c.want, c.at)
		}
	}
	if r.Of(Key{"told", a.Ref(), "event.escape 2026-06-10"}) != nil {
		t.Error("one escape was counted twice")
	}
}

// TestNoticesAndTheirEvents: each notice tells of one event, and what is not
// listed proves nothing.
func TestNoticesAndTheirEvents(t *testing.T) {
	params := "{events: [event.bite], told: notice.bite, within: 3 days}"
	h := newHouse(t).lists()
	h.did("event.bite", h.site.Ref(), "2026-05-01")
	h.did("event.bite", h.site.Ref(), "2026-05-10")
	h.did("event.bite", h.site.Ref(), "2026-05-10")
	h.did("notice.bite", h.site.Ref(), "2026-05-11")
	h.did("notice.bite", h.site.Ref(), "2026-05-12", func(a *Activity) { a.Passed = inventory.Unknown })
	h.did("notice.bite", h.site.Ref(), "2026-05-12", func(a *Activity) { a.Passed = inventory.No })
	for occurrence, want := range map[string]Standing{"event.bite 2026-05-01": OutOfOrder, "event.bite 2026-05-10": CannotTell, "event.bite 2026-05-10 2": InOrder} {
		if got := noticeOf(t, h, params, occurrence, noon).At(d("2026-06-01")); got.Standing != want {
			t.Errorf("%s: %s (%s), want %s", occurrence, got.Standing, got.State, want)
		}
	}
	late := newHouse(t)
	late.put(Record(Feed{ID: inventory.NewID(), Topic: TopicActivities, Keeper: Head, Complete: d("2026-05-02"), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 2000}))
	late.did("event.bite", late.site.Ref(), "2026-05-01")
	if got := noticeOf(t, late, params, "event.bite 2026-05-01", noon).At(d("2026-06-01")); got.Standing != CannotTell || got.State != NotListedThen {
		t.Errorf("before the list begins: %s (%s)", got.Standing, got.State)
	}
}

// TestForgotten: an event is asked about for as long as the rule says.
func TestForgotten(t *testing.T) {
	h := newHouse(t).lists()
	h.did("event.x", h.site.Ref(), "2024-02-29")
	line := noticeOf(t, h, "{events: [event.x], told: notice.x, within: 3 days, forgotten_after: 1 year}", "event.x 2024-02-29", noon)
	if line.At(d("2025-02-28")).Standing != OutOfOrder || line.At(d("2025-03-01")).Standing != NotApplicable {
		t.Errorf("%s, then %s", line.At(d("2025-02-28")).Standing, line.At(d("2025-03-01")).Standing)
	}
}

// TestNoticeTellsWhy gives the facts, instants by the clock of the site.
func TestNoticeTellsWhy(t *testing.T) {
	h := newHouse(t).lists()
	h.did("event.death", h.site.Ref(), "2026-10-31", instantOf("2026-10-31T20:00-04:00"))
	b := book(t, "law", "us", rule("test.r", "told", "site", "notice", "{events: [event.death], told: notice.death, within: 8 hours}"))
	r := Evaluate(b, h.snapshot(), Ask{Now: noon})
	got := fmt.Sprint(r.Why(r.Of(Key{"told", h.site.Ref(), "event.death 2026-10-31"}), d("2026-11-01")))
	for _, want := range []string{"2026-10-31 20:00 EDT", "2026-11-01 03:00 EST", "8 hours", "notice-none"} {
		if !strings.Contains(got, want) {
			t.Errorf("%s lacks %q", got, want)
		}
	}
}

// TestNoticeRefuses each wrong key, and says what is allowed.
func TestNoticeRefuses(t *testing.T) {
	for params, want := range map[string]string{
		"{told: notice.x, within: 8 hours}":                                                  "needs events and/or animal_events",
		"{events: [event.x], within: 8 hours}":                                               "told",
		"{events: [event.x], told: notice.x}":                                                "within",
		"{events: [event.x], told: notice.x, within: 8 hour}":                                "write immediately, 8 hours, 1 business day",
		"{events: [event.x], told: notice.x, within: 0 days}":                                "no time to tell somebody within",
		"{events: [event.x], told: notice.x, within: soon}":                                  "no time to tell somebody within",
		"{events: [Event X], told: notice.x, within: 8 hours}":                               "lower-case words",
		"{animal_events: [escape], told: notice.x, within: 8 hours}":                         "only a rule about animals",
		"{events: [event.x], told: notice.x, within: 8 hours, moves_to_working_day: true}":   "only a span",
		"{events: [event.x], told: notice.x, within: 1 business day, zone: Nowhere/Land}":    "IANA",
		"{events: [event.x], told: notice.x, within: 1 business day, forgotten_after: long}": "span of time",
		"{events: [event.x], told: notice.x, within: 1 business day, calender: US-FED}":      "calender",
	} {
		_, err := ReadPack("p.yaml", []byte(pack("p", "law", "us", rule("r", "told", "site", "notice", params))))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", params, err, want)
		}
	}
	_, err := ReadPack("p.yaml", []byte(pack("p", "law", "us", rule("r", "told", "animal", "notice", "{animal_events: [flight], told: notice.x, within: 8 hours}"))))
	if err == nil || !strings.Contains(err.Error(), "allowed: arrival, birth, move, death") {
		t.Error(err)
	}
}
