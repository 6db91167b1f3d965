//go:build unix

package opabench

import (
	"runtime"
	"slices"
	"syscall"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/scale"
)

// BenchmarkSameRules asks both engines for the standing of every subject under
// every compared rule on one day. They take turns, so that what else the
// machine does falls on both; ratio is the library's median by the watch's.
//
// The watch's time is a whole evaluation: it indexes the records, judges its
// own rules too, joins rules by precedence, and what comes is the line for all
// days with its steps. The library's is the asking alone, of data indexed,
// stored and prepared before, for one day. Each way to ask it is measured.
func BenchmarkSameRules(b *testing.B) {
	for _, size := range []scale.Size{scale.Medium, scale.Large} {
		q := questionOf(b, size)
		for _, way := range []Way{{}, {Partial: true}, {OneByOne: true}} {
			b.Run(size.Name+"/"+way.String(), func(b *testing.B) {
				e := q.prepare(b, way, today)
				var watch, library []time.Duration
				for b.Loop() {
					watch = append(watch, timed(b, func() {
						for _, j := range compliance.Evaluate(q.book, q.s, q.ask(today)).Judgements {
							j.At(today)
						}
					}))
					library = append(library, timed(b, func() {
						if _, err := e.Ask(b.Context()); err != nil {
							b.Fatal(err)
						}
					}))
				}
				b.ReportMetric(median(watch), "ms-watch")
				b.ReportMetric(median(library), "ms-library")
				b.ReportMetric(median(library)/median(watch), "ratio")
			})
		}
	}
}

// timed gives the processor time of the whole process, collecting garbage
// included: on a machine that others use too the clock says little.
func timed(b *testing.B, f func()) time.Duration {
	b.Helper()
	runtime.GC() // what came before is not in it
	before := processor(b)
	f()
	return processor(b) - before
}

func processor(b *testing.B) time.Duration {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// median in milliseconds.
func median(all []time.Duration) float64 {
	slices.Sort(all)
	return float64(all[len(all)/2].Microseconds()) / 1000
}
