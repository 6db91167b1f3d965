package day

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// Shape is the way in which a rule of law counts a period. The zero value is
// no shape: a period that nobody filled in has no deadline.
type Shape uint8

// The shapes that law uses, each with an example.
const (
	noShape        Shape = iota
	AfterEvent           // the day of the event is not counted: BGB s.188(2) first half; FRCP 6(a)(1)
	BeginningWith        // the first day counts: Zoo Licensing Act 1981 s.5(1); BGB s.188(2) second half
	BeforeDeadline       // counted backward from a last day: 50 CFR 13.22(a)
	FixedAnnual          // a date each year: 50 CFR 13.45, 31 March
	Hours                // elapsed hours by the clock: 29 CFR 1904.39
	Immediately          // at once: N.C. Gen. Stat. 14-417(c)
)

var shapeNames = []string{"", "after_event", "beginning_with", "before_deadline", "fixed_annual", "hours", "immediately"}

// String gives the name used in rules, such as "before_deadline".
func (s Shape) String() string {
	if int(s) >= len(shapeNames) {
		return fmt.Sprintf("Shape(%d)", uint8(s))
	}
	return shapeNames[s]
}

// MarshalText writes the name used in rules; empty for no shape.
func (s Shape) MarshalText() ([]byte, error) {
	if int(s) >= len(shapeNames) {
		return nil, fmt.Errorf("%s is not the shape of a period", s)
	}
	return []byte(s.String()), nil
}

// UnmarshalText reads the name used in rules.
func (s *Shape) UnmarshalText(text []byte) error {
	i := slices.Index(shapeNames, string(text))
	if i < 0 {
		return fmt.Errorf("%q is not the shape of a period: after_event, beginning_with, before_deadline, fixed_annual, hours and immediately are allowed", text)
	}
	*s = Shape(i)
	return nil
}

// Period is how long a rule gives, or from when to when something is good.
type Period struct {
	Shape      Shape      `json:"shape" yaml:"shape"`
	Span       Span       `json:"span,omitzero" yaml:"span,omitempty"`   // after_event, beginning_with, before_deadline
	Month      time.Month `json:"month,omitzero" yaml:"month,omitempty"` // fixed_annual
	DayOfMonth int        `json:"day,omitzero" yaml:"day,omitempty"`     // fixed_annual; 29 February is the 28th in common years
	Hours      int        `json:"hours,omitzero" yaml:"hours,omitempty"` // hours
	Moves      bool       `json:"moves,omitzero" yaml:"moves,omitempty"` // a result on a non-working day moves
}

// Deadline is a last day and what is known about it.
type Deadline struct {
	On          Day  `json:"on,omitzero" yaml:"on,omitempty"`                   // the last day that is in time
	Raw         Day  `json:"raw,omitzero" yaml:"raw,omitempty"`                 // the same before it moved off a non-working day
	Provisional bool `json:"provisional,omitzero" yaml:"provisional,omitempty"` // it rests on days for which there is no holiday data
}

// IsZero says that nothing was filled in.
func (p Period) IsZero() bool { return p == Period{} }

// ByClock says that the period runs in elapsed time from an instant, so that
// At answers for it and not On.
func (p Period) ByClock() bool { return p.Shape == Hours || p.Shape == Immediately }

// Validate says what is wrong or missing in a period that was read from a
// rule.
func (p Period) Validate() error {
	spanned := p.Shape == AfterEvent || p.Shape == BeginningWith || p.Shape == BeforeDeadline
	switch {
	case p.Shape == noShape || int(p.Shape) >= len(shapeNames):
		return errors.New("a period needs a shape: after_event, beginning_with, before_deadline, fixed_annual, hours or immediately")
	case spanned && (p.Span.IsZero() || min(p.Span.Years, p.Span.Months, p.Span.Weeks, p.Span.Days) < 0):
		return fmt.Errorf("a period of the shape %s needs a span, such as \"30 days\"", p.Shape)
	case !spanned && !p.Span.IsZero():
		return fmt.Errorf("a period of the shape %s has no span", p.Shape)
	case p.Shape == FixedAnnual && !existsInLeapYear(p.Month, p.DayOfMonth):
		return fmt.Errorf("a period of the shape %s needs a month and a day that exist, not month %d, day %d", p.Shape, p.Month, p.DayOfMonth)
	case p.Shape != FixedAnnual && (p.Month != 0 || p.DayOfMonth != 0):
		return fmt.Errorf("a period of the shape %s has no month and day", p.Shape)
	case p.Shape == Hours && (p.Hours < 1 || p.Hours > maxCount):
		return fmt.Errorf("a period of the shape %s needs a number of hours from 1 to %d", p.Shape, maxCount)
	case p.Shape != Hours && p.Hours != 0:
		return fmt.Errorf("a period of the shape %s has no hours", p.Shape)
	case p.ByClock() && p.Moves:
		return fmt.Errorf("a period of the shape %s never moves off a non-working day", p.Shape)
	}
	return nil
}

