package compliance

import (
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// terms is by when somebody must be told of one event.
type terms struct {
	zone *time.Location // of the site: its days are judged
	now  time.Time
	// first and last bound the last instant that is in time: one and the same,
	// but for a clock that runs from an instant that nobody knows.
	first, last time.Time
	atOnce      bool    // no time is given, so that no clock decides on the day itself
	on          day.Day // of the event
	by, legal   day.Day
	at          time.Time // the instant itself, where the rule counts by the clock; else zero
	provisional bool
}

// terms works out by when the rule wants somebody told. The day by which to
// act is the cautious one: where only the event's day is known, as if it was in
// its first minute; where the authority's day ends within a day of the site,
// the day before.
func (k *noticeKind) terms(v *View, e *event) terms {
	t := terms{zone: v.zoneAt(e.site), now: v.Ask.Now, on: e.on}
	if e.on.IsZero() {
		return t
	}
	switch p := k.within.period; p.Shape {
	case day.Immediately:
		t.atOnce, t.by, t.legal = true, e.on, e.on
		t.first, t.last = day.StartOf(e.on, t.zone), lastInstant(e.on, t.zone)
	case day.Hours:
		k.byClock(e, &t)
	default:
		k.byDay(v, e, &t)
	}
	return t
}

func (k *noticeKind) byClock(e *event, t *terms) {
	p := k.within.period
	if !e.at.IsZero() {
		t.first = p.At(e.at)
		t.last, t.at = t.first, t.first.UTC()
		t.by = max(day.In(t.first.Add(-1), t.zone), e.on)
		t.legal = t.by
		return
	}
	t.first, t.last = p.At(day.StartOf(e.on, t.zone)), p.At(lastInstant(e.on, t.zone))
	t.by = p.On(e.on, day.Calendar{}).On
	t.legal = t.by
}

func (k *noticeKind) byDay(v *View, e *event, t *terms) {
	cal, _ := v.Book.Holidays.Calendar(k.calendar) // one that the data lack counts weekends and is provisional
	due := k.within.period.On(e.on, cal)
	if k.within.working > 0 {
		due = cal.AddWorking(e.on, k.within.working)
	}
	zone := t.zone
	if k.zone != nil {
		zone = k.zone
	}
	t.first = lastInstant(due.On, zone)
	t.last, t.legal, t.provisional = t.first, due.On, due.Provisional
	t.by = day.In(t.first, t.zone)
	if t.first.Before(lastInstant(t.by, t.zone)) {
		t.by--
	}
	t.by = max(t.by, e.on)
}

// lastInstant is the last of a day in a zone.
func lastInstant(d day.Day, zone *time.Location) time.Time { return day.EndOf(d, zone).Add(-1) }

// turns gives the days from which the answer of an event that nobody has told
// of may differ.
func (t *terms) turns() []day.Day {
	if t.on.IsZero() {
		return nil
	}
	first, last := day.In(t.first, t.zone), day.In(t.last, t.zone)
	return []day.Day{t.on, t.on + 1, first, first + 1, last, last + 1}
}

// standing is what a day is that ends without anybody told.
func (t *terms) standing(on day.Day) Standing {
	if t.atOnce {
		if on <= t.on {
			return CannotTell
		}
		return OutOfOrder
	}
	first, last := t.inTime(t.first, on), t.inTime(t.last, on)
	switch {
	case first && last:
		return InOrder
	case !last:
		return OutOfOrder
	default:
		return CannotTell
	}
}

// inTime says whether a day is in time. One within which the time runs out is,
// until it has run out: it is a day on which somebody can still act.
func (t *terms) inTime(end time.Time, on day.Day) bool {
	switch {
	case !end.Before(lastInstant(on, t.zone)):
		return true
	case !end.After(day.StartOf(on, t.zone)): // what is over at midnight was over the evening before
		return false
	default:
		return !t.now.After(end)
	}
}

// due gives the last instant or day in time, as reasons say it.
func (t *terms) due(v *View, e *event) string {
	if !t.at.IsZero() {
		return clock(t.at, t.zone)
	}
	return t.legal.String()
}

// animalAt is a duty about an animal at a site as if it had always been there:
// for what is asked of it after it is gone.
func (b *binder) animalAt(a *stay, site inventory.ID) Duty {
	d := b.dutyUnder(b.lawAt(site), a.Ref(), day.Constant(site), always, cohort{species: a.Species, bred: a.Origin.Bred}, attributes{animal: a.Animal, species: a.species})
	d.animal = a
	return d
}
