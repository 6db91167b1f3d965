package schedule

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// plan is an expression and what it means, written a second time.
type plan struct {
	expr      string
	fits      func(local time.Time) bool
	everyHour bool
	daily     bool
}

func at(hour, minute int) func(time.Time) bool {
	return func(l time.Time) bool { return l.Hour() == hour && l.Minute() == minute }
}

var plans = []plan{
	{"0 0 * * *", at(0, 0), false, true},
	{"30 0 * * *", at(0, 30), false, true},
	{"30 1 * * *", at(1, 30), false, true},
	{"15 2 * * *", at(2, 15), false, true},
	{"30 2 * * *", at(2, 30), false, true},
	{"30 5 * * *", at(5, 30), false, true},
	{"59 22 * * *", at(22, 59), false, true},
	{"30 23 * * *", at(23, 30), false, true},
	{"*/15 * * * *", func(l time.Time) bool { return l.Minute()%15 == 0 }, true, false},
	{"10 * * * *", func(l time.Time) bool { return l.Minute() == 10 }, true, false},
	{"20 0-23 * * *", func(l time.Time) bool { return l.Minute() == 20 }, true, false},
	{"*/20 0-3,23 * * *", func(l time.Time) bool { return l.Minute()%20 == 0 && (l.Hour() < 4 || l.Hour() == 23) }, false, false},
	{"* * * * *", func(time.Time) bool { return true }, true, false},
	{"* 1-2 * * *", func(l time.Time) bool { return l.Hour() == 1 || l.Hour() == 2 }, false, false},
	{"45 1 * * 6,7", func(l time.Time) bool {
		return at(1, 45)(l) && (l.Weekday() == time.Saturday || l.Weekday() == time.Sunday)
	}, false, false},
	{"0 12 30 * SUN", func(l time.Time) bool { return at(12, 0)(l) && (l.Day() == 30 || l.Weekday() == time.Sunday) }, false, false},
}

// places are zones with the year in which their clocks did the most.
var places = []struct {
	zone string
	year int
}{
	{"America/New_York", 2026},
	{"Europe/London", 2026},
	{"Australia/Lord_Howe", 2026}, // half an hour
	{"Africa/Cairo", 2026},        // over midnight
	{"America/Asuncion", 2023},    // over midnight
	{"America/Nuuk", 2024},        // late on the evening before
	{"Asia/Beirut", 2026},
	{"Asia/Gaza", 2025},
	{"America/Santiago", 2026},
	{"Pacific/Apia", 2011}, // a day skipped
	{"Pacific/Kwajalein", 1993},
	{"Africa/Casablanca", 2026}, // in Ramadan
	{"America/Havana", 2026},
	{"America/St_Johns", 2011}, // at a minute past midnight
	{"Antarctica/Troll", 2026}, // two hours
	{"America/New_York", 2096}, // beyond the zone's table, and its 31 December
	{"Asia/Kolkata", 2026},     // none
}

// changes gives the instants at which the zone's offset changes in a year, by
// looking at each minute of the hours in which it does.
func changes(zone *time.Location, year int) (list []time.Time) {
	offset := func(t time.Time) int { _, east := t.In(zone).Zone(); return east }
	for t := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC); t.Year() <= year; t = t.Add(time.Hour) {
		for m := t; offset(t) != offset(t.Add(time.Hour)) && m.Before(t.Add(time.Hour)); m = m.Add(time.Minute) {
			if offset(m) != offset(m.Add(time.Minute)) {
				list = append(list, m.Add(time.Minute))
			}
		}
	}
	return list
}

// wall is what a clock on a wall shows in a stretch of time, minute by minute.
type wall struct {
	minutes []time.Time            // the instants
	shown   []time.Time            // what it shows then, as UTC
	when    map[time.Time][]int    // at which of them it shows this
	dates   map[time.Time]struct{} // that it shows
}

func look(zone *time.Location, from, to time.Time) wall {
	w := wall{when: map[time.Time][]int{}, dates: map[time.Time]struct{}{}}
	for t := from; !t.After(to); t = t.Add(time.Minute) {
		l := t.In(zone)
		shows := time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), 0, 0, time.UTC)
		w.when[shows] = append(w.when[shows], len(w.minutes))
		w.dates[shows.Truncate(24*time.Hour)] = struct{}{}
		w.minutes, w.shown = append(w.minutes, t), append(w.shown, shows)
	}
	return w
}

