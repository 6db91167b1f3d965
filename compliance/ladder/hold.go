package ladder

import (
	"slices"

	"antidotary/inventory/day"
)

// hold is something granted: from when, and its last good day.
type hold struct {
	from day.Day // unset: not held
	last day.Day // unset: no end
}

func (x hold) on(d day.Day) bool {
	return !x.from.IsZero() && x.from <= d && (x.last.IsZero() || d <= x.last)
}

// again grants what may be held already: it goes on, or begins anew.
func (x hold) again(from, last day.Day) hold {
	if !x.on(from) {
		return hold{from, last}
	}
	return x.longer(hold{from, last})
}

// longer gives what is held for as long as the longer of two that are held.
func (x hold) longer(y hold) hold {
	if !x.last.IsZero() && (y.last.IsZero() || y.last > x.last) {
		x.last = y.last
	}
	return x
}

// held is a stage that was held, up to its last day.
type held struct {
	stage int
	hold
}

// heldSince gives since when a stage or a higher one has been held without a
// break.
func (w *walker) heldSince(d day.Day, stage int) (since day.Day, holds bool) {
	if stage <= 0 {
		return day.First, true
	}
	if w.stage(d) < stage {
		return 0, false
	}
	since = d
	for longer := true; longer; {
		longer = false
		for s := stage; s < len(w.holds); s++ {
			longer = w.holds[s].reaches(&since) || longer
		}
		for _, p := range w.past {
			longer = p.stage >= stage && p.reaches(&since) || longer
		}
	}
	return since, true
}

// reaches takes a day back to the beginning of what was held on it or up to
// its eve.
func (x hold) reaches(since *day.Day) bool {
	if x.from >= *since || !x.on(*since) && !x.on(*since-1) {
		return false
	}
	*since = x.from
	return true
}

// heldBefore says whether somebody holds a stage on a day, by what he was
// granted before it.
func (w *walker) heldBefore(stage int, d day.Day, l *limits) bool {
	if stage <= 0 {
		return true
	}
	return l.cap(w.stage(d)) >= stage && slices.ContainsFunc(w.holds[stage:], func(x hold) bool { return x.on(d) && x.from < d })
}
