package schedule

import (
	"iter"
	"time"
)

// Slots gives every slot after one instant and up to and with another, merged
// over the zones in the order of time, an instant once. Each has the location
// of the first zone that has it. With no zones: in UTC.
func (s Spec) Slots(after, until time.Time, zones ...*time.Location) iter.Seq[time.Time] {
	return func(yield func(time.Time) bool) {
		var walks []*walk
		var heads []time.Time
		for _, zone := range orUTC(zones) {
			w := s.from(after, zone)
			walks, heads = append(walks, w), append(heads, w.next())
		}
		for {
			slot := earliest(heads)
			if slot.IsZero() || slot.After(until) || !yield(slot) {
				return
			}
			for i, w := range walks {
				if heads[i].Equal(slot) {
					heads[i] = w.next()
				}
			}
		}
	}
}

// NextIn gives the first slot strictly after an instant in any of the zones,
// with the location of the first zone that has it. With no zones: in UTC. The
// zero Spec gives the zero time.
func (s Spec) NextIn(after time.Time, zones ...*time.Location) time.Time {
	var heads []time.Time
	for _, zone := range orUTC(zones) {
		heads = append(heads, s.Next(after, zone))
	}
	return earliest(heads)
}

// MostMissed is the number at which Latest stops counting. Who was away for as
// many slots does not care for the exact number, and a year of every minute
// would be slow to count.
const MostMissed = 100_000

// Latest gives the newest slot after one instant and up to and with another,
// and how many earlier ones there are in between: those a catch-up leaves out.
// There is none, and none missed, if it gives the zero time. The count stops
// at MostMissed; the slot is the newest nonetheless.
func (s Spec) Latest(after, until time.Time, zones ...*time.Location) (latest time.Time, missed int) {
	latest = s.last(after, until, zones)
	if latest.IsZero() {
		return latest, 0
	}
	for range s.Slots(after, latest.Add(-1), zones...) {
		if missed++; missed == MostMissed {
			break
		}
	}
	return latest, missed
}

// last gives the newest slot in (after, until]; zero if there is none. It looks
// backwards in windows that grow, so that a dense expression costs a few slots
// and a rare one a few windows.
func (s Spec) last(after, until time.Time, zones []*time.Location) (latest time.Time) {
	for end, window := until, time.Minute; end.After(after); window *= 2 {
		begin := end.Add(-window)
		if begin.Before(after) || window <= 0 {
			begin = after
		}
		for slot := range s.Slots(begin, end, zones...) {
			latest = slot
		}
		if !latest.IsZero() {
			return latest
		}
		end = begin
	}
	return time.Time{}
}

// How far Interval looks: over more than a year for the clock changes and for
// what comes by the month, over more than seven slots for what comes by the
// year (so that a leap year is among them).
const (
	ahead      = 400 * 24 * time.Hour
	aheadSlots = 8
	aheadDense = 8 * 24 * time.Hour
	maxBehind  = 9 * 366 * 24 * time.Hour // no lawful expression is rarer
)

// Interval gives the longest time between two slots that follow each other,
// from the last one up to the instant on, where the earlier of the two is
// within the next 400 days, or before the eighth slot if that is later. A run that is later than this is overdue. Where no gap
// is longer than an hour, only those of the next 8 days count: such an
// expression comes alike every day. The zero Spec gives 0.
func (s Spec) Interval(at time.Time, zones ...*time.Location) time.Duration {
	start := s.last(at.Add(-maxBehind), at, zones)
	if start.IsZero() {
		return 0
	}
	if gap := s.longest(start, at, zones); gap > time.Hour {
		return gap
	}
	var gap time.Duration
	for slot := range s.Slots(start, at.Add(aheadDense), zones...) {
		gap, start = max(gap, slot.Sub(start)), slot
	}
	return gap
}

// longest gives the longest gap from a slot on, if it is longer than an hour;
// an hour otherwise. What is no longer than the longest so far is leapt over:
// the last slot within that time of another is as good a place to go on from.
func (s Spec) longest(start, at time.Time, zones []*time.Location) time.Duration {
	until := at
	for range aheadSlots {
		until = s.NextIn(until, zones...)
	}
	if far := at.Add(ahead); far.After(until) {
		until = far
	}
	gap := time.Hour
	for slot := start; slot.Before(until); {
		if near := s.last(slot, slot.Add(gap), zones); !near.IsZero() {
			slot = near
			continue
		}
		next := s.NextIn(slot, zones...)
		gap, slot = next.Sub(slot), next
	}
	return gap
}

func orUTC(zones []*time.Location) []*time.Location {
	if len(zones) == 0 {
		return []*time.Location{time.UTC}
	}
	return zones
}

// earliest gives the first of some instants, and among equals the first in the
// list; zero if there is none.
func earliest(list []time.Time) (first time.Time) {
	for _, t := range list {
		if first.IsZero() || !t.IsZero() && t.Before(first) {
			first = t
		}
	}
	return first
}
