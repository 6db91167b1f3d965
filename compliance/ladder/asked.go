package ladder

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Asked is a question to a condition: of whom, on what day, about which
// species, in which world.
type Asked struct {
	Day    day.Day
	Target *Species // nil: about none
	walker *walker
	person *Person
	world  *reading
}

func (w *walker) ask(d day.Day, target *Species) *Asked {
	return &Asked{d, target, w, &w.h.People[w.id], w.world}
}

// counted yields the sessions that a filter takes and that count by the day.
func (a *Asked) counted(f *Filter, yield func(*evidence)) {
	from := day.First
	if !f.Within.IsZero() {
		from = f.Within.SubtractFrom(a.Day) - 4 // months clamp: asked exactly below
	}
	for i := len(a.walker.evidence) - 1; i >= 0; i-- {
		e := &a.walker.evidence[i]
		if e.On < from {
			break
		}
		if e.On <= a.Day && e.counts <= a.Day && (e.status == Counts || f.Alone && e.status == CountsAlone) &&
			a.recent(f.Within, e.On) && a.world.benefit(a.takes(f, e)) {
			yield(e)
		}
	}
}

func (a *Asked) recent(within day.Span, on day.Day) bool {
	return within.IsZero() || within.AddTo(on) >= a.Day
}

func (a *Asked) takes(f *Filter, e *evidence) inventory.Tri {
	sp := &a.walker.h.Species[e.species]
	return f.takes(sp, sp.Place.At(e.On), e.Level, a.Target)
}

// count gives how much there is of a measure.
func (a *Asked) count(c *Count) (n int) {
	f := &c.Filter
	switch c.Of {
	case Hours:
		return a.minutes(f)/60 + a.credited(f, func(c *Credit) int { return c.Hours })
	case CleanRun:
		return a.cleanRun(f)
	case Days:
		last := day.Day(0)
		a.counted(f, func(e *evidence) {
			if e.On != last {
				n, last = n+1, e.On
			}
		})
		return n + a.credited(f, func(c *Credit) int { return c.Days })
	case Individuals:
		return a.individuals(f)
	case Kinds:
		return distinct(a, f, func(e *evidence) []int32 { return []int32{e.species} })
	case Mentors:
		return a.mentors(f)
	}
	a.counted(f, func(e *evidence) {
		switch c.Of {
		case Sessions:
			n++
		case Repetitions:
			n += int(e.reps)
		case CleanOnes:
			n += int(e.clean)
		}
	})
	if c.Of == Sessions {
		return n
	}
	return n + a.credited(f, func(c *Credit) int { return c.Repetitions })
}

func distinct[T comparable](a *Asked, f *Filter, of func(*evidence) []T) int {
	seen := make(map[T]bool)
	a.counted(f, func(e *evidence) {
		for _, x := range of(e) {
			seen[x] = true
		}
	})
	return len(seen)
}

// individuals counts animals. Where it is not known which, each repetition was
// with another one at best.
func (a *Asked) individuals(f *Filter) (n int) {
	a.counted(f, func(e *evidence) {
		if len(e.Animals) == 0 && a.world.benefit(inventory.Unknown) {
			n += max(int(e.reps), 1)
		}
	})
	return n + distinct(a, f, func(e *evidence) []inventory.ID { return e.Animals })
}

// mentors counts who watched. Where it is not known who, it was somebody else
// each time at best.
func (a *Asked) mentors(f *Filter) (n int) {
	a.counted(f, func(e *evidence) {
		if e.status == Counts && e.mentor < 0 && a.world.benefit(inventory.Unknown) {
			n++
		}
	})
	return n + distinct(a, f, func(e *evidence) []int32 {
		if e.mentor < 0 {
			return nil
		}
		return []int32{e.mentor}
	})
}

// minutes gives the minutes that count: of one day no more than the cap. What
// lasted nobody knows how long lasted no time, or as long as may count.
func (a *Asked) minutes(f *Filter) (sum int) {
	most := a.walker.h.Ladder.HoursPerDay * 60
	on, today := day.Day(0), 0
	a.counted(f, func(e *evidence) {
		if e.On != on {
			sum, on, today = sum+min(today, most), e.On, 0
		}
		switch {
		case e.minutes >= 0:
			today += int(e.minutes)
		case a.world.benefit(inventory.Unknown):
			today += most
		}
	})
	return sum + min(today, most)
}

