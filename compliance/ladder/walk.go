package ladder

import (
	"antidotary/inventory/day"
)

// walk leads one person up and down the ladder again, by what was judged. It
// stops after each day on which something changes, up to a day, with the
// walker as it is from then until the next stop. species are those whose place
// matters beside the ones signed off.
func walk(h *History, r *reading, p int32, until day.Day, species []int32, stop func(day.Day, *walker)) *walker {
	w := newWalker(h, r, p)
	w.asked = species
	w.evidence = make([]evidence, 0, len(h.own[p]))
	w.on(&left{}, until, stop)
	return w
}

// left is how far a person's own sessions and acts have been gone through.
type left struct{ own, acts int }

// on goes on up to a day.
func (w *walker) on(l *left, until day.Day, stop func(day.Day, *walker)) {
	acts := w.h.actsOf[w.id]
	for {
		d := w.nextStop(l, stop != nil)
		if d.IsZero() || d > until {
			break
		}
		w.before(d)
		w.sessionsOf(l, d)
		w.settle(d)
		for ; l.acts < len(acts) && acts[l.acts].On <= d; l.acts++ {
			w.apply(acts[l.acts])
		}
		if stop != nil {
			stop(d, w)
		}
	}
	w.settle(until)
}

func (w *walker) sessionsOf(l *left, d day.Day) {
	own := w.h.own[w.id]
	for ; l.own < len(own) && own[l.own].On <= d; l.own++ {
		w.judged(own[l.own], own[l.own].status[w.world.World])
	}
}

// nextStop gives the next day on which something happens or, if asked for, on
// which time alone changes something; unset: nothing does.
func (w *walker) nextStop(l *left, time bool) day.Day {
	n := next{after: w.at}
	if own := w.h.own[w.id]; l.own < len(own) {
		n.day = own[l.own].On
	}
	if acts := w.h.actsOf[w.id]; l.acts < len(acts) && (n.day.IsZero() || acts[l.acts].On < n.day) {
		n.day = acts[l.acts].On
	}
	if time {
		w.changes(&n)
	}
	return n.day
}

// next finds the earliest of some days after one.
type next struct{ after, day day.Day }

func (n *next) on(d day.Day) {
	if !d.IsZero() && d > n.after && (n.day.IsZero() || d < n.day) {
		n.day = d
	}
}

// past takes the day after a last one.
func (n *next) past(last day.Day) {
	if !last.IsZero() {
		n.on(last + 1)
	}
}

// changes adds the days on which time alone changes something.
func (w *walker) changes(n *next) {
	n.on(w.nextTaken())
	if s := w.stage(w.at); s > 0 {
		n.on(w.setBackOn(s))
	}
	for s := range w.holds {
		n.past(w.teaches[s].last)
		n.past(w.holds[s].last)
		n.on(w.stages[s].ends(w.terms(s)))
	}
	for i := range w.signed {
		one := &w.signed[i]
		n.past(one.hold.last)
		n.on(one.clock.ends(w.speciesTerms(w.needs(one.species, w.at))))
		line(n, w.h.Species[one.species].Place)
	}
	for _, species := range w.asked {
		line(n, w.h.Species[species].Place)
	}
	for _, b := range w.barred {
		n.past(b.last)
		n.on(b.cleared)
	}
	line(n, w.h.People[w.id].Here)
	for _, l := range w.h.open[w.id].stages {
		line(n, l)
	}
}

// line adds the next day on which a line changes.
func line[T comparable](n *next, l day.Line[T]) {
	if on, _, ok := l.Next(n.after, func(T) bool { return true }); ok {
		n.on(on)
	}
}
