package web

import (
	"time"

	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// clock says instants as a reader at one place says them.
type clock struct {
	now  time.Time
	zone *time.Location
}

// moment writes an instant: today at 09:00, Mon 23 Nov 2026 at 06:00.
func (c clock) moment(t time.Time) string {
	on, today := day.In(t, c.zone), day.In(c.now, c.zone)
	name := words.Day(on)
	if n := on.Sub(today); n >= -1 && n <= 1 {
		name = words.Relative(on, today)
	}
	return name + " at " + t.In(c.zone).Format("15:04")
}

// age says how long ago an instant was, or how far off it is.
func (c clock) age(t time.Time) string {
	if d := c.now.Sub(t); d >= 0 {
		if d < time.Minute {
			return "just now"
		}
		return span(d) + " ago"
	}
	return "in " + span(t.Sub(c.now))
}

// when says both.
func (c clock) when(t time.Time) string { return c.moment(t) + ", " + c.age(t) }

// span writes a length of time in its largest whole unit; days from two on.
func span(d time.Duration) string {
	switch {
	case d < time.Minute:
		return "less than a minute"
	case d < time.Hour:
		return words.Count(int(d/time.Minute), "minute")
	case d < 48*time.Hour:
		return words.Count(int(d/time.Hour), "hour")
	default:
		return words.Count(int(d/(24*time.Hour)), "day")
	}
}