// expect gives the instants at which a plan comes, from the definition: each
// civil minute of each date that the clock shows comes when it is shown first
// (each time, for every hour), or when the clock jumps over it.
func (w wall) expect(p plan) (list []time.Time) {
	var hits []int
	for date := range w.dates {
		for c := date; c.Before(date.Add(24 * time.Hour)); c = c.Add(time.Minute) {
			if !p.fits(c) {
				continue
			}
			switch shown := w.when[c]; {
			case len(shown) > 0 && p.everyHour:
				hits = append(hits, shown...)
			case len(shown) > 0:
				hits = append(hits, shown[0])
			default:
				for i := 1; i < len(w.shown); i++ {
					if w.shown[i-1].Before(c) && w.shown[i].After(c) {
						hits = append(hits, i)
					}
				}
			}
		}
	}
	slices.Sort(hits)
	for _, i := range slices.Compact(hits) {
		list = append(list, w.minutes[i])
	}
	return list
}

func TestSlotsAroundClockChanges(t *testing.T) {
	looked := 0
	for _, place := range places {
		zone := mustLoad(t, place.zone)
		list := changes(zone, place.year)
		if place.zone == "Asia/Kolkata" {
			list = append(list, time.Date(place.year, 3, 29, 1, 0, 0, 0, time.UTC), time.Date(place.year, 12, 31, 1, 0, 0, 0, time.UTC))
		} else if len(list) == 0 || len(list) < 2 && place.zone != "Pacific/Kwajalein" {
			t.Errorf("%s changed its clocks %d times in %d", place.zone, len(list), place.year)
		}
		if place.year == 2096 {
			list = append(list, time.Date(2096, 12, 31, 1, 0, 0, 0, time.UTC))
		}
		for _, change := range list {
			// The wall is looked at for longer than is compared, so that what
			// was shown before is known.
			w := look(zone, change.Add(-96*time.Hour), change.Add(96*time.Hour))
			from, to := change.Add(-48*time.Hour), change.Add(48*time.Hour)
			for _, p := range plans {
				want := slices.DeleteFunc(w.expect(p), func(t time.Time) bool { return !t.After(from) || t.After(to) })
				got := collect(mustParse(t, p.expr), from, to, zone)
				if diff := cmp.Diff(show(want, zone), show(got, zone)); diff != "" {
					t.Errorf("%q in %s around %s (-want +got):\n%s", p.expr, place.zone, change.In(zone), diff)
				}
				looked += len(want)
			}
		}
	}
	if looked < 10_000 {
		t.Errorf("only %d slots were compared", looked)
	}
}

// TestOnceADay: what is daily comes as often as there are dates, year round,
// and on each of them, but for the slot that a jump over midnight brings to the
// next date.
func TestOnceADay(t *testing.T) {
	for _, place := range places {
		zone := mustLoad(t, place.zone)
		from := mustParse(t, "0 12 * * *").Next(time.Date(place.year, 1, 1, 0, 0, 0, 0, time.UTC), zone)
		to := from.AddDate(1, 0, 0)
		dates := map[string]bool{}
		for at := from.Add(time.Hour); !at.After(to); at = at.Add(15 * time.Minute) {
			dates[at.In(zone).Format(time.DateOnly)] = true
		}
		for _, p := range plans {
			if !p.daily {
				continue
			}
			got := collect(mustParse(t, p.expr), from, to, zone)
			// From noon to noon there is one slot fewer than dates.
			if len(got) != len(dates)-1 {
				t.Errorf("%q in %s came %d times from noon on %s in a year; %d dates", p.expr, place.zone, len(got), from.Format(time.DateOnly), len(dates))
			}
			seen, twice := map[string]bool{}, 0
			for _, at := range got {
				date := at.Format(time.DateOnly)
				if seen[date] {
					twice++
				}
				seen[date] = true
			}
			if twice > 1 {
				t.Errorf("%q in %s came twice on %d dates", p.expr, place.zone, twice)
			}
		}
	}
}

