package words

import (
	"fmt"
	"strings"
	"time"

	"antidotary/inventory/day"
)

// Day writes a day with its weekday and the month's name: Mon 14 Dec 2026.
func Day(d day.Day) string {
	if d.IsZero() {
		return "no day"
	}
	year, month, dom := d.Date()
	return fmt.Sprintf("%s %d %s %d", d.Weekday().String()[:3], dom, month.String()[:3], year)
}

// Moment writes an instant as Sun 1 Nov 2026, 03:00 EST, by the clock of the
// zone that it is in.
func Moment(t time.Time) string { return Day(day.Of(t.Date())) + t.Format(", 15:04 MST") }

// Relative says how far a day is from today.
func Relative(d, today day.Day) string {
	n := d.Sub(today)
	switch {
	case n == 0:
		return "today"
	case n == 1:
		return "tomorrow"
	case n == -1:
		return "yesterday"
	case n > 1:
		return fmt.Sprintf("in %d days", n)
	default:
		return fmt.Sprintf("%d days ago", -n)
	}
}

// Capital begins a phrase with a capital letter.
func Capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
