package ladder

import (
	"slices"

	"antidotary/inventory"
)

// cleanRun counts the newest clean repetitions back to the last that was not
// clean, in whatever session: what went wrong counts even where the session
// does not.
func (a *Asked) cleanRun(f *Filter) (run int) {
	all := a.walker.evidence
	for end := len(all); end > 0; {
		begin := end - 1
		for begin > 0 && all[begin-1].On == all[end-1].On {
			begin--
		}
		if all[begin].On <= a.Day {
			clean, whole := a.cleanOn(f, all[begin:end])
			if run += clean; !whole {
				return run
			}
		}
		end = begin
	}
	return run
}

// cleanOn counts the clean repetitions at the end of one day, and says whether
// the run goes on before it. Where the order of the day is not known, what
// went wrong came as late as it may have at worst, and as early at best.
func (a *Asked) cleanOn(f *Filter, sessions []evidence) (clean int, whole bool) {
	var tail ending
	for i := range sessions { // as they began; first those of which that is not known
		e := &sessions[i]
		takes := a.takes(f, e)
		counts := e.counts <= a.Day && (e.status == Counts || f.Alone && e.status == CountsAlone) && a.world.benefit(takes) && a.recent(f.Within, e.On)
		switch {
		case (e.clean < e.reps || e.Unsafe == inventory.Yes) && a.world.adverse(takes):
			run := 0
			if counts && e.Unsafe != inventory.Yes {
				run = trailing(e.Results)
			}
			tail.spoilt(run, !e.Begun.IsZero())
		case counts:
			tail.good(int(e.clean), !e.Begun.IsZero())
		}
	}
	return tail.run(a.world)
}

// ending gathers how a day ended: what was clean after the last that was not.
type ending struct {
	after, loose int   // clean: since the last that was spoilt, and at a time that is not known
	last         int   // clean at the end of the last that was spoilt
	any, timed   bool  // something was spoilt; and at a known time
	untimed      []int // clean at the end of those at a time that is not known
}

func (x *ending) spoilt(run int, timed bool) {
	x.any = true
	if !timed {
		x.untimed = append(x.untimed, run)
		return
	}
	x.timed, x.last, x.after = true, run, 0
}

func (x *ending) good(clean int, timed bool) {
	if timed {
		x.after += clean
	} else {
		x.loose += clean
	}
}

// run gives the clean repetitions at the end of the day, and whether all of it
// was clean.
func (x *ending) run(w *reading) (clean int, whole bool) {
	if !x.any {
		return x.after + x.loose, true
	}
	worst, best := x.last+x.after, x.last
	if !x.timed {
		worst, best = slices.Min(x.untimed), 0
	}
	for _, run := range x.untimed {
		worst, best = min(worst, run), max(best, run)
	}
	best += x.after + x.loose
	if worst != best && w.benefit(inventory.Unknown) {
		return best, false
	}
	return worst, false
}

// trailing counts the clean repetitions at the end.
func trailing(results string) (n int) {
	for n < len(results) && results[len(results)-1-n] == Clean {
		n++
	}
	return n
}
