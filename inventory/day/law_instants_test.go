package day

import (
	"testing"
	"time"
	_ "time/tzdata" // the machine that tests may have no zones of its own
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func instant(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// 50 CFR 23.54 [R]: valid until midnight at the end of the date on its face;
// BGB s.188(1) [R]: a period ends with the expiry of its last day. The
// instants are derived from the IANA time zone database.
func TestExpiryAtEndOfLocalDay(t *testing.T) {
	for _, v := range []struct{ zone, last, want, note string }{
		{"America/New_York", "2026-12-31", "2027-01-01T05:00:00Z", ""},
		{"America/Chicago", "2026-12-31", "2027-01-01T06:00:00Z", "Florida has two zones"},
		{"Europe/London", "2026-06-30", "2026-06-30T23:00:00Z", "summer time"},
		{"Europe/London", "2026-12-31", "2027-01-01T00:00:00Z", ""},
		{"Australia/Brisbane", "2026-12-31", "2026-12-31T14:00:00Z", "no summer time"},
		{"Australia/Sydney", "2026-12-31", "2026-12-31T13:00:00Z", "summer time"},
		{"Asia/Kolkata", "2026-12-31", "2026-12-31T18:30:00Z", "half an hour"},
		{"Europe/London", "2026-03-29", "2026-03-29T23:00:00Z", "a day of 23 hours"},
		{"Europe/London", "2026-10-25", "2026-10-26T00:00:00Z", "a day of 25 hours"},
		{"America/New_York", "2026-11-01", "2026-11-02T05:00:00Z", "a day of 25 hours"},
		{"Europe/London", "2026-03-15", "2026-03-16T00:00:00Z", "good until midnight ending 15 March"},
		{"Africa/Cairo", "2026-04-23", "2026-04-23T22:00:00Z", "24 April begins at 01:00"},
		{"Africa/Cairo", "2026-04-24", "2026-04-24T21:00:00Z", "a day of 23 hours without midnight"},
		{"America/Asuncion", "2023-09-30", "2023-10-01T04:00:00Z", "1 October began at 01:00"},
		{"America/Asuncion", "2023-10-01", "2023-10-02T03:00:00Z", "a day of 23 hours without midnight"},
		{"Pacific/Apia", "2011-12-29", "2011-12-30T10:00:00Z", "the day before the skipped day"},
		{"Pacific/Apia", "2011-12-30", "2011-12-30T10:00:00Z", "the skipped day"},
		{"Pacific/Apia", "2011-12-31", "2011-12-31T10:00:00Z", "the day after the skipped day"},
		{"America/St_Johns", "2010-11-06", "2010-11-07T02:30:00Z", "at 00:01 the clock went back to 23:01: the first midnight counts"},
	} {
		t.Run(v.zone+" "+v.last, func(t *testing.T) {
			z, last := zone(t, v.zone), MustParse(v.last)
			end := EndOf(last, z)
			if !end.Equal(instant(t, v.want)) {
				t.Errorf("ends at %s, want %s (%s)", end.UTC().Format(time.RFC3339), v.want, v.note)
			}
			if before := In(end.Add(-1), z); before > last {
				t.Errorf("the instant before the end is on %s", before)
			}
			if at := In(end, z); at <= last {
				t.Errorf("the end itself is on %s", at)
			}
			if end.Location() != z {
				t.Errorf("given in %s", end.Location())
			}
		})
	}
}

// UK clock changes 2026 and 2027: GOV.UK data [R]. The day of the change has
// 23 or 25 hours.
func TestClockChangesInTheUnitedKingdom(t *testing.T) {
	london := zone(t, "Europe/London")
	for d, hours := range map[string]float64{
		"2026-03-29": 23, "2026-10-25": 25, "2027-03-28": 23, "2027-10-31": 25, "2026-03-28": 24,
	} {
		day := MustParse(d)
		if got := EndOf(day, london).Sub(StartOf(day, london)).Hours(); got != hours {
			t.Errorf("%s has %g hours, want %g", d, got, hours)
		}
	}
}

// 29 CFR 1904.39 [R]: death within 8 hours, in-patient treatment within 24
// hours, by the clock. Instants derived.
func TestHoursAreElapsedTime(t *testing.T) {
	newYork := zone(t, "America/New_York")
	event := instant(t, "2026-10-31T20:00:00-04:00").In(newYork)
	for hours, want := range map[int]string{8: "2026-11-01T03:00:00-05:00", 24: "2026-11-01T19:00:00-05:00"} {
		got := Period{Shape: Hours, Hours: hours}.At(event)
		if got.Format(time.RFC3339) != want {
			t.Errorf("%d hours: got %s, want %s", hours, got.Format(time.RFC3339), want)
		}
	}
	if wrong := event.AddDate(0, 0, 1).Format(time.RFC3339); wrong != "2026-11-01T20:00:00-05:00" {
		t.Errorf("a day later is %s: the table says 25 hours", wrong)
	}
}

// N.C. Gen. Stat. 14-417(c): immediately; and neither a weekend nor a holiday
// helps, because a closed office is no excuse (29 CFR 1904.39 [R]).
func TestAtOnceAndNoWeekend(t *testing.T) {
	saturday := instant(t, "2026-07-04T12:00:00Z")
	if got := (Period{Shape: Immediately}).At(saturday); !got.Equal(saturday) {
		t.Errorf("immediately is %s", got)
	}
	if got := (Period{Shape: Hours, Hours: 8}).At(saturday); !got.Equal(instant(t, "2026-07-04T20:00:00Z")) {
		t.Errorf("8 hours later is %s", got)
	}
}
