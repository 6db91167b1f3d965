package schedule

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the machine that tests may have no zones of its own

	"github.com/google/go-cmp/cmp"
)

// refused are the words that the error must hold. TZ= forms: robfig/cron issues
// 470 and 554 (the library panics on them); the rest was measured against
// v3.0.1 or is common practice, no source.
var refused = map[string]string{
	"TZ=0":                "zone",
	"TZ=":                 "zone",
	"CRON_TZ=UTC":         "zone",
	"CRON_TZ=":            "zone",
	"TZ=UTC 30 5 * * *":   "zone",
	" TZ=UTC 30 5 * * *":  "zone",
	"@every 1s":           "five fields",
	"@every -1h":          "five fields", // every second in the library
	"@every 0s":           "five fields", // every second in the library
	"@daily":              "five fields",
	"@":                   "five fields",
	"0 0 31 4 *":          "never comes",
	"0 0 30 2 *":          "never comes", // taken by the library, and never run
	"0 0 30,31 2 *":       "never comes",
	"0 0 31 2,4,6,9,11 *": "never comes",
	"*/0 * * * *":         "allowed are 0 to 59",
	"*/60 * * * *":        "a step of 1 to 59", // the library takes it for 0
	"0 */24 * * *":        "a step of 1 to 23",
	"5-1 * * * *":         "rising range",
	"0 0 * * FRI-SUN":     "rising range",
	"0 0 * * 7-1":         "rising range",
	"0 24 * * *":          "five fields",
	"0 25 * * *":          "allowed are 0 to 23",
	"61 5 * * *":          "allowed are 0 to 59",
	"-1 5 * * *":          "minute",
	"0 0 0 * *":           "day of month",
	"0 0 32 * *":          "day of month",
	"0 0 1 13 *":          "JAN to DEC",
	"0 0 * 0 *":           "month",
	"0 0 * * 8":           "0 and 7 are Sunday",
	"0 0 * * SUNDAY":      "SUN to SAT",
	"0 0 * * \u017fun":    "SUN to SAT", // folds to s
	"":                    "five fields",
	" ":                   "five fields",
	"* * * *":             "five fields",
	"0 30 5 * * *":        "five fields",
	"* * * * * * *":       "five fields",
	"0,,30 * * * *":       "minute",
	", * * * *":           "minute",
	"*-5 * * * *":         "minute", // every minute in the library
	"+5 * * * *":          "minute",
	"? * * * *":           "minute",
	"1-2-3 * * * *":       "minute",
	"*/2/2 * * * *":       "minute",
	"0 99999999999 * * *": "hour",
	"0x5 * * * *":         "minute",
}

func TestRefused(t *testing.T) {
	for expr, want := range refused {
		s, err := Parse(expr)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want %q in it", expr, err, want)
		}
		if s != (Spec{}) {
			t.Errorf("%q was refused, and a schedule was given", expr)
		}
	}
}

// The words that configuration's readers look for stay.
func TestRefusalsTellOfFiveFields(t *testing.T) {
	for _, expr := range []string{"*/0 * * * *", "5-1 * * * *", "61 5 * * *", "0 24 * * *", "", "@daily"} {
		if _, err := Parse(expr); err == nil || !strings.Contains(err.Error(), "five fields") {
			t.Errorf("%q: %v", expr, err)
		}
	}
}

