package schedule

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// drawSpec gives an expression that Parse takes.
func drawSpec(t *rapid.T) Spec {
	var parts []string
	for _, f := range fields {
		top := f.max
		if f.max == 31 {
			top = 28 // so that it comes in each month
		}
		part := rapid.OneOf(
			rapid.Just("*"),
			rapid.Map(rapid.IntRange(2, max(2, f.max/2)), func(n int) string { return fmt.Sprintf("*/%d", n) }),
			rapid.Map(rapid.SliceOfN(rapid.IntRange(f.min, top), 1, 3), func(list []int) string {
				return strings.Trim(strings.ReplaceAll(fmt.Sprint(list), " ", ","), "[]")
			}),
			rapid.Map(rapid.SliceOfN(rapid.IntRange(f.min, top), 2, 2), func(list []int) string {
				return fmt.Sprintf("%d-%d", slices.Min(list), slices.Max(list))
			}),
		)
		parts = append(parts, part.Draw(t, f.name))
	}
	s, err := Parse(strings.Join(parts, " "))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func drawZones(t *rapid.T) (zones []*time.Location) {
	for range rapid.IntRange(0, 3).Draw(t, "zones") {
		zone, err := time.LoadLocation(places[rapid.IntRange(0, len(places)-1).Draw(t, "zone")].zone)
		if err != nil {
			t.Fatal(err)
		}
		zones = append(zones, zone)
	}
	return zones
}

func drawInstant(t *rapid.T) time.Time {
	const first, last = 315532800, 4102444800 // 1980 and 2100, in Unix seconds
	return time.Unix(rapid.Int64Range(first, last).Draw(t, "second"), rapid.SampledFrom([]int64{0, 1, 999999999}).Draw(t, "nano")).UTC()
}

func TestNextIsAfterAndMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, zones, a := drawSpec(t), drawZones(t), drawInstant(t)
		b := a.Add(time.Duration(rapid.Int64Range(0, int64(60*24*time.Hour)).Draw(t, "later")))
		x, y := s.NextIn(a, zones...), s.NextIn(b, zones...)
		if !x.After(a) || !y.After(b) || y.Before(x) {
			t.Fatalf("%q comes at %s after %s, and at %s after %s", s, x, a, y, b)
		}
		if x.After(b) && !x.Equal(y) {
			t.Fatalf("%q comes at %s after %s, but at %s after %s", s, x, a, y, b)
		}
		if got := s.NextIn(x.Add(-1), zones...); !got.Equal(x) {
			t.Fatalf("%q comes at %s, but just before it, next at %s", s, x, got)
		}
	})
}

func TestSlotsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, zones, a := drawSpec(t), drawZones(t), drawInstant(t)
		span := rapid.SampledFrom([]time.Duration{time.Hour, 5 * 24 * time.Hour}).Draw(t, "span")
		b := a.Add(time.Duration(rapid.Int64Range(0, int64(span)).Draw(t, "first")))
		c := b.Add(time.Duration(rapid.Int64Range(0, int64(span)).Draw(t, "second")))
		all := collect(s, a, c, zones...)
		if diff := cmp.Diff(all, slices.Concat(collect(s, a, b, zones...), collect(s, b, c, zones...))); diff != "" {
			t.Fatalf("%q differs if it is cut at %s (-whole +cut):\n%s", s, b, diff)
		}
		var steps []time.Time
		for at := s.NextIn(a, zones...); !at.After(c); at = s.NextIn(at, zones...) {
			steps = append(steps, at)
		}
		if diff := cmp.Diff(all, steps); diff != "" {
			t.Fatalf("%q differs by steps (-slots +steps):\n%s", s, diff)
		}
		latest, missed := s.Latest(a, c, zones...)
		switch {
		case len(all) == 0:
			if !latest.IsZero() || missed != 0 {
				t.Fatalf("%q has no slot, and the latest is %s with %d missed", s, latest, missed)
			}
		case !latest.Equal(all[len(all)-1]) || missed != len(all)-1:
			t.Fatalf("%q: the latest is %s with %d missed; want %s with %d", s, latest, missed, all[len(all)-1], len(all)-1)
		}
	})
}

