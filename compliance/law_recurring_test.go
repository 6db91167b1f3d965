package compliance

import (
	"strings"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestOneDrillOfEachKindAYear: only the kind that is overdue is; another
// kind's drills do not stand in for it.
func TestOneDrillOfEachKindAYear(t *testing.T) {
	const source = "accreditation standards, one live drill a year for each of four types (from memory)"
	last := map[string]string{"drill.fire": "2025-10-01", "drill.weather": "2026-01-10", "drill.injury": "2026-02-01", "drill.escape": "2025-06-30"}
	h := newHouse(t).lists()
	var rules []string
	for what, on := range last {
		h.put(Record(Activity{ID: inventory.NewID(), What: what, Subject: h.site.Ref(), On: d(on), Passed: inventory.Yes}))
		rules = append(rules, rule("test."+what, what, "site", "recurring", "{activity: "+what+", every: 12 months}"))
	}
	for range 3 { // four fire drills in a year
		h.put(Record(Activity{ID: inventory.NewID(), What: "drill.fire", Subject: h.site.Ref(), On: d("2026-03-01"), Passed: inventory.Yes}))
	}
	s, b := h.snapshot(), book(t, "law", "us", strings.Join(rules, ""))
	for what := range last {
		got := lineOf(t, b, s, what, h.site.Ref()).At(d("2026-07-15"))
		want := Done
		if what == "drill.escape" {
			want = Overdue
			if got.Step.By != d("2026-06-30") {
				t.Errorf("%s was due %s, want 2026-06-30 (%s)", what, got.Step.By, source)
			}
		}
		if got.State != want {
			t.Errorf("%s: %s, want %s (%s)", what, got.State, want, source)
		}
	}
}

// TestYearlyReport: due by a fixed date for the year before.
func TestYearlyReport(t *testing.T) {
	for _, c := range []struct {
		name, yearly, year, due, source string
	}{
		{"50 CFR 13.45, report for 2026", "{month: 3, day: 31, for_previous_year: true}", "2026", "2027-03-31", "50 CFR 13.45 (R), date D"},
		{"50 CFR 13.45, report for 2027", "{month: 3, day: 31, for_previous_year: true}", "2027", "2028-03-31", "50 CFR 13.45 (R), date D"},
		{"17 IAC 885.140, report for 2026, conservative alert", "{month: 1, day: 31, for_previous_year: true}", "2026", "2027-01-29", "17 Ill. Adm. Code 885.140 (R), 31 Jan 2027 is a Sunday, date D"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			b := book(t, "law", "us", rule("test.r", "report", "site", "recurring", "{activity: report.x, calendar: US-FED, moves_to_working_day: true, yearly: "+c.yearly+"}"))
			j := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{"report", h.site.Ref(), c.year})
			if j == nil {
				t.Fatal("no duty for that year")
			}
			legal := j.Law.At(d(c.due)).Step.Legal
			if got := j.Law.At(d(c.due)).Step.By; got != d(c.due) {
				t.Errorf("by %s, want %s (%s)", got, c.due, c.source)
			}
			if j.Law.At(legal).Standing != InOrder || j.Law.At(legal+1).Standing != OutOfOrder {
				t.Errorf("the last day is not in time, or the day after is (%s)", c.source)
			}
		})
	}
}

// TestReportDoneLate: in order again from the day on which it is done.
func TestReportDoneLate(t *testing.T) {
	h := newHouse(t).lists()
	h.put(Record(Activity{ID: inventory.NewID(), What: "report.x", Subject: h.site.Ref(), On: d("2026-04-20"), Passed: inventory.Yes, Year: 2025}))
	b := book(t, "law", "us", rule("test.r", "report", "site", "recurring", "{activity: report.x, yearly: {month: 3, day: 31, for_previous_year: true}}"))
	line := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{"report", h.site.Ref(), "2025"}).Law
	for on, want := range map[string]Standing{"2025-12-31": NotApplicable, "2026-01-01": InOrder, "2026-03-31": InOrder, "2026-04-01": OutOfOrder, "2026-04-19": OutOfOrder, "2026-04-20": InOrder} {
		if got := line.At(d(on)).Standing; got != want {
			t.Errorf("%s: %s, want %s", on, got, want)
		}
	}
}

// TestCertificate: its own last day counts, and an unknown one is not told.
func TestCertificate(t *testing.T) {
	for _, c := range []struct {
		name   string
		until  day.End
		passed inventory.Tri
		on     string
		want   Standing
	}{
		{"the last day is good", day.Until(d("2026-08-31")), inventory.Yes, "2026-08-31", InOrder},
		{"the day after is not", day.Until(d("2026-08-31")), inventory.Yes, "2026-09-01", OutOfOrder},
		{"an end that is not recorded", day.End{}, inventory.Yes, "2026-07-01", CannotTell},
		{"one that never ends", day.Forever(), inventory.Yes, "2070-01-01", InOrder},
		{"failed changes nothing", day.Until(d("2026-08-31")), inventory.No, "2026-07-01", OutOfOrder},
		{"whether it was passed is not recorded", day.Until(d("2026-08-31")), inventory.Unknown, "2026-07-01", CannotTell},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			p := Person{ID: inventory.NewID(), Called: "Somebody", Site: h.site.ID, Joined: d("2020-01-01"), Offices: []Office{{Role: Keeper}}}
			h.put(Record(p), Record(Activity{ID: inventory.NewID(), What: "certificate.cpr", Subject: p.Ref(), On: d("2025-09-01"), Passed: c.passed, Until: c.until}))
			b := book(t, "law", "us", rule("test.r", "cpr", "person", "recurring", "{activity: certificate.cpr, certificate: true}"))
			if got := lineOf(t, b, h.snapshot(), "cpr", p.Ref()).At(d(c.on)).Standing; got != c.want {
				t.Errorf("%s, want %s", got, c.want)
			}
		})
	}
}

