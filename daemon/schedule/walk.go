package schedule

import (
	"time"

	"antidotary/inventory/day"
)

// Next gives the first slot strictly after an instant, in a zone and with its
// location; the zero time for the zero Spec. The rules for clock changes are
// those of the package.
func (s Spec) Next(after time.Time, zone *time.Location) time.Time {
	return s.from(after, zone).next()
}

// reading gives the first time after another that the expression has on a
// floating clock, as UTC.
func (s *Spec) reading(after time.Time) time.Time {
	t := s.times.Next(after)
	if t.IsZero() {
		// The library looks five calendar years ahead. A 29 February may be
		// eight away, across a year such as 2100; no lawful date is further.
		t = s.times.Next(time.Date(after.Year()+5, time.December, 31, 23, 59, 59, 0, time.UTC))
	}
	return t
}

// walk goes through the slots of one Spec in one zone. It stands in a stretch
// of time in which the zone keeps its offset: from begin until before end, or
// for ever if end is zero. Instants and readings are held as UTC.
type walk struct {
	spec       *Spec
	zone       *time.Location
	done       time.Time // slots up to this instant were given
	begin, end time.Time
	east       time.Duration // what the clock reads is the instant plus this
	high       time.Time     // the clock read all before this before the stretch, or jumped over it
}

// lookback is how long before an instant a clock change can bear on it: none
// ever set a clock back by more than a day.
const lookback = 36 * time.Hour

// from gives a walk to the slots strictly after an instant.
func (s *Spec) from(after time.Time, zone *time.Location) *walk {
	w := &walk{spec: s, zone: zone, done: after.UTC().Round(0)}
	w.enter(w.done.Add(-lookback))
	w.high = w.begin.Add(w.east)
	for !w.end.IsZero() && !w.end.After(w.done) {
		w.cross()
	}
	return w
}

// enter makes the stretch that begins at an instant the current one.
func (w *walk) enter(begin time.Time) {
	_, east := begin.In(w.zone).Zone()
	w.begin, w.end = begin, nextChange(begin.In(w.zone))
	w.east = time.Duration(east) * time.Second
}

// cross goes on to the next stretch.
func (w *walk) cross() {
	if read := w.end.Add(w.east); read.After(w.high) {
		w.high = read
	}
	w.enter(w.end)
}

// next gives the next slot and stands at it; zero if there is none.
func (w *walk) next() time.Time {
	for w.spec.text != "" {
		from := w.done.Add(1)
		if from.Before(w.begin.Add(1)) {
			from = w.begin
			if w.jumped() {
				return w.give(w.begin)
			}
		}
		read := from.Add(w.east)
		if read.Before(w.high) && !w.spec.everyHour() {
			read = w.high
		}
		slot := w.spec.reading(read.Add(-1)).Add(-w.east)
		if w.end.IsZero() || slot.Before(w.end) {
			return w.give(slot)
		}
		w.cross()
	}
	return time.Time{}
}

func (w *walk) give(slot time.Time) time.Time {
	w.done = slot
	return slot.In(w.zone)
}

// jumped says that the clock, as the stretch began, jumped over a time of the
// expression on a day that the zone has.
func (w *walk) jumped() bool {
	over := w.begin.Add(w.east)
	read := w.spec.reading(w.high.Add(-1))
	for read.Before(over) {
		d := day.Of(read.Date())
		if day.StartOf(d, w.zone).Before(day.EndOf(d, w.zone)) {
			return true
		}
		midnight := read.Truncate(24 * time.Hour).Add(24 * time.Hour)
		read = w.spec.reading(midnight.Add(-1))
	}
	return false
}

// nextChange gives an instant after t up to which the zone of t keeps its
// offset; zero if it keeps it for ever. ZoneBounds (Go 1.26) takes every year
// beyond the zone's table for one of 365 days, so that on 31 December of a
// leap year it gives an end in the past; what it gives is used only if it is
// ahead. No zone changes on that day, so the end of it in UTC serves. A change
// that is none does no harm.
func nextChange(t time.Time) time.Time {
	_, change := t.ZoneBounds()
	if !change.IsZero() && !change.After(t) {
		return t.UTC().Truncate(24 * time.Hour).Add(24 * time.Hour)
	}
	return change.UTC()
}
