package day

import "time"

// EndOf gives the instant at which d is over in a zone: the first whose local
// date is later than d. What is good until d is good before that instant and
// no longer at it. An unset day gives the zero time.
//
// Where midnight does not exist, because the clock jumps over it, this is the
// instant of the jump. A day that a place skipped as a whole (Apia in Samoa,
// 30 December 2011) begins and ends at one instant. Where the clock is set
// back across midnight, so that a date comes twice, this is the cautious end:
// the first time that the later date comes.
func EndOf(d Day, zone *time.Location) time.Time {
	if d.IsZero() {
		return time.Time{}
	}
	return StartOf(d+1, zone)
}

// StartOf gives the instant at which d begins in a zone: the first whose local
// date is d or later. An unset day gives the zero time.
func StartOf(d Day, zone *time.Location) time.Time {
	if d.IsZero() {
		return time.Time{}
	}
	midnight := d.midnight()
	// No zone has ever been a day and a half from UTC, so the search begins
	// before d. It goes through the stretches of constant offset, because the
	// time package does not promise which instant it takes for a local time
	// that does not exist or comes twice.
	for t := midnight.Add(-36 * time.Hour).In(zone); ; {
		_, east := t.Zone()
		begins := midnight.Add(-time.Duration(east) * time.Second)
		if begins.Before(t) {
			begins = t
		}
		change := nextChange(t)
		if change.IsZero() || begins.Before(change) {
			return begins.In(zone)
		}
		t = change
	}
}

// Shown gives the instants, the earlier first, at which the clocks of a zone
// show what wall shows, whatever zone wall itself is in: none where a change of
// the clock leaves that time out, two where it comes twice.
func Shown(wall time.Time, zone *time.Location) (all []time.Time) {
	y, m, d := wall.Date()
	read := time.Date(y, m, d, wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), time.UTC)
	// No zone has ever been a day and a half from UTC.
	for t := read.Add(-36 * time.Hour).In(zone); !t.After(read.Add(36 * time.Hour)); {
		_, east := t.Zone()
		at, change := read.Add(-time.Duration(east)*time.Second), nextChange(t)
		if !at.Before(t) && (change.IsZero() || at.Before(change)) {
			all = append(all, at.In(zone))
		}
		if change.IsZero() {
			break
		}
		t = change
	}
	return all
}

// nextChange gives an instant after t up to which the zone of t keeps its
// offset; zero if it keeps it for ever. ZoneBounds (Go 1.26) takes every year
// beyond the zone's table for one of 365 days, so that on 31 December of a
// leap year it gives an end in the past. No zone changes on that day, so the
// end of it in UTC serves.
func nextChange(t time.Time) time.Time {
	_, change := t.ZoneBounds()
	if !change.IsZero() && !change.After(t) {
		return t.Truncate(24 * time.Hour).Add(24 * time.Hour)
	}
	return change
}
