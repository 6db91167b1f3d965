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

// Filing says, as what follows a day to act by, the last days to post an
// application and to hand it in, as far as they are known and are not that day
// itself: "; post by Thu 21 May 2026, or hand in by Fri 29 May 2026". A way that
// is no longer open is said to be over.
func Filing(by, post, handIn, today day.Day) string {
	switch {
	case post.IsZero() || handIn.IsZero() || post == by && handIn == by:
		return ""
	case handIn < today:
		return "; the last day to hand it in was " + Day(handIn)
	case post == handIn:
		return "; post or hand in by " + Day(post)
	case post < today:
		return "; too late to post it, hand in by " + Day(handIn)
	default:
		return "; post by " + Day(post) + ", or hand in by " + Day(handIn)
	}
}

// Capital begins a phrase with a capital letter.
func Capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