// TestKnownChanges: by hand, for those who read.
func TestKnownChanges(t *testing.T) {
	for name, c := range map[string]struct {
		expr, zone, after string
		want              []string
	}{
		"gap":                {"30 2 * * *", "America/New_York", "2026-03-07T12:00:00Z", []string{"2026-03-08T03:00:00-04:00", "2026-03-09T02:30:00-04:00"}},
		"fold":               {"30 1 * * *", "America/New_York", "2026-10-31T12:00:00Z", []string{"2026-11-01T01:30:00-04:00", "2026-11-02T01:30:00-05:00"}},
		"after the first":    {"30 1 * * *", "America/New_York", "2026-11-01T05:45:00Z", []string{"2026-11-02T01:30:00-05:00"}},
		"within the second":  {"30 1 * * *", "America/New_York", "2026-11-01T06:10:00Z", []string{"2026-11-02T01:30:00-05:00"}},
		"hourly in a fold":   {"0 * * * *", "America/New_York", "2026-11-01T04:30:00Z", []string{"2026-11-01T01:00:00-04:00", "2026-11-01T01:00:00-05:00", "2026-11-01T02:00:00-05:00"}},
		"half an hour":       {"15 2 * * *", "Australia/Lord_Howe", "2026-10-03T00:00:00Z", []string{"2026-10-04T02:30:00+11:00", "2026-10-05T02:15:00+11:00"}},
		"midnight":           {"0 0 * * *", "Africa/Cairo", "2026-04-23T00:00:00Z", []string{"2026-04-24T01:00:00+03:00", "2026-04-25T00:00:00+03:00"}},
		"midnight, Asuncion": {"0 0 * * *", "America/Asuncion", "2023-09-30T12:00:00Z", []string{"2023-10-01T01:00:00-03:00", "2023-10-02T00:00:00-03:00"}},
		"no such day":        {"30 5 * * *", "Pacific/Apia", "2011-12-29T00:00:00Z", []string{"2011-12-29T05:30:00-10:00", "2011-12-31T05:30:00+14:00"}},
		"only on such a day": {"30 5 30 12 *", "Pacific/Apia", "2011-12-01T00:00:00Z", []string{"2012-12-30T05:30:00+14:00"}},
		"several in a gap":   {"*/10 2 * * *", "Europe/Berlin", "2026-03-29T00:00:00Z", []string{"2026-03-29T03:00:00+02:00", "2026-03-30T02:00:00+02:00"}},
		"a far leap day":     {"0 0 29 2 *", "Europe/London", "2096-02-29T00:00:00Z", []string{"2104-02-29T00:00:00Z"}},
	} {
		t.Run(name, func(t *testing.T) {
			after, err := time.Parse(time.RFC3339, c.after)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for range c.want {
				after = mustParse(t, c.expr).Next(after, mustLoad(t, c.zone))
				got = append(got, after.Format(time.RFC3339))
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// TestChangesAreNotMissed: the end of a stretch is where the offset, looked at
// each hour, changes; also beyond a zone's table.
func TestChangesAreNotMissed(t *testing.T) {
	for _, place := range places {
		zone := mustLoad(t, place.zone)
		for _, year := range []int{place.year, 2026, 2044, 2088, 2096, 2100} {
			var got []time.Time
			first := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
			for at := first; ; {
				next := nextChange(at.In(zone))
				if next.IsZero() || next.Year() > year {
					break
				}
				if !next.After(at) {
					t.Fatalf("%s keeps its offset at %s until %s", place.zone, at, next)
				}
				_, before := next.Add(-1).In(zone).Zone()
				if _, after := next.In(zone).Zone(); before != after {
					got = append(got, next)
				}
				at = next
			}
			if diff := cmp.Diff(show(changes(zone, year), zone), show(got, zone)); diff != "" {
				t.Errorf("%s in %d (-want +got):\n%s", place.zone, year, diff)
			}
		}
	}
}

func collect(s Spec, after, until time.Time, zones ...*time.Location) []time.Time {
	return slices.Collect(s.Slots(after, until, zones...))
}

func show(list []time.Time, zone *time.Location) (texts []string) {
	for _, t := range list {
		texts = append(texts, t.In(zone).Format(time.RFC3339))
	}
	return texts
}
