package ladder

import (
	"slices"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// stageLast is when somebody last handled on a stage as far as currency goes.
func (o *oracle) stageLast(s *state, stage int) day.Day {
	return o.last(s, s.starts[stage], func(x *Session, sp *Species) bool {
		refreshes, place, top := [2]bool{}, sp.Place.At(x.On), o.Ladder.Top() // whether some does not, and some does
		for at := min(place.Least, top); at <= min(place.Most, top); at++ {
			if at == stage || at > stage && o.Ladder.Stages[stage].HigherCounts {
				refreshes[1] = true
			} else {
				refreshes[0] = true
			}
		}
		return refreshes[1] && (o.world == Best || !refreshes[0])
	}, func(day.Day) (day.Span, int) { return o.Ladder.Stages[stage].Handled, o.Ladder.Stages[stage].Refresher })
}

func (o *oracle) speciesLast(s *state, sp *Species) day.Day {
	return o.last(s, s.signed[sp.ID].starts, func(x *Session, of *Species) bool { return of == sp }, func(d day.Day) (day.Span, int) {
		terms := o.Ladder.Stages[o.asks(sp, d)]
		return terms.SpeciesHandled, terms.Refresher
	})
}

// last goes through all that somebody did, in the order of its days. A day of
// work counts if it lies within the time from the last one; after a lapse only
// if within that time before it the refresher was done.
func (o *oracle) last(s *state, starts []day.Day, of func(*Session, *Species) bool, terms func(day.Day) (day.Span, int)) (last day.Day) {
	clean, days := map[day.Day]int{}, slices.Clone(starts)
	for _, x := range o.counted(s) {
		sp := o.kindOf(x.Species)
		if x.Level < o.Ladder.HandlingFrom || !o.benefit(opposite(sp.Harmless)) || !of(x, sp) {
			continue
		}
		days = append(days, x.On)
		if o.status(x) == Counts {
			clean[x.On] += count(x.Results, 'c')
		}
	}
	slices.Sort(days)
	for _, d := range days {
		window, refresher := terms(d)
		done := 0
		for on, n := range clean {
			if on <= d && window.AddTo(on) >= d {
				done += n
			}
		}
		begins := slices.Contains(starts, d)
		runs := last != 0 && (window.IsZero() || d <= window.AddTo(last) || done >= refresher)
		if begins || runs {
			last = d
		}
	}
	return last
}

// counted gives somebody's sessions that count by what is known.
func (o *oracle) counted(s *state) (all []*Session) {
	for _, x := range o.Sessions {
		if x.Trainee != s.person.ID || x.On > s.known || o.kindOf(x.Species) == nil {
			continue
		}
		from, st := o.countsFrom(x), o.status(x)
		if st == CountsAlone {
			from = x.On
		}
		if from != 0 && from <= s.known && (st == Counts || st == CountsAlone) {
			all = append(all, x)
		}
	}
	return all
}

// countsFrom: from its own day where nobody watched; else from its signature,
// within the days for it.
func (o *oracle) countsFrom(x *Session) day.Day {
	if x.Watched == inventory.No {
		return x.On
	}
	if x.Signed.IsZero() {
		return 0
	}
	y, m, d := x.Signed.In(o.Zone(x.Site)).Date()
	on := max(day.Of(y, time.Month(m), d), x.On)
	if int(on-x.On) > o.Ladder.SignWithin {
		return 0
	}
	return on
}

func opposite(t inventory.Tri) inventory.Tri {
	return map[inventory.Tri]inventory.Tri{inventory.Yes: inventory.No, inventory.No: inventory.Yes}[t]
}

func count(text string, letter byte) (n int) {
	for i := range len(text) {
		if text[i] == letter {
			n++
		}
	}
	return n
}