// TestIntervalIsTheLongestGap: slot by slot; with one minute of the hour only,
// so that there are few.
func TestIntervalIsTheLongestGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zones, at := drawZones(t), drawInstant(t)
		_, rest, _ := strings.Cut(drawSpec(t).String(), " ")
		s, err := Parse(fmt.Sprintf("%d %s", rapid.IntRange(0, 59).Draw(t, "minute"), rest))
		if err != nil {
			t.Fatal(err)
		}
		var last time.Time
		var longest time.Duration
		ahead := 0
		for slot := range s.Slots(at.AddDate(-2, 0, 0), at.AddDate(20, 0, 0), zones...) {
			if slot.After(at) {
				longest = max(longest, slot.Sub(last))
				if ahead++; ahead >= 8 && !slot.Before(at.AddDate(0, 0, 400)) {
					break
				}
			}
			last = slot
		}
		got := s.Interval(at, zones...)
		if longest > time.Hour && got != longest || longest <= time.Hour && (got > longest || got <= 0) {
			t.Fatalf("%q: %s, but the longest gap is %s", s, got, longest)
		}
	})
}

func TestInterval(t *testing.T) {
	const hour, dayLong = time.Hour, 24 * time.Hour
	now := time.Date(2026, 6, 10, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		expr, zone string
		want       time.Duration
	}{
		{"* * * * *", "UTC", time.Minute},
		{"*/15 * * * *", "Europe/London", 15 * time.Minute},
		{"0 * * * *", "Europe/London", hour},
		{"30 5 * * *", "UTC", dayLong},
		{"30 5 * * *", "Europe/London", dayLong + hour}, // the night in autumn
		{"0 8 * * 1-5", "UTC", 3 * dayLong},
		{"*/5 8-17 * * 1-5", "UTC", 3*dayLong - 9*hour - 55*time.Minute},
		{"0 8 * * 7", "UTC", 7 * dayLong},
		{"0 8 1 * *", "UTC", 31 * dayLong},
		{"0 0 1 1 *", "UTC", 366 * dayLong},
		{"* * * 1-11 *", "UTC", 31*dayLong + time.Minute},
		{"0 0 29 2 *", "UTC", (4*365 + 1) * dayLong},
	} {
		if got := mustParse(t, c.expr).Interval(now, mustLoad(t, c.zone)); got != c.want {
			t.Errorf("%q in %s: %s, want %s", c.expr, c.zone, got, c.want)
		}
	}
}

func TestSlotsOfSeveralZones(t *testing.T) {
	london, lisbon, berlin := mustLoad(t, "Europe/London"), mustLoad(t, "Europe/Lisbon"), mustLoad(t, "Europe/Berlin")
	from := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	var got []string
	for slot := range mustParse(t, "0 8 * * *").Slots(from, from.AddDate(0, 0, 2), london, lisbon, berlin) {
		got = append(got, slot.Format(time.RFC3339)+" "+slot.Location().String())
	}
	want := []string{
		"2026-06-01T08:00:00+02:00 Europe/Berlin", "2026-06-01T08:00:00+01:00 Europe/London",
		"2026-06-02T08:00:00+02:00 Europe/Berlin", "2026-06-02T08:00:00+01:00 Europe/London",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// A year of every minute: the newest slot is right though the count stops.
func TestLatestOfVeryMany(t *testing.T) {
	from := time.Date(2026, 1, 1, 0, 0, 30, 0, time.UTC)
	until := from.AddDate(1, 0, 0)
	latest, missed := mustParse(t, "* * * * *").Latest(from, until)
	if want := until.Add(-30 * time.Second); !latest.Equal(want) || missed != MostMissed {
		t.Errorf("%s with %d missed, want %s with %d", latest, missed, want, MostMissed)
	}
}

func BenchmarkNext(b *testing.B) {
	zone := mustLoad(b, "Europe/London")
	for _, expr := range []string{"* * * * *", "30 5 * * *", "0 8 1 * *", "0 0 29 2 *"} {
		b.Run(expr, func(b *testing.B) {
			s, at := mustParse(b, expr), time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
			for b.Loop() {
				s.Next(at, zone)
			}
		})
	}
}

func BenchmarkLatestOfAYear(b *testing.B) {
	s, at := mustParse(b, "* * * * *"), time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	zone := mustLoad(b, "Europe/London")
	for b.Loop() {
		s.Latest(at, at.AddDate(1, 0, 0), zone)
	}
}

func BenchmarkInterval(b *testing.B) {
	zone := mustLoad(b, "Europe/London")
	for _, expr := range []string{"* * * * *", "30 5 * * *", "* * * 1-11 *", "0 0 29 2 *"} {
		b.Run(expr, func(b *testing.B) {
			s, at := mustParse(b, expr), time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
			for b.Loop() {
				s.Interval(at, zone)
			}
		})
	}
}
