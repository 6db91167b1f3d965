package day

import (
	"fmt"
	"time"
)

// Day is a civil date: the number of days since 31 December of the year 0 in
// the proleptic Gregorian calendar, so that 1 January 0001 is day 1. The zero
// value is "unset", which is not a date and sorts before every date.
type Day int32

// First and Last bound the dates that records may hold. Outside them a date
// is almost certainly a typing error, and a database that sorts dates as text
// would put year 10000 before 1900.
var (
	First = Of(1900, time.January, 1)
	Last  = Of(9999, time.December, 31)
)

const secondsPerDay = 86400

// offset is the day number of 1970-01-01.
const offset = 719163

// Of gives the day of a calendar date. Parts out of range are normalised as
// by time.Date; use Parse where a wrong date must be refused.
func Of(year int, month time.Month, dayOfMonth int) Day {
	return Day(time.Date(year, month, dayOfMonth, 0, 0, 0, 0, time.UTC).Unix()/secondsPerDay + offset)
}

// In gives the civil day on which an instant falls in a zone.
func In(t time.Time, zone *time.Location) Day {
	return Of(t.In(zone).Date())
}

// Parse reads a date as YYYY-MM-DD (ISO 8601 calendar date, extended form)
// between First and Last. It refuses dates that do not exist.
func Parse(s string) (Day, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("%q is not a date: write YYYY-MM-DD, and one that exists", s)
	}
	d := Of(t.Date())
	if d < First || d > Last {
		return 0, fmt.Errorf("%q is not a usable date: years 1900 to 9999 are allowed", s)
	}
	return d, nil
}

// MustParse is Parse for dates written in code; it panics on a wrong one.
func MustParse(s string) Day {
	d, err := Parse(s)
	if err != nil {
		panic(err)
	}
	return d
}

// IsZero says that the day is unset.
func (d Day) IsZero() bool { return d == 0 }

// Date gives year, month and day of the month.
func (d Day) Date() (year int, month time.Month, dayOfMonth int) {
	return d.midnight().Date()
}

// Weekday gives the day of the week. 1 January 0001 was a Monday, so the
// remainder by seven is the weekday itself.
func (d Day) Weekday() time.Weekday { return time.Weekday((int(d)%7 + 7) % 7) }

// String gives YYYY-MM-DD, or the empty string for an unset day.
func (d Day) String() string {
	if d == 0 {
		return ""
	}
	return d.midnight().Format(time.DateOnly)
}

// Add gives the day n days later, or earlier for a negative n. An unset day
// stays unset.
func (d Day) Add(n int) Day {
	if d == 0 {
		return 0
	}
	return d + Day(n)
}

// Sub gives the number of days from other to d.
func (d Day) Sub(other Day) int { return int(d - other) }

// AddMonths gives the corresponding day n months later, or the last day of
// that month where it has no such day (BGB s.188(3); Texas Finance Code
// 371.004). Add all months in one call: two calls drift.
func (d Day) AddMonths(n int) Day {
	if d == 0 || n == 0 {
		return d
	}
	year, month, dom := d.Date()
	first := Of(year, month+time.Month(n), 1)
	return first + Day(min(dom, first.daysInMonth())-1)
}

// AddYears gives the corresponding day n years later; 29 February becomes 28
// February in a common year.
func (d Day) AddYears(n int) Day { return d.AddMonths(12 * n) }

// EndOfMonth gives the last day of the month that holds d.
func (d Day) EndOfMonth() Day {
	year, month, _ := d.Date()
	return Of(year, month+1, 0)
}

func (d Day) daysInMonth() int {
	_, _, last := d.EndOfMonth().Date()
	return last
}

// midnight is the instant that the calendar arithmetic of package time works
// on; it has nothing to do with any place's midnight.
func (d Day) midnight() time.Time {
	return time.Unix((int64(d)-offset)*secondsPerDay, 0).UTC()
}
