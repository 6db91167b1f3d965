package day

import "time"

// Calendar tells working days from others: Saturdays, Sundays and the holidays
// of one calendar are not working days. It is a small value, free to copy.
//
// There are three sorts. Holidays.Calendar gives one with holiday data, which
// covers certain years. WeekendsOnly has no holidays and covers every day: it
// is for an office that knows none. The zero Calendar has no holidays and
// covers nothing, so that whatever rests on it is provisional: it is for a
// place whose holidays nobody has filled in.
type Calendar struct {
	name string
	data *holidayYears // nil without holiday data
	all  bool          // covers every day
}

// WeekendsOnly is the calendar in which every day from Monday to Friday is a
// working day.
func WeekendsOnly() Calendar { return Calendar{all: true} }

// Name gives the name of the holiday data, and nothing for a calendar that has
// none.
func (c Calendar) Name() string { return c.name }

// Covers says that it is known whether d is a holiday.
func (c Calendar) Covers(d Day) bool {
	if c.data == nil || d.IsZero() {
		return c.all && !d.IsZero()
	}
	year, _, _ := d.Date()
	return year >= c.data.first && year <= c.data.last
}

// Coverage gives the first and the last year with holiday data. Both are 0 for
// a calendar that has none.
func (c Calendar) Coverage() (first, last int) {
	if c.data == nil {
		return 0, 0
	}
	return c.data.first, c.data.last
}

// Holiday finds the holiday on a day.
func (c Calendar) Holiday(d Day) (Holiday, bool) {
	if c.data == nil {
		return Holiday{}, false
	}
	h, ok := c.data.on[d]
	return h, ok
}

// IsWorking says that d is neither a Saturday, nor a Sunday, nor a known
// holiday. An unset day is not a working day.
func (c Calendar) IsWorking(d Day) bool {
	if d.IsZero() || isWeekend(d) {
		return false
	}
	_, holiday := c.Holiday(d)
	return !holiday
}

// Earlier gives the latest working day at or before d.
func (c Calendar) Earlier(d Day) Deadline { return c.walk(d, 0, -1) }

// Later gives the earliest working day at or after d.
func (c Calendar) Later(d Day) Deadline { return c.walk(d, 0, 1) }

// SubtractWorking gives the nth working day before d; d itself is not counted,
// be it a working day or not. With n = 0 it is Earlier; a negative n adds.
func (c Calendar) SubtractWorking(d Day, n int) Deadline {
	if n < 0 {
		return c.walk(d, -n, 1)
	}
	return c.walk(d, n, -1)
}

// AddWorking gives the nth working day after d; d itself is not counted, be it
// a working day or not. With n = 0 it is Later; a negative n subtracts.
func (c Calendar) AddWorking(d Day, n int) Deadline {
	if n < 0 {
		return c.walk(d, -n, -1)
	}
	return c.walk(d, n, 1)
}

// walk goes from d in steps of one day over n working days, and stops on a
// working day. The result is provisional if any day that it counted as working
// lies outside the coverage; a weekend needs no data. Raw is d.
func (c Calendar) walk(d Day, n int, step Day) Deadline {
	if d.IsZero() {
		return Deadline{}
	}
	at, provisional := d, false
	if n > 0 {
		at, n = at+step, n-1
	}
	for ; ; at += step {
		if !c.IsWorking(at) {
			continue
		}
		provisional = provisional || !c.Covers(at)
		if n == 0 {
			return Deadline{On: at, Raw: d, Provisional: provisional}
		}
		n--
	}
}

func isWeekend(d Day) bool {
	w := d.Weekday()
	return w == time.Saturday || w == time.Sunday
}
