package day

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// zones are of every sort: whole, half and quarter hours, both ends of the
// date line, clocks that change at midnight, places that skipped a day.
var zones = []string{
	"UTC", "Africa/Cairo", "Africa/Casablanca", "Africa/Johannesburg", "Africa/Juba", "Africa/Khartoum",
	"America/Asuncion", "America/Caracas", "America/Chicago", "America/Goose_Bay", "America/Havana",
	"America/Los_Angeles", "America/New_York", "America/Nuuk", "America/Santiago", "America/Sao_Paulo",
	"America/Scoresbysund", "America/St_Johns", "Antarctica/Casey", "Antarctica/Troll", "Asia/Amman", "Asia/Beirut",
	"Asia/Colombo", "Asia/Damascus", "Asia/Dhaka", "Asia/Gaza", "Asia/Kathmandu", "Asia/Kolkata", "Asia/Pyongyang",
	"Asia/Tehran", "Atlantic/Azores", "Australia/Adelaide", "Australia/Brisbane", "Australia/Lord_Howe",
	"Australia/Sydney", "Europe/Berlin", "Europe/London", "Europe/Volgograd", "Europe/Zurich", "Pacific/Apia",
	"Pacific/Chatham", "Pacific/Fakaofo", "Pacific/Kiritimati", "Pacific/Kwajalein",
}

var since, until = MustParse("2000-01-01"), MustParse("2040-12-31")

// dateTwice are the zones of the list in which, since 2000, a clock was set
// back across midnight after the new date had begun.
var dateTwice = map[string]bool{"America/Goose_Bay": true, "America/St_Johns": true, "Antarctica/Casey": true}

func TestDaysFollowOnEachOther(t *testing.T) {
	for _, name := range zones {
		z, end := zone(t, name), time.Time{}
		for d := since; d <= until; d++ {
			start := StartOf(d, z)
			if !end.IsZero() && !start.Equal(end) {
				t.Fatalf("%s: %s begins at %s, the day before ended at %s", name, d, start, end)
			}
			end = EndOf(d, z)
			if In(start, z) < d || In(start.Add(-1), z) >= d || In(end, z) <= d {
				t.Fatalf("%s: %s is from %s to %s", name, d, start, end)
			}
			if start.Equal(end) && In(start, z) == d {
				t.Fatalf("%s: %s is empty", name, d)
			}
		}
	}
}

func TestEveryInstantOfADayHasItsDate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(zones).Draw(t, "zone")
		z, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		d := Day(rapid.Int32Range(int32(since), int32(until)).Draw(t, "day"))
		start, end := StartOf(d, z), EndOf(d, z)
		for at := start; at.Before(end); at = at.Add(time.Minute) {
			got := In(at, z)
			if got != d && !(dateTwice[name] && got == d-1) {
				t.Fatalf("%s: %s is on %s, not on %s", name, at, got, d)
			}
		}
	})
}

// The days around each change of a clock are few and matter most.
func TestEveryInstantAroundClockChanges(t *testing.T) {
	twice := map[string]bool{}
	for _, name := range zones {
		z := zone(t, name)
		for d := since; d <= until; d++ {
			start, end := StartOf(d, z), EndOf(d, z)
			_, a := start.Add(-time.Hour).Zone()
			_, b := end.Add(time.Hour).Zone()
			if a == b {
				continue
			}
			for at := start; at.Before(end); at = at.Add(time.Minute) {
				switch got := In(at, z); {
				case got == d-1:
					twice[name] = true
				case got != d:
					t.Fatalf("%s: %s is on %s, not on %s", name, at, got, d)
				}
			}
		}
	}
	for _, name := range zones {
		if twice[name] != dateTwice[name] {
			t.Errorf("%s: a date comes twice: %t", name, twice[name])
		}
	}
}

// Beyond a zone's table the time package gives a wrong end of the offset on 31
// December of leap years; a search that trusted it would never return.
func TestLastDayOfFarLeapYears(t *testing.T) {
	for _, name := range zones {
		z := zone(t, name)
		for _, year := range []int{2040, 2044, 2096, 2400, 9996} {
			d := Of(year, time.December, 31)
			start, end := StartOf(d, z), EndOf(d, z)
			if end.Sub(start) != 24*time.Hour || In(start, z) != d || In(end, z) != d+1 || In(end.Add(-1), z) != d {
				t.Errorf("%s: %s is from %s to %s", name, d, start, end)
			}
		}
	}
}

// The definition, minute by minute.
func TestStartOfIsTheFirstInstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		d := Day(rapid.Int32Range(int32(since), int32(until)).Draw(t, "day"))
		at := d.midnight().Add(-40 * time.Hour)
		for In(at, z) < d {
			at = at.Add(time.Minute)
		}
		if got := StartOf(d, z); !got.Equal(at) {
			t.Fatalf("got %s, want %s", got, at)
		}
	})
}

func BenchmarkEndOf(b *testing.B) {
	z, d := zone(b, "America/New_York"), MustParse("2026-11-01")
	b.ReportAllocs()
	for b.Loop() {
		EndOf(d, z)
	}
}

// TestShown: each instant that a clock shows is found, and nothing else. The
// changes are those of the zone database: hours, half an hour at Lord Howe, a
// whole day at Apia.
func TestShown(t *testing.T) {
	for _, c := range []struct {
		zone, wall string
		want       []string
	}{
		{"Europe/London", "2026-07-01 12:00", []string{"2026-07-01T11:00:00Z"}},
		{"Europe/London", "2026-03-29 01:30", nil},
		{"Europe/London", "2026-10-25 01:30", []string{"2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z"}},
		{"Europe/London", "2026-10-25 02:00", []string{"2026-10-25T02:00:00Z"}},
		{"Australia/Lord_Howe", "2026-04-05 01:45", []string{"2026-04-04T14:45:00Z", "2026-04-04T15:15:00Z"}},
		{"Pacific/Apia", "2011-12-30 12:00", nil},
		{"UTC", "2026-12-31 23:59", []string{"2026-12-31T23:59:00Z"}},
		{"America/New_York", "2044-12-31 20:00", []string{"2045-01-01T01:00:00Z"}}, // beyond the table, in a leap year
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		wall, err := time.Parse("2006-01-02 15:04", c.wall)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, at := range Shown(wall, zone) {
			got = append(got, at.UTC().Format(time.RFC3339))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s in %s: %v; want %v", c.wall, c.zone, got, c.want)
		}
	}
}
