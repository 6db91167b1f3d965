package demo

import (
	"testing"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// The legal day lies in three or more days on which the office is shut. The
// day to act by lies before them, by the three working days that the post
// takes before the last day on which the office is open.
func TestRenewalIsToBeFiledBeforeTheLongWeekend(t *testing.T) {
	book := shipped(t)
	cal, err := book.Holidays.Calendar(federalDays)
	if err != nil {
		t.Fatal(err)
	}
	for today := range days(t) {
		r := evaluate(t, book, House(today, book.Holidays), today, 12)
		v, _ := r.Of(key(federal, animalRef("LH-019"))).At(today)
		legal, by := v.Step.Legal, v.Step.By
		first, last := legal, legal
		for !cal.IsWorking(first - 1) {
			first--
		}
		for !cal.IsWorking(last + 1) {
			last++
		}
		working := 0
		for d := by + 1; d < first; d++ {
			if cal.IsWorking(d) {
				working++
			}
		}
		switch {
		case cal.IsWorking(legal) || last.Sub(first) < 2:
			t.Errorf("on %s: the legal day %s is in no long weekend (%s to %s)", today, legal, first, last)
		case by >= first || !cal.IsWorking(by) || working != 3 || v.Step.Provisional:
			t.Errorf("on %s: act by %s, with %d working days to the weekend from %s", today, by, working, first)
		case by <= today || v.Step.Opens() > today:
			t.Errorf("on %s: act by %s is over, or not told yet", today, by)
		}
	}
}

func TestNextLongWeekend(t *testing.T) {
	for _, c := range []struct {
		name, today, calendar, want string
		from                        int
	}{
		{"Memorial Day", "2026-05-01", "US-FED", "2026-05-25", 3},
		{"a holiday observed on a Friday", "2026-06-22", "US-FED", "2026-07-05", 3},
		{"the one after, where the next has begun", "2026-05-23", "US-FED", "2026-06-21", 2},
		{"Christmas with its substitute day", "2026-12-01", "GB-EAW", "2026-12-28", 10},
		{"four days of Easter", "2027-03-01", "GB-EAW", "2027-03-29", 3},
		{"beyond the holiday data, a plain weekend", "2031-04-02", "US-FED", "2031-04-06", 2},
		{"a calendar that nobody knows", "2026-04-02", "XX", "2026-04-05", 2},
	} {
		b := newBuilder(day.MustParse(c.today), day.Embedded())
		if got := b.longWeekend(c.calendar, c.from); got != day.MustParse(c.want) {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// Beyond the holiday data the house still shows its cases, and says that the
// day is provisional.
func TestHouseOutlivesTheHolidayData(t *testing.T) {
	book := shipped(t)
	today := day.MustParse("2033-05-09")
	r := evaluate(t, book, House(today, book.Holidays), today, 12)
	b := newBuilder(today, book.Holidays)
	for _, l := range looks {
		l.check(t, r, b)
	}
	if v, _ := r.Of(key(federal, animalRef("LH-019"))).At(today); !v.Step.Provisional || v.State != compliance.InForce {
		t.Errorf("%s, provisional %v", v.State, v.Step.Provisional)
	}
}
