package day

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func TestHolidayLists(t *testing.T) {
	const (
		federal = "5 U.S.C. 6103(b) and Executive Order 11582 s.3 [D, seen in two public date tables]"
		ukGov   = "GOV.UK bank holiday data, snapshot of 2026-08-21 [R]"
	)
	for _, v := range []struct {
		calendar string
		year     int
		want     string // a star marks an observed or substitute day
		source   string
	}{
		{"US-FED", 2025, "01-01 01-20 02-17 05-26 06-19 07-04 09-01 10-13 11-11 11-27 12-25", federal},
		{"US-FED", 2026, "01-01 01-19 02-16 05-25 06-19 07-03* 09-07 10-12 11-11 11-26 12-25", federal},
		{"US-FED", 2027, "01-01 01-18 02-15 05-31 06-18* 07-05* 09-06 10-11 11-11 11-25 12-24* 12-31*", federal},
		{"GB-EAW", 2026, "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-28*", ukGov},
		{"GB-EAW", 2027, "01-01 03-26 03-29 05-03 05-31 08-30 12-27* 12-28*", ukGov},
		{"GB-SCT", 2026, "01-01 01-02 04-03 05-04 05-25 06-15 08-03 11-30 12-25 12-28*", ukGov},
		{"GB-SCT", 2027, "01-01 01-04* 03-26 05-03 05-31 08-02 11-30 12-27* 12-28*", ukGov},
		{"GB-NIR", 2026, "01-01 03-17 04-03 04-06 05-04 05-25 07-13* 08-31 12-25 12-28*", ukGov},
		{"GB-NIR", 2027, "01-01 03-17 03-26 03-29 05-03 05-31 07-12 08-30 12-27* 12-28*", ukGov},
	} {
		t.Run(fmt.Sprint(v.calendar, " ", v.year), func(t *testing.T) {
			got := strings.Join(holidaysOf(builtIn(t, v.calendar), v.year), " ")
			if diff := cmp.Diff(v.want, got); diff != "" {
				t.Errorf("%s (%s)", diff, v.source)
			}
		})
	}
}

func holidaysOf(c Calendar, year int) []string {
	var list []string
	for d := Of(year, time.January, 1); d <= Of(year, time.December, 31); d++ {
		if h, ok := c.Holiday(d); ok {
			text := d.String()[5:]
			if h.Note != "" {
				text += "*"
			}
			list = append(list, text)
		}
	}
	return list
}

// The federal list follows from the statute; so the data are checked against
// it, year by year (5 U.S.C. 6103(a) and (b), Executive Order 11582 s.3 [R2]).
func TestFederalHolidaysFollowFromStatute(t *testing.T) {
	cal := usFederal(t)
	first, last := cal.Coverage()
	want := map[Day]bool{}
	for year := first; year <= last+1; year++ {
		for _, d := range statutoryDays(year) {
			if y, _, _ := d.Date(); y >= first && y <= last {
				want[d] = true
			}
		}
	}
	got := map[Day]bool{}
	for d := Of(first, time.January, 1); d <= Of(last, time.December, 31); d++ {
		if _, ok := cal.Holiday(d); ok {
			got[d] = true
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// statutoryDays gives a year's federal holidays as observed.
func statutoryDays(year int) []Day {
	days := []Day{
		nthWeekday(year, time.January, time.Monday, 3),
		nthWeekday(year, time.February, time.Monday, 3),
		nthWeekday(year, time.June, time.Monday, 1) - 7, // the last Monday in May
		nthWeekday(year, time.September, time.Monday, 1),
		nthWeekday(year, time.October, time.Monday, 2),
		nthWeekday(year, time.November, time.Thursday, 4),
	}
	for _, d := range []Day{
		Of(year, time.January, 1), Of(year, time.June, 19), Of(year, time.July, 4),
		Of(year, time.November, 11), Of(year, time.December, 25),
	} {
		switch d.Weekday() {
		case time.Saturday:
			d--
		case time.Sunday:
			d++
		}
		days = append(days, d)
	}
	return days
}

func nthWeekday(year int, month time.Month, weekday time.Weekday, n int) Day {
	first := Of(year, month, 1)
	return first.Add((int(weekday-first.Weekday())+7)%7 + 7*(n-1))
}

// FRCP 6(a)(1)(C) [R] with each calendar; results derived.
func TestRollForward(t *testing.T) {
	for _, v := range []struct {
		event, span, raw string
		want             map[string]string
	}{
		{"2026-12-11", "14 days", "2026-12-25", map[string]string{"US-FED": "2026-12-28", "GB-EAW": "2026-12-29", "GB-SCT": "2026-12-29"}},
		{"2026-06-01", "14 days", "2026-06-15", map[string]string{"US-FED": "2026-06-15", "GB-EAW": "2026-06-15", "GB-SCT": "2026-06-16"}},
		{"2026-06-05", "30 days", "2026-07-05", map[string]string{"US-FED": "2026-07-06", "GB-EAW": "2026-07-06", "GB-SCT": "2026-07-06"}},
		{"2026-03-20", "14 days", "2026-04-03", map[string]string{"US-FED": "2026-04-03", "GB-EAW": "2026-04-07", "GB-SCT": "2026-04-06"}},
	} {
		for calendar, want := range v.want {
			t.Run(v.event+" "+calendar, func(t *testing.T) {
				got := moving(after(v.span)).On(MustParse(v.event), builtIn(t, calendar))
				if diff := cmp.Diff(Deadline{On: MustParse(want), Raw: MustParse(v.raw)}, got); diff != "" {
					t.Error(diff)
				}
				still := after(v.span).On(MustParse(v.event), builtIn(t, calendar))
				if still.On.String() != v.raw {
					t.Errorf("a period that does not move gives %s, want %s", still.On, v.raw)
				}
			})
		}
	}
}

func TestEmbeddedSet(t *testing.T) {
	set := Embedded()
	if got, want := set.Names(), []string{"GB-EAW", "GB-NIR", "GB-SCT", "US-FED"}; !slices.Equal(got, want) {
		t.Errorf("got calendars %v, want %v", got, want)
	}
	total := 0
	for _, name := range set.Names() {
		cal := builtIn(t, name)
		if first, last := cal.Coverage(); first != 2025 || last != 2028 {
			t.Errorf("%s covers %d to %d", name, first, last)
		}
		total += len(cal.data.on)
	}
	if total != 153 {
		t.Errorf("got %d holidays, want 153", total)
	}
	if set.Edition() == "" || set.ReadOn() != MustParse("2026-08-21") || len(set.Hash()) != 64 {
		t.Errorf("edition %q, read on %s, hash %q", set.Edition(), set.ReadOn(), set.Hash())
	}
}
