package ladder

import "antidotary/inventory/day"

// setBackUntil applies what ends, and what long lapses take, up to a day.
func (w *walker) setBackUntil(d day.Day) {
	for d >= w.quiet {
		s := w.stage(w.at)
		if s == 0 {
			w.quiet = day.Last
			return
		}
		on, ends := w.setBackOn(s), w.holds[s].last
		switch {
		case !ends.IsZero() && ends < d && (on.IsZero() || ends < on):
			w.at, w.lowered = ends+1, ends+1
		case !on.IsZero() && on <= d:
			w.at = max(w.at, on)
			w.setBackTo(s-1, on)
		default:
			first := next{after: d, day: day.Last}
			first.on(on)
			first.past(ends)
			w.quiet = first.day
			return
		}
	}
}

// setBackOn gives the day on which the highest stage that is held will be lost
// for want of handling; unset: never. How long it had lapsed when he came down
// to it does not count.
func (w *walker) setBackOn(s int) day.Day {
	after := w.h.Ladder.Stages[s].SetBackAfter
	lapse := w.stages[s].ends(w.terms(s))
	if after.IsZero() || lapse.IsZero() {
		return 0
	}
	return after.AddTo(max(lapse, w.lowered))
}

// setBackTo takes every stage above one from a day on, and leaves that one for
// as long as the higher ones would have lasted. Its currency is its own.
func (w *walker) setBackTo(stage int, d day.Day) {
	w.ended(stage, d)
	for s := stage + 1; s < len(w.holds); s++ {
		if was := w.holds[s]; was.on(d) {
			w.lowered = d
			w.past = append(w.past, held{s, hold{was.from, d - 1}})
		}
	}
	takeAbove(w.holds, stage, d)
}

// ended remembers when a stage was held before, where it is not on a day.
func (w *walker) ended(stage int, d day.Day) {
	if was := w.holds[stage]; !was.from.IsZero() && !was.on(d) {
		w.past = append(w.past, held{stage, was})
	}
}

// takeAbove takes what is held above a number from a day on.
func takeAbove(holds []hold, number int, d day.Day) {
	for s := number + 1; s < len(holds); s++ {
		if number > 0 && holds[s].on(d) {
			if left := &holds[number]; left.on(d) {
				*left = left.longer(holds[s])
			} else {
				*left = holds[s]
			}
		}
		holds[s] = hold{}
	}
}
