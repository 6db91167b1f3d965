package scale

import (
	"runtime"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

var now = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

var today = day.In(now, time.UTC)

func book(b testing.TB) *compliance.Rulebook {
	b.Helper()
	rules, err := Rulebook()
	if err != nil {
		b.Fatal(err)
	}
	return rules
}

// BenchmarkEvaluate judges a whole network. ns/record is per animal and
// permit, ns/duty per judgement; growth is linear where these stay the same
// from size to size.
func BenchmarkEvaluate(b *testing.B) {
	rules := book(b)
	for _, size := range Sizes {
		s := Network(size, today)
		b.Run(size.Name, func(b *testing.B) {
			b.ReportAllocs()
			var r *compliance.Report
			for b.Loop() {
				r = compliance.Evaluate(rules, s, compliance.Ask{Now: now})
			}
			each := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
			b.ReportMetric(each/float64(size.Records()), "ns/record")
			b.ReportMetric(each/float64(len(r.Judgements)), "ns/duty")
			b.ReportMetric(float64(len(r.Judgements)), "duties")
		})
	}
}

// BenchmarkForecast compares a forecast of 24 months, with every change of
// standing found, with a check of one day. They take turns, so that what else
// the machine does falls on both; ratio is the one by the other.
func BenchmarkForecast(b *testing.B) {
	rules := book(b)
	for _, size := range []Size{Medium, Large, National} {
		s := Network(size, today)
		b.Run(size.Name, func(b *testing.B) {
			var one, ahead time.Duration
			for b.Loop() {
				one += timed(func() { compliance.Evaluate(rules, s, compliance.Ask{Now: now, Until: today}) })
				ahead += timed(func() {
					r := compliance.Evaluate(rules, s, compliance.Ask{Now: now, Until: today.AddMonths(24)})
					changes(r, today.AddMonths(24))
				})
			}
			each := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 / float64(b.N) }
			b.ReportMetric(each(one), "ms-one-day")
			b.ReportMetric(each(ahead), "ms-24-months")
			b.ReportMetric(float64(ahead)/float64(one), "ratio")
		})
	}
}

func timed(f func()) time.Duration {
	start := time.Now()
	f()
	return time.Since(start)
}

// changes counts every change of standing up to a day.
func changes(r *compliance.Report, until day.Day) (n int) {
	for _, j := range r.Judgements {
		for _, line := range []compliance.Line{j.Law, j.Policy} {
			was := line.At(today)
			for on, is := range line.Changes() {
				if on > today && on <= until && is.Standing != was.Standing {
					n++
				}
				was = is
			}
		}
	}
	return n
}

// BenchmarkDiff compares a report with no open findings, and with those that
// it left.
func BenchmarkDiff(b *testing.B) {
	rules := book(b)
	for _, size := range Sizes {
		r := compliance.Evaluate(rules, Network(size, today), compliance.Ask{Now: now})
		var open []compliance.Finding
		for _, t := range compliance.Diff(nil, r, now, inventory.NewID) {
			open = append(open, *t.After)
		}
		b.Run(size.Name+"/first", func(b *testing.B) {
			for b.Loop() {
				compliance.Diff(nil, r, now, inventory.NewID)
			}
			b.ReportMetric(float64(len(open)), "findings")
		})
		b.Run(size.Name+"/steady", func(b *testing.B) {
			for b.Loop() {
				compliance.Diff(open, r, now, inventory.NewID)
			}
		})
	}
}

// BenchmarkAnyPlace judges a network with one paper more: for any animal,
// anywhere, up to a number that is exceeded, so that each animal's answer rests
// on the comings and goings of all.
func BenchmarkAnyPlace(b *testing.B) {
	rules := book(b)
	for _, size := range []Size{Large, National} {
		s := Network(size, today)
		for p := range s.Permits.All() {
			if p.Class == "keep-licence" {
				anywhere := *p
				anywhere.ID, anywhere.Number = inventory.NewID(), "anywhere"
				anywhere.Sites, anywhere.AnyPlace = nil, true
				anywhere.Grants = []compliance.Grant{{Rank: compliance.RankAny, Max: size.Animals / 2}}
				s.Permits = s.Permits.With(anywhere)
				break
			}
		}
		b.Run(size.Name, func(b *testing.B) {
			for b.Loop() {
				compliance.Evaluate(rules, s, compliance.Ask{Now: now})
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(size.Records()), "ns/record")
		})
	}
}

// BenchmarkWhy asks for the reasons of one finding after another: what one
// costs must not grow with the network.
func BenchmarkWhy(b *testing.B) {
	rules := book(b)
	for _, size := range Sizes {
		r := compliance.Evaluate(rules, Network(size, today), compliance.Ask{Now: now})
		var found []*compliance.Judgement
		for _, t := range compliance.Diff(nil, r, now, inventory.NewID) {
			found = append(found, r.Of(t.After.Key))
		}
		b.Run(size.Name, func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				r.Why(found[i%len(found)], today)
			}
		})
	}
}

// BenchmarkMemory tells what a network and its report hold, and what the
// process had asked of the system for its heap when the report was done, in
// megabytes.
// The system's figure never falls: run one size alone to see its own.
func BenchmarkMemory(b *testing.B) {
	rules := book(b)
	for _, size := range Sizes {
		b.Run(size.Name, func(b *testing.B) {
			var records, report, system float64
			for b.Loop() {
				empty, _ := heap()
				s := Network(size, today)
				loaded, _ := heap()
				r := compliance.Evaluate(rules, s, compliance.Ask{Now: now})
				judged, peak := heap()
				records, report, system = mega(loaded-empty), mega(judged-loaded), mega(peak)
				runtime.KeepAlive(r)
			}
			b.ReportMetric(records, "MB-records")
			b.ReportMetric(report, "MB-report")
			b.ReportMetric(system, "MB-system")
		})
	}
}

func mega(bytes uint64) float64 { return float64(bytes) / 1e6 }

// heap gives what is alive, and what the heap has from the system.
func heap() (live, system uint64) {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc, m.HeapSys
}
