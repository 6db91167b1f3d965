package ladder

import (
	"slices"

	"antidotary/inventory/day"
)

// clock keeps currency: somebody is current for a time after he last handled.
// After that it takes so many clean repetitions under a mentor until he is
// current again. A session of before the lapse that is signed after it shows
// that there was none.
type clock struct {
	last    day.Day // he last handled, or was signed off; unset: it does not run
	waiting []waits // sessions after a lapse, by day
}

type waits struct {
	on    day.Day
	clean int
}

// terms are a stage's terms of currency.
type terms struct {
	window    day.Span // zero: no matter when
	refresher int
	// routine is the day from which whoever is current stays so, under the
	// assumption that regular handling goes on; unset: nothing is assumed.
	routine day.Day
}

// start lets the clock run from a day on.
func (c *clock) start(on day.Day, t terms) {
	if on > c.last {
		c.last = on
		c.settle(t)
	}
}

// ends gives the first day on which the clock has run out; unset: never.
func (c *clock) ends(t terms) day.Day {
	if t.window.IsZero() || c.last.IsZero() {
		return 0
	}
	end := t.window.AddTo(c.last) + 1
	if !t.routine.IsZero() && end > t.routine {
		return 0
	}
	return end
}

// current says whether somebody is current on a day.
func (c *clock) current(d day.Day, t terms) bool {
	if t.window.IsZero() {
		return true
	}
	return !c.last.IsZero() && !c.out(d, t)
}

// out says whether a running clock has run out by a day.
func (c *clock) out(d day.Day, t terms) bool {
	end := c.ends(t)
	return !end.IsZero() && d >= end
}

// feed takes a session that counts, with its clean repetitions under a mentor.
func (c *clock) feed(on day.Day, clean int, t terms) {
	if c.last.IsZero() || t.window.IsZero() {
		return
	}
	if !c.out(on, t) {
		c.start(on, t)
		return
	}
	i := len(c.waiting)
	for i > 0 && c.waiting[i-1].on > on {
		i--
	}
	c.waiting = slices.Insert(slices.Clone(c.waiting), i, waits{on, clean})
	c.settle(t)
}

// settle takes in what waits: sessions that turn out to lie before the lapse,
// and the refresher where it is complete.
func (c *clock) settle(t terms) {
	for {
		for len(c.waiting) > 0 && !c.out(c.waiting[0].on, t) {
			c.last = max(c.last, c.waiting[0].on)
			c.waiting = c.waiting[1:]
		}
		clean, done := 0, -1
		for i, w := range c.waiting {
			if clean += w.clean; clean >= t.refresher {
				done = i
				break
			}
		}
		if done < 0 {
			return
		}
		c.last = c.waiting[done].on
		c.waiting = c.waiting[done+1:]
	}
}

// missing gives how many clean repetitions a refresher still takes.
func (c *clock) missing(t terms) int {
	clean := 0
	for _, w := range c.waiting {
		clean += w.clean
	}
	return max(t.refresher-clean, 0)
}
