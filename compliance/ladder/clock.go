package ladder

import (
	"slices"

	"antidotary/inventory/day"
)

// clock keeps currency: somebody is current for a time after he last handled.
// After that it takes so many clean repetitions under a mentor, within as long
// a time, until he is current again. A session of before the lapse that is
// signed after it shows that there was none.
type clock struct {
	last    day.Day // he last handled, or was signed off; unset: it does not run
	waiting []waits // sessions after a lapse, by day
}

// waits is a session by the terms of its day.
type waits struct {
	on    day.Day
	clean int
	terms
}

// terms are a stage's terms of currency.
type terms struct {
	window    day.Span // zero: no matter when
	refresher int
	// routine is the day from which whoever is current stays so, under the
	// assumption that regular handling goes on; unset: nothing is assumed.
	routine day.Day
}

// covers says whether somebody who handled on a day is current on a later one.
func (t terms) covers(on, d day.Day) bool {
	last := t.window.AddTo(on)
	return t.window.IsZero() || d <= last || !t.routine.IsZero() && last >= t.routine
}

// start lets the clock run from a day on.
func (c *clock) start(on day.Day) {
	if on > c.last {
		c.last = on
		c.settle()
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
	return t.window.IsZero() || !c.last.IsZero() && t.covers(c.last, d)
}

// feed takes a session that counts, with its clean repetitions under a mentor.
func (c *clock) feed(on day.Day, clean int, t terms) {
	switch {
	case c.last.IsZero():
		return
	case t.covers(c.last, on):
		c.start(on)
		return
	}
	i := len(c.waiting)
	for i > 0 && c.waiting[i-1].on > on {
		i--
	}
	c.waiting = slices.Insert(slices.Clone(c.waiting), i, waits{on, clean, t})
	c.settle()
}

// settle takes in what waits: sessions that turn out to lie before the lapse,
// and the refresher where it is complete.
func (c *clock) settle() {
	for i := 0; i < len(c.waiting); i++ {
		if w := c.waiting[i]; w.covers(c.last, w.on) || c.cleanUpTo(i) >= w.refresher {
			c.last = max(c.last, w.on)
			c.waiting, i = c.waiting[i+1:], -1
		}
	}
}

// cleanUpTo counts the clean repetitions of what waits up to one session,
// within its time.
func (c *clock) cleanUpTo(i int) (clean int) {
	for _, w := range c.waiting[:i+1] {
		if c.waiting[i].covers(w.on, c.waiting[i].on) {
			clean += w.clean
		}
	}
	return clean
}
