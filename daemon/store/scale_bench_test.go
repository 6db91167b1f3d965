package store_test

import (
	"context"
	"database/sql"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"antidotary/daemon/scale"
	"antidotary/daemon/store"
	"antidotary/daemon/sweep"
	"antidotary/inventory/day"
	"antidotary/notify"
)

var benchNow = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

// network is a database with a generated network in it.
func network(b *testing.B, size scale.Size) (path string, st *store.Store) {
	b.Helper()
	path = filepath.Join(b.TempDir(), "network.db")
	st, err := store.Open(context.Background(), path, store.Options{Clock: func() time.Time { return benchNow }})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { st.Close() })
	if err := st.Load(context.Background(), scale.Network(size, day.In(benchNow, time.UTC))); err != nil {
		b.Fatal(err)
	}
	return path, st
}

func sweeper(b *testing.B, st *store.Store) *sweep.Sweeper {
	b.Helper()
	book, err := scale.Rulebook()
	if err != nil {
		b.Fatal(err)
	}
	return &sweep.Sweeper{Store: st, Book: book, Clock: func() time.Time { return benchNow }, Engine: "bench", Sender: notify.From{Name: "watch", Address: "watch@network.example"}}
}

// floor reads the same rows through plain database/sql, every column, into
// nothing: what no program can beat with this driver.
func floor(b *testing.B, path string) time.Duration {
	b.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=query_only(1)")
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	start := time.Now()
	for _, table := range []string{"organisation", "site", "enclosure", "species", "person", "animal", "product", "coverage", "place", "lot", "planned", "authority", "permit", "activity", "feed", "not_watched", "decision", "handling_session", "authorisation", "credit", "placement"} {
		readAll(b, db, table)
	}
	return time.Since(start)
}

func readAll(b *testing.B, db *sql.DB, table string) {
	b.Helper()
	rows, err := db.QueryContext(context.Background(), "SELECT * FROM "+table)
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		b.Fatal(err)
	}
	cells := make([]any, len(columns))
	into := make([]any, len(columns))
	for i := range cells {
		into[i] = &cells[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			b.Fatal(err)
		}
	}
	if err := rows.Err(); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkSweep measures, in one run at each size: reading the rows plainly
// (floor), reading them as a snapshot, the first sweep, a steady one by a
// process that has just started (cold), one by a process that goes on (warm)
// and its next one a day later, after another process recorded a day's changes
// (next), each also as a ratio to the floor; and what the heap then holds.
func BenchmarkSweep(b *testing.B) {
	for _, size := range scale.Sizes {
		b.Run(size.Name, func(b *testing.B) {
			path, st := network(b, size)
			s, now := sweeper(b, st), benchNow
			s.Clock = func() time.Time { return now }
			first := timed(b, func() error { _, err := s.Run(context.Background()); return err })
			beside, err := store.OpenBeside(context.Background(), path, store.Options{Clock: func() time.Time { return benchNow }})
			if err != nil {
				b.Fatal(err)
			}
			defer beside.Close()
			var plain, read, cold, warm, next time.Duration
			for b.Loop() {
				plain += floor(b, path)
				st.Forget()
				read += timed(b, func() error { _, err := st.Read(context.Background()); return err })
				st.Forget()
				cold += timed(b, func() error { _, err := s.Run(context.Background()); return err })
				warm += timed(b, func() error { _, err := s.Run(context.Background()); return err })
				now = now.AddDate(0, 0, 1)
				records, _, err := beside.Snapshot(context.Background())
				if err != nil {
					b.Fatal(err)
				}
				lived(b, beside, records, now)
				next += timed(b, func() error { _, err := s.Run(context.Background()); return err })
			}
			beside.Forget()
			runtime.GC()
			var memory runtime.MemStats
			runtime.ReadMemStats(&memory)
			each := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 / float64(b.N) }
			b.ReportMetric(each(plain), "ms-floor")
			b.ReportMetric(each(read), "ms-read")
			b.ReportMetric(float64(first.Microseconds())/1000, "ms-first")
			b.ReportMetric(each(cold), "ms-cold")
			b.ReportMetric(each(warm), "ms-warm")
			b.ReportMetric(each(next), "ms-next")
			b.ReportMetric(float64(memory.HeapAlloc)/1e6, "MB-heap")
			b.ReportMetric(float64(read)/float64(plain), "read/floor")
			b.ReportMetric(float64(cold)/float64(plain), "cold/floor")
			b.ReportMetric(float64(warm)/float64(plain), "warm/floor")
			b.ReportMetric(float64(next)/float64(plain), "next/floor")
		})
	}
}

func timed(b *testing.B, work func() error) time.Duration {
	b.Helper()
	start := time.Now()
	if err := work(); err != nil {
		b.Fatal(err)
	}
	return time.Since(start)
}
