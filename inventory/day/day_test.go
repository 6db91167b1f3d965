package day

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestParseAndStringRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyDay().Draw(t, "day")
		got, err := Parse(d.String())
		if err != nil || got != d {
			t.Fatalf("%s came back as %s, %v", d, got, err)
		}
		if year, month, dom := d.Date(); Of(year, month, dom) != d {
			t.Fatalf("%s came back as %s", d, Of(year, month, dom))
		}
		if d.Weekday() != d.midnight().Weekday() {
			t.Fatalf("%s is a %s", d, d.Weekday())
		}
	})
}

func TestParseRefuses(t *testing.T) {
	for _, s := range []string{"", "2026-02-29", "2026-2-01", "2026-13-01", "2026-00-10", "26-01-01", "1899-12-31",
		"10000-01-01", "2026-01-01T00:00:00Z", " 2026-01-01", "2026-01-01 ", "2026/01/01", "never"} {
		if d, err := Parse(s); err == nil || d != 0 {
			t.Errorf("%q was read as %q, %v", s, d, err)
		}
	}
}

func TestWeekdayOfEarlyDays(t *testing.T) {
	for d := Day(-800); d < 800; d++ {
		if got, want := d.Weekday(), d.midnight().Weekday(); got != want {
			t.Fatalf("day %d: got %s, want %s", d, got, want)
		}
	}
}

func TestInTakesTheZone(t *testing.T) {
	at := time.Date(2026, time.June, 30, 23, 30, 0, 0, time.UTC)
	for name, want := range map[string]string{
		"UTC": "2026-06-30", "Europe/London": "2026-07-01", "America/New_York": "2026-06-30", "Pacific/Kiritimati": "2026-07-01",
	} {
		if got := In(at, zone(t, name)).String(); got != want {
			t.Errorf("in %s: got %s, want %s", name, got, want)
		}
	}
}

func TestAddMonthsClamps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, n := anyDay().Draw(t, "day"), rapid.IntRange(-1200, 1200).Draw(t, "months")
		got := d.AddMonths(n)
		year, month, dom := d.Date()
		wantYear, wantMonth, _ := Of(year, month+time.Month(n), 1).Date()
		gotYear, gotMonth, gotDOM := got.Date()
		if gotYear != wantYear || gotMonth != wantMonth {
			t.Fatalf("%s and %d months is %s: not in %d-%02d", d, n, got, wantYear, wantMonth)
		}
		if clamped := gotDOM < dom; gotDOM > dom || clamped && got != got.EndOfMonth() {
			t.Fatalf("%s and %d months is %s", d, n, got)
		}
		if naive := d.midnight().AddDate(0, n, 0); dom <= 28 && Of(naive.Date()) != got {
			t.Fatalf("%s and %d months is %s, but the time package says %s", d, n, got, naive)
		}
	})
}

func TestUnsetStaysUnset(t *testing.T) {
	var d Day
	cal := usFederal(t)
	for name, got := range map[string]Day{
		"Add": d.Add(3), "AddMonths": d.AddMonths(3), "AddYears": d.AddYears(3),
		"AddTo": MustParseSpan("3 days").AddTo(d), "SubtractFrom": MustParseSpan("3 days").SubtractFrom(d),
		"On": moving(after("3 days")).On(d, cal).On, "Earlier": cal.Earlier(d).On, "AddWorking": cal.AddWorking(d, 3).On,
		"Until": Until(d).On,
	} {
		if got != 0 {
			t.Errorf("%s gave %s", name, got)
		}
	}
	if !EndOf(d, time.UTC).IsZero() || !StartOf(d, time.UTC).IsZero() {
		t.Error("an unset day has an instant")
	}
	if cal.IsWorking(d) || cal.Covers(d) || WeekendsOnly().Covers(d) {
		t.Error("an unset day is in the calendar")
	}
}

func FuzzParseDay(f *testing.F) {
	for _, s := range []string{"2026-02-28", "2024-02-29", "1900-01-01", "9999-12-31", "0001-01-01", "2026-02-30", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := Parse(s)
		switch {
		case err != nil && d != 0:
			t.Errorf("%q was refused and is %s", s, d)
		case err == nil && d.String() != s:
			t.Errorf("%q was read as %s", s, d)
		case err == nil && (d < First || d > Last):
			t.Errorf("%s is out of bounds", d)
		}
	})
}