// TestTaken: what is taken, and the first times after Thursday, 1 January 2026,
// by hand.
func TestTaken(t *testing.T) {
	for expr, want := range map[string][]string{
		"30 5 * * *":           {"01-01 05:30", "01-02 05:30"},
		"  30\t5 * *  * ":      {"01-01 05:30", "01-02 05:30"},
		"0 8 * * 1-5":          {"01-01 08:00", "01-02 08:00", "01-05 08:00"},
		"0 8 * * mon-FRI":      {"01-01 08:00", "01-02 08:00", "01-05 08:00"},
		"0 8 * * 0":            {"01-04 08:00", "01-11 08:00"},
		"0 8 * * SUN":          {"01-04 08:00", "01-11 08:00"},
		"0 8 * * 7":            {"01-04 08:00", "01-11 08:00"},
		"0 8 * * 07":           {"01-04 08:00", "01-11 08:00"},
		"0 8 * * 7-7":          {"01-04 08:00", "01-11 08:00"},
		"0 8 * * 5-7":          {"01-02 08:00", "01-03 08:00", "01-04 08:00", "01-09 08:00"},
		"0 8 * * FRI-7":        {"01-02 08:00", "01-03 08:00", "01-04 08:00", "01-09 08:00"},
		"0 8 * * 1-7/2":        {"01-02 08:00", "01-04 08:00", "01-05 08:00", "01-07 08:00"},
		"0 8 * * 1,7":          {"01-04 08:00", "01-05 08:00", "01-11 08:00"},
		"0 8 * * 0-7":          {"01-01 08:00", "01-02 08:00", "01-03 08:00", "01-04 08:00"},
		"0 8 1 * MON":          {"01-01 08:00", "01-05 08:00", "01-12 08:00"}, // OR
		"0 8 2 * */1":          {"01-02 08:00", "02-02 08:00"},
		"0 0 29 2 *":           {"2028-02-29 00:00", "2032-02-29 00:00"},
		"*/15 * * * *":         {"01-01 00:15", "01-01 00:30", "01-01 00:45", "01-01 01:00"},
		"5/30 1 * * *":         {"01-01 01:05", "01-01 01:35", "01-02 01:05"},
		"0 8-12/4,23 * jan *":  {"01-01 08:00", "01-01 12:00", "01-01 23:00"},
		"59 23 31 DEC *":       {"12-31 23:59", "2027-12-31 23:59"},
		"0 0 31 1,2,4 *":       {"01-31 00:00", "2027-01-31 00:00"},
		"0 12 30 2,APR MON":    {"02-02 12:00", "02-09 12:00"},
		"0 0 1,15 * *":         {"01-15 00:00", "02-01 00:00"},
		"10,20,10 0 * * */6":   {"01-03 00:10", "01-03 00:20", "01-04 00:10"},
		"1-2,4-5 0 1 1,2 *":    {"01-01 00:01", "01-01 00:02", "01-01 00:04", "01-01 00:05", "02-01 00:01"},
		"0 0-23/12 * * 1,3-4":  {"01-01 12:00", "01-05 00:00"},
		"0 6 * * WED,tue,7,Su": nil,
	} {
		s, err := Parse(expr)
		if want == nil {
			if err == nil {
				t.Errorf("%q was taken", expr)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", expr, err)
			continue
		}
		var got []string
		at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
		for i := range want {
			at = s.Next(at, time.UTC)
			got = append(got, at.Format("2006-01-02 15:04"))
			if len(want[i]) == len("01-02 15:04") {
				want[i] = "2026-" + want[i]
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", expr, diff)
		}
	}
}

func TestSpecIsAValue(t *testing.T) {
	a, b, c := mustParse(t, " 0  8 * * 5-7"), mustParse(t, "0 8 * * 5-7"), mustParse(t, "0 8 * * 5,6,7")
	if a != b || !cmp.Equal(a, b) || a.String() != "0 8 * * 5-7" {
		t.Errorf("%q and %q differ", a, b)
	}
	if a == c || cmp.Equal(a, c) {
		t.Errorf("%q and %q are equal", a, c)
	}
	var none Spec
	now := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for range none.Slots(now, now.AddDate(9, 0, 0)) {
		t.Error("the zero Spec comes")
	}
	latest, missed := none.Latest(now, now.AddDate(1, 0, 0))
	if !none.NextIn(now).IsZero() || !latest.IsZero() || missed != 0 || none.Interval(now) != 0 {
		t.Error("the zero Spec comes")
	}
}

func mustParse(t testing.TB, expr string) Spec {
	t.Helper()
	s, err := Parse(expr)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func mustLoad(t testing.TB, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// FuzzParse: nothing panics, and what is taken comes within five years (a 29
// February within eight: the reference instants are a usual one and the day
// after the last leap day before 2100, which is no leap year), never twice in
// a minute, and reads back.
func FuzzParse(f *testing.F) {
	for expr := range refused {
		f.Add(expr)
	}
	for _, expr := range []string{"30 5 * * *", "0 8 1 * MON", "0 8 * * 7", "0 0 29 2 *", "* * * * *", "30 2 * * *", "30 1 * * *", "15 2 * * *", "0 0 * * *", "*/7 1-3,5 */2 jan-mar 5-7/2"} {
		f.Add(expr)
	}
	zone := mustLoad(f, "Europe/London")
	f.Fuzz(func(t *testing.T, expr string) {
		s, err := Parse(expr)
		if err != nil {
			if s != (Spec{}) || !strings.Contains(err.Error(), "five fields") && !strings.Contains(err.Error(), "zone") && !strings.Contains(err.Error(), "never comes") {
				t.Fatalf("%q is refused with %v", expr, err)
			}
			return
		}
		if again, err := Parse(s.String()); err != nil || again != s {
			t.Fatalf("%q reads back as %q: %v", expr, again, err)
		}
		for from, years := range map[time.Time]int{
			time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC): 5,
			time.Date(2096, 3, 1, 0, 0, 0, 0, time.UTC): 8,
		} {
			at := s.Next(from, zone)
			if !at.After(from) || at.After(from.AddDate(years, 0, 0)) {
				t.Fatalf("%q comes first at %s after %s", expr, at, from)
			}
			for range 100 {
				next := s.Next(at, zone)
				if next.Sub(at) < time.Minute {
					t.Fatalf("%q comes at %s and at %s", expr, at, next)
				}
				at = next
			}
		}
	})
}
