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
// permit; growth is linear where it stays the same from size to size.
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
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(size.Records()), "ns/record")
			b.ReportMetric(float64(len(r.Judgements)), "duties")
		})
	}
}

// BenchmarkForecast compares a forecast of 24 months with a check of one day,
// in one run: ratio is the one by the other.
func BenchmarkForecast(b *testing.B) {
	rules := book(b)
	for _, size := range []Size{Medium, National} {
		s := Network(size, today)
		b.Run(size.Name, func(b *testing.B) {
			var one, ahead time.Duration
			for b.Loop() {
				one += timed(func() { compliance.Evaluate(rules, s, compliance.Ask{Now: now, Until: today}) })
				ahead += timed(func() {
					r := compliance.Evaluate(rules, s, compliance.Ask{Now: now})
					changes(r, today.AddMonths(24))
				})
			}
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

// BenchmarkMemory tells what a network and its report hold, in megabytes.
func BenchmarkMemory(b *testing.B) {
	rules := book(b)
	for _, size := range []Size{Large, National} {
		b.Run(size.Name, func(b *testing.B) {
			for b.Loop() {
				empty := live()
				s := Network(size, today)
				records := live()
				r := compliance.Evaluate(rules, s, compliance.Ask{Now: now})
				report := live()
				b.ReportMetric(float64(records-empty)/1e6, "MB-records")
				b.ReportMetric(float64(report-records)/1e6, "MB-report")
				runtime.KeepAlive(r)
			}
		})
	}
}

func live() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// TestNetworksAreBelievable: most of a network is in order, and not all.
func TestNetworksAreBelievable(t *testing.T) {
	r := compliance.Evaluate(book(t), Network(Large, today), compliance.Ask{Now: now})
	count := map[compliance.Standing]int{}
	for _, j := range r.Judgements {
		verdict, _ := j.At(today)
		count[verdict.Standing]++
	}
	all := len(r.Judgements)
	if count[compliance.InOrder] < all/2 || count[compliance.OutOfOrder] < all/100 || count[compliance.CannotTell] == 0 {
		t.Errorf("of %d duties: %v", all, count)
	}
}
