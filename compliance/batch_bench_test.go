package compliance_test

import (
	"fmt"
	"runtime"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/scale"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

var today = day.In(time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC), time.UTC)

// imported is the batch that records a whole network.
func imported(s *compliance.Snapshot) (b compliance.Batch) {
	add := func(rec inventory.Record) { b = append(b, compliance.Record(rec)) }
	each(s.Organisations, add)
	each(s.Sites, add)
	each(s.Places, add)
	each(s.Species, add)
	each(s.Enclosures, add)
	each(s.People, add)
	each(s.Animals, add)
	each(s.Products, add)
	each(s.Coverage, add)
	each(s.Lots, add)
	each(s.Authorities, add)
	each(s.Permits, add)
	each(s.Activities, add)
	each(s.Feeds, add)
	return b
}

func each[T inventory.Record](t inventory.Table[T], do func(inventory.Record)) {
	for rec := range t.All() {
		do(*rec)
	}
}

// arriving are animals that a network does not have yet.
func arriving(s *compliance.Snapshot, n int) (b compliance.Batch) {
	for a := range s.Animals.All() {
		if len(b) == n {
			break
		}
		next := *a
		next.ID, next.Accession = inventory.NewID(), "new "+a.Accession
		b = append(b, compliance.Record(next))
	}
	return b
}

// BenchmarkImport records a whole network in one batch: linear where ns/put
// stays the same from size to size. Where that is feasible, the plain way of
// one by one takes turns with it; ratio is the one by the other.
func BenchmarkImport(b *testing.B) {
	for _, c := range []struct {
		scale.Size
		plainly bool
	}{{scale.Medium, true}, {scale.Large, true}, {scale.National, false}} {
		batch := imported(scale.Network(c.Size, today))
		b.Run(c.Name, func(b *testing.B) {
			b.ReportAllocs()
			var whole, plain time.Duration
			for b.Loop() {
				whole += timed(b, func() error { _, err := batch.Apply(&compliance.Snapshot{}); return err })
				if c.plainly {
					plain += timed(b, func() error { _, err := compliance.OneByOne(batch, &compliance.Snapshot{}); return err })
				}
			}
			report(b, whole, plain, len(batch))
		})
	}
}

// BenchmarkPutOn records one animal, and a thousand, in a network that is
// there: on a network that nobody has put on before, and on one that somebody has.
func BenchmarkPutOn(b *testing.B) {
	for _, size := range []scale.Size{scale.Large, scale.National} {
		s := scale.Network(size, today)
		for _, n := range []int{1, 1000} {
			batch := arriving(s, n)
			b.Run(fmt.Sprintf("%s/%d/first", size.Name, n), func(b *testing.B) {
				var whole time.Duration
				for b.Loop() {
					fresh := *s
					fresh.Animals = again(s.Animals)
					whole += timed(b, func() error { _, err := batch.Apply(&fresh); return err })
				}
				report(b, whole, 0, n)
			})
			b.Run(fmt.Sprintf("%s/%d/again", size.Name, n), func(b *testing.B) {
				timed(b, func() error { _, err := batch.Apply(s); return err })
				var whole, plain time.Duration
				for b.Loop() {
					whole += timed(b, func() error { _, err := batch.Apply(s); return err })
					if n == 1 || size.Name != scale.National.Name {
						plain += timed(b, func() error { _, err := compliance.OneByOne(batch, s); return err })
					}
				}
				report(b, whole, plain, n)
			})
		}
	}
}

// again is the table as it comes from the database.
func again[T inventory.Record](t inventory.Table[T]) inventory.Table[T] {
	var rows []*T
	for rec := range t.All() {
		rows = append(rows, rec)
	}
	return inventory.NewTable(rows)
}

// BenchmarkNaturalKeys tells what it holds to know who has which natural key,
// in megabytes, once somebody has asked for an animal and a paper.
func BenchmarkNaturalKeys(b *testing.B) {
	for b.Loop() {
		s := scale.Network(scale.National, today)
		before := live()
		for p := range s.Permits.All() {
			if _, err := (compliance.Batch{arriving(s, 1), compliance.Record(*p)}).Apply(s); err != nil {
				b.Fatal(err)
			}
			break
		}
		b.ReportMetric(float64(live()-before)/1e6, "MB-keys")
		runtime.KeepAlive(s)
	}
}

func live() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

func timed(b *testing.B, f func() error) time.Duration {
	before := b.Elapsed()
	if err := f(); err != nil {
		b.Fatal(err)
	}
	return b.Elapsed() - before
}

func report(b *testing.B, whole, plain time.Duration, puts int) {
	b.ReportMetric(float64(whole.Microseconds())/1000/float64(b.N), "ms-batch")
	b.ReportMetric(float64(whole.Nanoseconds())/float64(b.N)/float64(puts), "ns/put")
	b.ReportMetric(float64(puts), "puts")
	if plain > 0 {
		b.ReportMetric(float64(plain.Microseconds())/1000/float64(b.N), "ms-one-by-one")
		b.ReportMetric(float64(plain)/float64(whole), "ratio")
	}
}
