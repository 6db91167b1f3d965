package ladder

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Condition is something that somebody must have done, held or not done by a
// day. It is asked in one World at a time.
type Condition interface {
	// Met says whether the condition is met on a day.
	Met(*Asked) bool
	// Gaps adds what each part needs and what there is of it.
	Gaps(*Asked, []Gap) []Gap
}

// All is met where every part is.
type All []Condition

// Any is met where at least one part is.
type Any []Condition

// Met implements Condition.
func (c All) Met(a *Asked) bool {
	for _, part := range c {
		if !part.Met(a) {
			return false
		}
	}
	return true
}

// Gaps implements Condition.
func (c All) Gaps(a *Asked, gaps []Gap) []Gap {
	for _, part := range c {
		gaps = part.Gaps(a, gaps)
	}
	return gaps
}

// Met implements Condition.
func (c Any) Met(a *Asked) bool {
	for _, part := range c {
		if part.Met(a) {
			return true
		}
	}
	return false
}

// Gaps implements Condition: of a choice that is met, the parts that are; else
// those of the way that is nearest.
func (c Any) Gaps(a *Asked, gaps []Gap) []Gap {
	var nearest []Gap
	for i, part := range c {
		way := part.Gaps(a, nil)
		if part.Met(a) {
			return append(gaps, way...)
		}
		if i == 0 || missing(way) < missing(nearest) {
			nearest = way
		}
	}
	return append(gaps, nearest...)
}

// missing gives how much of a way is still to go: the sum of the shares that
// are missing of each part.
func missing(way []Gap) (sum float64) {
	for _, g := range way {
		if !g.Met && g.Need > 0 {
			sum += 1 - min(float64(g.Have)/float64(g.Need), 1)
		} else if !g.Met {
			sum++
		}
	}
	return sum
}

// Gap is what one part of a condition needs, and what there is of it.
type Gap struct {
	What string // the measure's word: hours, days, held, in-force ...
	Of   string // what it is about, in words of the configuration; may be empty
	Need int
	Have int
	Unit string // hours, repetitions, days, months ...
	Met  bool
	// On is the first day on which time alone would meet it; unset where time
	// alone does not.
	On day.Day
}

// Held asks that a stage was held without a break for a time.
type Held struct {
	Stage int
	For   day.Span
}

// Met implements Condition.
func (c Held) Met(a *Asked) bool {
	since, holds := a.walker.heldSince(a.Day, c.Stage)
	return holds && c.For.AddTo(since) <= a.Day
}

// Gaps implements Condition.
func (c Held) Gaps(a *Asked, gaps []Gap) []Gap {
	g := Gap{What: "held", Of: itoa(c.Stage), Unit: "days", Need: days(c.For, a.Day), Met: c.Met(a)}
	if since, holds := a.walker.heldSince(a.Day, c.Stage); holds {
		g.Have, g.On = a.Day.Sub(since), c.For.AddTo(since)
	}
	return append(gaps, g)
}

// Age asks for an age in whole years. Who was born on 29 February is a year
// older on 1 March in years without one: the later day, the cautious side.
type Age struct{ Years int }

// Met implements Condition.
func (c Age) Met(a *Asked) bool {
	born := a.person.Born
	if born.IsZero() {
		return a.world.benefit(inventory.Unknown)
	}
	return birthday(born, c.Years) <= a.Day
}

func birthday(born day.Day, years int) day.Day {
	on := born.AddYears(years)
	if !sameDate(born, on) {
		return on + 1
	}
	return on
}

func sameDate(a, b day.Day) bool {
	_, am, ad := a.Date()
	_, bm, bd := b.Date()
	return am == bm && ad == bd
}

// Gaps implements Condition.
func (c Age) Gaps(a *Asked, gaps []Gap) []Gap {
	g := Gap{What: "age", Unit: "years", Need: c.Years, Met: c.Met(a)}
	if born := a.person.Born; !born.IsZero() {
		g.On = birthday(born, c.Years)
		for g.Have < 150 && birthday(born, g.Have+1) <= a.Day {
			g.Have++
		}
	}
	return append(gaps, g)
}

// InForce asks for a certificate or a clearance that is good on the day.
type InForce struct{ What string }

// Met implements Condition.
func (c InForce) Met(a *Asked) bool {
	return a.world.benefit(a.person.inForce(c.What, a.Day))
}

// Gaps implements Condition.
func (c InForce) Gaps(a *Asked, gaps []Gap) []Gap {
	g := Gap{What: "in-force", Of: c.What, Need: 1, Met: c.Met(a)}
	if g.Met {
		g.Have = 1
	}
	return append(gaps, g)
}

// Did asks that something was done, and passed, so many times.
type Did struct {
	What    string
	AtLeast int
	Within  day.Span // zero: ever
}

// Met implements Condition.
func (c Did) Met(a *Asked) bool { return a.did(c.What, c.Within) >= c.AtLeast }

// Gaps implements Condition.
func (c Did) Gaps(a *Asked, gaps []Gap) []Gap {
	return append(gaps, Gap{What: "did", Of: c.What, Need: c.AtLeast, Have: a.did(c.What, c.Within), Unit: "times", Met: c.Met(a)})
}

// None asks that none of some events happened within a time. An event on the
// day of the anniversary still counts: the cautious side.
type None struct {
	Events []string
	Within day.Span
}

// Met implements Condition.
func (c None) Met(a *Asked) bool { return a.spoilt(c.Events, c.Within) == 0 }

// Gaps implements Condition.
func (c None) Gaps(a *Asked, gaps []Gap) []Gap {
	g := Gap{What: "none", Of: join(c.Events), Need: 0, Met: c.Met(a)}
	if last := a.spoilt(c.Events, c.Within); last > 0 {
		g.Have, g.On = 1, c.Within.AddTo(last)+1
	}
	return append(gaps, g)
}

// Paper asks that somebody has held a paper of a class without a break for a
// time up to the day.
type Paper struct {
	Class string
	For   day.Span
}

// Met implements Condition.
func (c Paper) Met(a *Asked) bool {
	since := a.paperSince(c.Class)
	return !since.IsZero() && c.For.AddTo(since) <= a.Day
}

// Gaps implements Condition.
func (c Paper) Gaps(a *Asked, gaps []Gap) []Gap {
	g := Gap{What: "paper", Of: c.Class, Unit: "days", Need: days(c.For, a.Day), Met: c.Met(a)}
	if since := a.paperSince(c.Class); !since.IsZero() {
		g.Have, g.On = a.Day.Sub(since), c.For.AddTo(since)
	}
	return append(gaps, g)
}