// On gives the last day of the period.
//
//   - AfterEvent: anchor is the day of the event and is not counted.
//   - BeginningWith: anchor is the first day of the period.
//   - BeforeDeadline: anchor is the last day of what is to be renewed; the
//     result is the last day that is still early enough.
//   - FixedAnnual: the first such date at or after anchor, before any move.
//   - Hours: the cautious day, as if the event was in the first minute of
//     anchor: the last day that is wholly in time, but not before anchor. Use
//     At wherever the instant is known.
//   - Immediately: anchor itself.
//
// If the period moves, a result on a non-working day of cal moves earlier for
// BeforeDeadline and later for the other shapes (FRCP 6(a)(1)(C) and 6(a)(5)).
// An unset anchor or a period without shape gives the zero Deadline.
func (p Period) On(anchor Day, cal Calendar) Deadline {
	if anchor.IsZero() {
		return Deadline{}
	}
	switch p.Shape {
	case AfterEvent:
		return p.settled(p.Span.AddTo(anchor), cal)
	case BeginningWith:
		return p.settled(p.Span.lastFrom(anchor), cal)
	case BeforeDeadline:
		return p.settled(p.Span.SubtractFrom(anchor), cal)
	case FixedAnnual:
		year, _, _ := anchor.Date()
		if p.inYear(year) < anchor {
			year++
		}
		return p.InYear(year, cal)
	case Hours:
		raw := anchor.Add(max(0, p.Hours/24-1))
		return Deadline{On: raw, Raw: raw}
	case Immediately:
		return Deadline{On: anchor, Raw: anchor}
	default:
		return Deadline{}
	}
}

// InYear gives the date of a FixedAnnual period in a year, and the zero
// Deadline for every other shape.
func (p Period) InYear(year int, cal Calendar) Deadline {
	if p.Shape != FixedAnnual {
		return Deadline{}
	}
	return p.settled(p.inYear(year), cal)
}

// At gives the instant at which an Hours or Immediately period is over that
// began at t. It counts elapsed time: a clock that is set forward or back, a
// weekend or a closed office changes nothing. For every other shape it gives
// the zero time, because those end with a day (On, then EndOf).
func (p Period) At(t time.Time) time.Time {
	switch p.Shape {
	case Hours:
		return t.Add(time.Duration(p.Hours) * time.Hour)
	case Immediately:
		return t
	default:
		return time.Time{}
	}
}

// settled moves a raw result off a non-working day, if the period says so.
func (p Period) settled(raw Day, cal Calendar) Deadline {
	switch {
	case !p.Moves:
		return Deadline{On: raw, Raw: raw}
	case p.Shape == BeforeDeadline:
		return cal.Earlier(raw)
	default:
		return cal.Later(raw)
	}
}

// inYear takes the date from a leap year, so that 29 February clamps.
func (p Period) inYear(year int) Day {
	return Of(2000, p.Month, p.DayOfMonth).AddYears(year - 2000).bounded()
}

// lastFrom gives the last day of a span whose first day is d: the day before
// the corresponding date or, where the month has no corresponding date, the
// last day of that month (BGB s.188(2) and (3)).
func (s Span) lastFrom(d Day) Day {
	after := d.AddMonths(s.inMonths())
	_, _, want := d.Date()
	if _, _, got := after.Date(); got < want {
		after++
	}
	return after.Add(s.inDays() - 1).bounded()
}

func existsInLeapYear(month time.Month, dayOfMonth int) bool {
	if month < time.January || month > time.December {
		return false
	}
	return dayOfMonth >= 1 && dayOfMonth <= Of(2000, month, 1).daysInMonth()
}