// TestRoutineKeepsHabits: without it a habit runs out, with it it goes on,
// but what is overdue already stays so.
func TestRoutineKeepsHabits(t *testing.T) {
	h := newHouse(t).lists()
	h.put(Record(Activity{ID: inventory.NewID(), What: "count.x", Subject: h.site.Ref(), On: d("2026-06-01"), Passed: inventory.Yes}),
		Record(Activity{ID: inventory.NewID(), What: "count.y", Subject: h.site.Ref(), On: d("2026-01-01"), Passed: inventory.Yes}))
	b := book(t, "law", "us", rule("test.x", "x", "site", "recurring", "{activity: count.x, every: 40 days, habitual: true}")+
		rule("test.y", "y", "site", "recurring", "{activity: count.y, every: 40 days, habitual: true}"))
	ask := func(routine bool, requirement string) Standing {
		r := Evaluate(b, h.snapshot(), Ask{Now: noon, Assumptions: inventory.Assumptions{Routine: routine}})
		return r.Of(Key{Requirement: requirement, Subject: h.site.Ref()}).Law.At(d("2026-12-01")).Standing
	}
	for _, c := range []struct {
		routine bool
		what    string
		want    Standing
	}{{false, "x", OutOfOrder}, {true, "x", InOrder}, {true, "y", OutOfOrder}} {
		if got := ask(c.routine, c.what); got != c.want {
			t.Errorf("routine %t, %s: %s, want %s", c.routine, c.what, got, c.want)
		}
	}
}

// TestFeed: what a list's freshness does to answers.
func TestFeed(t *testing.T) {
	b := book(t, "law", "us", rule("test.r", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}"))
	for _, c := range []struct {
		name string
		feed *Feed
		done string
		on   string
		want Standing
	}{
		{"fresh and done", &Feed{Complete: d("2020-01-01"), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 35}, "2026-01-01", "2026-06-15", InOrder},
		{"fresh and not done", &Feed{Complete: d("2020-01-01"), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 35}, "", "2026-06-15", OutOfOrder},
		{"the last fresh day", &Feed{Complete: d("2020-01-01"), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 35}, "2026-01-01", "2026-07-06", InOrder},
		{"stale turns in order into cannot tell", &Feed{Complete: d("2020-01-01"), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 35}, "2026-01-01", "2026-07-07", CannotTell},
		{"stale leaves out of order", &Feed{Complete: d("2020-01-01"), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 35}, "", "2026-07-07", OutOfOrder},
		{"before the list is complete absence proves nothing", &Feed{Complete: d("2026-06-20"), Confirmed: []day.Day{d("2026-06-21")}, MaxAge: 35}, "", "2026-06-15", CannotTell},
		{"before the list is complete presence still proves", &Feed{Complete: d("2026-06-20"), Confirmed: []day.Day{d("2026-06-21")}, MaxAge: 35}, "2026-01-01", "2026-06-15", InOrder},
		{"never confirmed is stale", &Feed{Complete: d("2020-01-01"), MaxAge: 35}, "2026-01-01", "2026-06-15", CannotTell},
		{"nobody keeps the list", nil, "2026-01-01", "2026-06-15", CannotTell},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t)
			if c.feed != nil {
				c.feed.ID, c.feed.Topic, c.feed.Keeper = inventory.NewID(), TopicActivities, Head
				h.put(Record(*c.feed))
			}
			if c.done != "" {
				h.put(Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: d(c.done), Passed: inventory.Yes}))
			}
			if got := lineOf(t, b, h.snapshot(), "drill", h.site.Ref()).At(d(c.on)); got.Standing != c.want {
				t.Errorf("%s (%s), want %s", got.Standing, got.State, c.want)
			}
		})
	}
}

// TestWatchOfTheSweep is E10: a job that last ran 40 hours ago makes
// everything that rests on it untold.
func TestWatchOfTheSweep(t *testing.T) {
	h := newHouse(t).lists()
	b := book(t, "house", "", rule("test.r", "sweep", "organisation", "watch", "{what: sweep, max_age: 26h}"))
	for hours, want := range map[int]Code{0: SweepFresh, 26: SweepFresh, 27: SweepLate, 40: SweepLate} {
		s := h.snapshot()
		s.Pulse.Swept = noon.Add(-time.Duration(hours) * time.Hour)
		got := Evaluate(b, s, Ask{Now: noon}).Of(Key{Requirement: "sweep", Subject: h.org.Ref()}).Policy.At(d("2026-06-15"))
		if got.State != want {
			t.Errorf("%d hours: %s, want %s (E10 of this project's job description, common practice, no source)", hours, got.State, want)
		}
	}
}

// TestACertificateThatNeverEnds: nothing more is asked of whoever has one.
func TestACertificateThatNeverEnds(t *testing.T) {
	h := newHouse(t).lists()
	p := h.personCalled("Somebody")
	h.put(Record(Activity{ID: inventory.NewID(), What: "certificate.cpr", Subject: p.Ref(), On: d("2025-09-01"), Passed: inventory.Yes, Until: day.Forever()}))
	r := Evaluate(book(t, "law", "us", rule("test.r", "cpr", "person", "recurring", "{activity: certificate.cpr, certificate: true}")), h.snapshot(), Ask{Now: noon})
	if f, needed := r.Finding(r.Of(Key{Requirement: "cpr", Subject: p.Ref()})); needed {
		t.Errorf("somebody is needed: %s, %s by %q", f.Verdict.Standing, f.Verdict.Step.Do, f.Verdict.Step.By)
	}
}
