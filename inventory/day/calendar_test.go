package day

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestThreeSortsOfCalendar(t *testing.T) {
	thirdOfJuly := MustParse("2026-07-03") // a Friday, observed in the United States
	for _, v := range []struct {
		name            string
		cal             Calendar
		working, covers bool
	}{
		{"US-FED", usFederal(t), false, true},
		{"weekends only", WeekendsOnly(), true, true},
		{"nobody filled it in", Calendar{}, true, false},
	} {
		if v.cal.IsWorking(thirdOfJuly) != v.working || v.cal.Covers(thirdOfJuly) != v.covers {
			t.Errorf("%s: working %t, covers %t", v.name, v.cal.IsWorking(thirdOfJuly), v.cal.Covers(thirdOfJuly))
		}
		if v.cal.IsWorking(thirdOfJuly+1) || v.cal.IsWorking(thirdOfJuly+2) {
			t.Errorf("%s: works at the weekend", v.name)
		}
	}
}

func TestCalendarByName(t *testing.T) {
	if cal, err := Embedded().Calendar(""); err != nil || cal != WeekendsOnly() {
		t.Errorf("the empty name gave %+v, %v", cal, err)
	}
	cal, err := Embedded().Calendar("US-FDE")
	const want = `there is no holiday calendar "US-FDE": GB-EAW, GB-NIR, GB-SCT, US-FED are known, and none at all for weekends only`
	if err == nil || err.Error() != want {
		t.Errorf("got %v", err)
	}
	if cal.Covers(MustParse("2026-07-03")) {
		t.Error("a calendar that does not exist covers a day")
	}
	if usFederal(t).Name() != "US-FED" {
		t.Errorf("US-FED is called %s", usFederal(t).Name())
	}
}

func TestProvisional(t *testing.T) {
	cal := usFederal(t) // covers 2025 to 2028
	d := MustParse
	for _, v := range []struct {
		name string
		got  Deadline
		want Deadline
	}{
		{"inside", cal.Later(d("2028-12-25")), Deadline{d("2028-12-26"), d("2028-12-25"), false}},
		{"last covered working day", cal.Earlier(d("2028-12-31")), Deadline{d("2028-12-29"), d("2028-12-31"), false}},
		{"later over the end of the data", cal.Later(d("2028-12-30")), Deadline{d("2029-01-01"), d("2028-12-30"), true}},
		{"weekends need no data", cal.Earlier(d("2024-12-29")), Deadline{d("2024-12-27"), d("2024-12-29"), true}},
		{"beyond", cal.Earlier(d("2029-07-04")), Deadline{d("2029-07-04"), d("2029-07-04"), true}},
		{"back into the data, through days that it lacks", cal.SubtractWorking(d("2029-01-03"), 3), Deadline{d("2028-12-29"), d("2029-01-03"), true}},
		{"back into the data at once", cal.SubtractWorking(d("2029-01-01"), 1), Deadline{d("2028-12-29"), d("2029-01-01"), false}},
		{"out of the data", cal.AddWorking(d("2028-12-28"), 2), Deadline{d("2029-01-01"), d("2028-12-28"), true}},
		{"weekends only", WeekendsOnly().Earlier(d("2040-01-01")), Deadline{d("2039-12-30"), d("2040-01-01"), false}},
		{"zero calendar", Calendar{}.Earlier(d("2026-07-05")), Deadline{d("2026-07-03"), d("2026-07-05"), true}},
		{"moved beyond", moving(after("1 week")).On(d("2028-12-30"), cal), Deadline{d("2029-01-08"), d("2029-01-06"), true}},
		{"beyond without a move", after("1 week").On(d("2028-12-30"), cal), Deadline{d("2029-01-06"), d("2029-01-06"), false}},
	} {
		if diff := cmp.Diff(v.want, v.got); diff != "" {
			t.Errorf("%s: %s", v.name, diff)
		}
	}
}

// A holiday on the last day of a year belongs to the next year's first, and
// the year must not lose it (Friday 2027-12-31, 5 U.S.C. 6103(b) [R2]; D).
func TestHolidayObservedInTheYearBefore(t *testing.T) {
	cal := usFederal(t)
	if got := cal.Later(MustParse("2027-12-31")).On; got != MustParse("2028-01-03") {
		t.Errorf("later: got %s", got)
	}
	if got := cal.SubtractWorking(MustParse("2028-01-03"), 1).On; got != MustParse("2027-12-30") {
		t.Errorf("earlier: got %s", got)
	}
}

func TestWorkingDaysAreCounted(t *testing.T) {
	cal := usFederal(t)
	rapid.Check(t, func(t *rapid.T) {
		d := Of(2026, time.January, 1).Add(rapid.IntRange(0, 700).Draw(t, "day"))
		n := rapid.IntRange(0, 60).Draw(t, "n")
		later, earlier := cal.AddWorking(d, n), cal.SubtractWorking(d, n)
		if !cal.IsWorking(later.On) || !cal.IsWorking(earlier.On) {
			t.Fatalf("%s or %s is not a working day", later.On, earlier.On)
		}
		if n == 0 {
			if later != cal.Later(d) || earlier != cal.Earlier(d) {
				t.Fatalf("no days give %+v and %+v", later, earlier)
			}
			return
		}
		if got := countWorking(cal, d+1, later.On); got != n {
			t.Fatalf("%d working days after %s is %s, which is %d", n, d, later.On, got)
		}
		if got := countWorking(cal, earlier.On, d-1); got != n {
			t.Fatalf("%d working days before %s is %s, which is %d", n, d, earlier.On, got)
		}
		if cal.AddWorking(d, -n) != earlier || cal.SubtractWorking(d, -n) != later {
			t.Fatal("a negative number does not turn around")
		}
	})
}

func countWorking(cal Calendar, from, to Day) (n int) {
	for d := from; d <= to; d++ {
		if cal.IsWorking(d) {
			n++
		}
	}
	return n
}
