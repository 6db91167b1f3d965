package store_test

import (
	"context"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/scale"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// BenchmarkKnownAt recalls a network from its journal alone, and reports how
// many entries that takes and how much memory stays in use.
//
//	go test ./daemon/store -run '^$' -bench KnownAt -benchtime 1x
func BenchmarkKnownAt(b *testing.B) {
	for name, size := range map[string]scale.Size{"medium": scale.Medium, "national": scale.National} {
		b.Run(name, func(b *testing.B) {
			st, err := store.Open(context.Background(), filepath.Join(b.TempDir(), "known.db"), store.Options{Clock: func() time.Time { return benchNow }})
			if err != nil {
				b.Fatal(err)
			}
			defer st.Close()
			head, err := st.Commit(context.Background(), store.Actor{ID: "benchmark"}, everyRecord(scale.Network(size, day.In(benchNow, time.UTC))))
			if err != nil {
				b.Fatal(err)
			}
			st.Forget()
			var past *store.Past
			for b.Loop() {
				if past, err = st.KnownAt(context.Background(), benchNow); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(head.Position), "entries")
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			b.ReportMetric(float64(m.HeapInuse)/(1<<20), "MB-in-use")
			runtime.KeepAlive(past)
		})
	}
}

// everyRecord is the batch that records a whole network.
func everyRecord(s *compliance.Snapshot) (b compliance.Batch) {
	put := func(rec inventory.Record) { b = append(b, compliance.Record(rec)) }
	eachOf(s.Organisations, put)
	eachOf(s.Sites, put)
	eachOf(s.Places, put)
	eachOf(s.Species, put)
	eachOf(s.Enclosures, put)
	eachOf(s.People, put)
	eachOf(s.Animals, put)
	eachOf(s.Products, put)
	eachOf(s.Coverage, put)
	eachOf(s.Lots, put)
	eachOf(s.Authorities, put)
	eachOf(s.Permits, put)
	eachOf(s.Activities, put)
	eachOf(s.Feeds, put)
	return b
}

func eachOf[T inventory.Record](table inventory.Table[T], do func(inventory.Record)) {
	for rec := range table.All() {
		do(*rec)
	}
}