// first gives the day of the first work that counts; unset: there is none.
func (a *Asked) first(f *Filter) (first day.Day) {
	a.counted(f, func(e *evidence) { first = e.On })
	a.credits(f, func(c *Credit, _ int) {
		if first.IsZero() || c.First < first {
			first = c.First
		}
	})
	return first
}

// credits yields what was done elsewhere and counts, with the percentage of it
// that does. It says nothing of tasks, of stages, or of when in its time it
// was done.
func (a *Asked) credits(f *Filter, yield func(*Credit, int)) {
	terms := a.walker.h.Ladder.Credit
	for i := range a.walker.h.credits[a.walker.id] {
		c := &a.walker.h.credits[a.walker.id][i]
		percent := min(c.Percent, terms.Percent)
		if c.On > a.Day || percent == 0 {
			continue
		}
		takes := f.named(c.name, c.genus, c.family, a.Target)
		if c.name == "" && takes == inventory.No && f.mayName(c, a.Target) {
			takes = inventory.Unknown
		}
		if f.Harmless || f.Venomous || f.StageFrom > 0 || f.StageTo > 0 || f.TaskFrom > 0 || f.TaskTo > 0 {
			takes = takes.And(inventory.Unknown)
		}
		switch {
		case a.recent(f.Within, c.First):
		case a.recent(f.Within, c.Last):
			takes = takes.And(inventory.Unknown)
		default:
			takes = inventory.No
		}
		if a.world.benefit(takes) && a.probation(c.On) >= terms.Probation {
			yield(c.Credit, percent)
		}
	}
}

// mayName says whether work with a family or a genus may have been with what
// the filter names.
func (f *Filter) mayName(c *credit, target *Species) bool {
	if f.Like == SameSpecies && target != nil && (c.genus == target.Genus || c.genus == "" && c.family == target.Family) {
		return true
	}
	if f.Like == SameGenus && target != nil && c.genus == "" && c.family == target.Family {
		return true
	}
	return len(f.Names) > 0 && f.Like == AnyKind
}

// probation counts clean repetitions under a mentor of this house since a day.
func (a *Asked) probation(since day.Day) (clean int) {
	a.counted(&Filter{}, func(e *evidence) {
		if e.On >= since {
			clean += int(e.clean)
		}
	})
	return clean
}

func (a *Asked) credited(f *Filter, of func(*Credit) int) (sum int) {
	a.credits(f, func(c *Credit, percent int) { sum += of(c) * percent / 100 })
	return sum
}

// did counts how often something was done and passed within a time.
func (a *Asked) did(what string, within day.Span) (n int) {
	for _, d := range a.person.Done[what] {
		if d.On <= a.Day && a.recent(within, d.On) && a.world.benefit(d.Passed) {
			n++
		}
	}
	return n
}

// spoilt gives the day of the newest of some events within a time; unset:
// there was none. Where the list does not reach back so far, nobody knows.
func (a *Asked) spoilt(events []string, within day.Span) (last day.Day) {
	for _, what := range events {
		for _, d := range a.person.Done[what] {
			if d.On <= a.Day && a.recent(within, d.On) {
				last = max(last, d.On)
			}
		}
	}
	known := a.person.KnownFrom
	if last.IsZero() && (known.IsZero() || a.recent(within, known-1)) && a.world.adverse(inventory.Unknown) {
		return max(known-1, day.First)
	}
	return last
}

// paperSince gives since when a paper of a class has been in force without a
// break; unset: it is not.
func (a *Asked) paperSince(class string) (since day.Day) {
	line, known := a.person.Papers[class]
	if !known || !a.world.benefit(line.At(a.Day)) {
		return 0
	}
	if a.world.benefit(line.First()) {
		since = day.First
	}
	for on, is := range line.Changes() {
		switch {
		case on > a.Day:
			return since
		case !a.world.benefit(is):
			since = 0
		case since.IsZero():
			since = on
		}
	}
	return since
}
