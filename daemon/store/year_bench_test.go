package store_test

import (
	"context"
	"database/sql"
	"path/filepath"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/scale"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// changesADay is how many records a medium house puts in a day: drills,
// counts, confirmations, vials, papers. (Common practice, no source.)
const changesADay = 12

// BenchmarkYear lives through a year of a medium house (40 to 250 animals): a
// sweep each day, its mails sent, its changes, a prune each week. It reports
// what the database holds at the end, and what of it each big table takes.
//
//	go test ./daemon/store -run '^$' -bench Year -benchtime 1x
func BenchmarkYear(b *testing.B) {
	for b.Loop() {
		now := benchNow
		path := filepath.Join(b.TempDir(), "year.db")
		st, err := store.Open(context.Background(), path, store.Options{Clock: func() time.Time { return now }})
		if err != nil {
			b.Fatal(err)
		}
		network := scale.Network(scale.Medium, day.In(now, time.UTC))
		if err := st.Load(context.Background(), network); err != nil {
			b.Fatal(err)
		}
		began := sizeOf(b, path)
		s := sweeper(b, st)
		s.Clock = func() time.Time { return now }
		for d := range 365 {
			now = benchNow.AddDate(0, 0, d)
			lived(b, st, network, now)
			timed(b, func() error { _, err := s.Run(context.Background()); return err })
			sent(b, st)
			if d%7 == 0 {
				timed(b, func() error { _, err := st.Prune(context.Background(), now.AddDate(0, 0, -400)); return err })
			}
		}
		if err := st.Close(); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(began["all"], "MB-begun")
		for table, size := range sizeOf(b, path) {
			b.ReportMetric(size, "MB-"+table)
		}
	}
}

// lived makes a day's changes.
func lived(b *testing.B, st *store.Store, network *compliance.Snapshot, now time.Time) {
	b.Helper()
	today := day.In(now, time.UTC)
	for site := range network.Sites.All() {
		for range changesADay {
			done := compliance.Activity{ID: inventory.NewID(), What: "drill.escape", Subject: site.Ref(), On: today, Passed: inventory.Yes, Note: "with all who were in"}
			if _, err := st.Commit(context.Background(), store.Actor{ID: "bench"}, compliance.Record(done)); err != nil {
				b.Fatal(err)
			}
		}
		return // of the first site: a medium house has one or two
	}
}

func sent(b *testing.B, st *store.Store) {
	b.Helper()
	for {
		claimed, err := st.Claim(context.Background(), 50, time.Hour)
		if err != nil {
			b.Fatal(err)
		}
		for _, c := range claimed {
			if err := st.Finish(context.Background(), c.ID, c.Token, store.Outcome{State: store.MailSent, Code: 250}); err != nil {
				b.Fatal(err)
			}
		}
		if len(claimed) == 0 {
			return
		}
	}
}

// sizeOf gives megabytes of the whole file and of its big tables with their
// indexes.
func sizeOf(b *testing.B, path string) map[string]float64 {
	b.Helper()
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	out := make(map[string]float64)
	for name, query := range map[string]string{
		"all":         `SELECT sum(pgsize) FROM dbstat`,
		"journal":     `SELECT sum(pgsize) FROM dbstat WHERE name LIKE 'journal%' OR name LIKE 'sqlite_autoindex_journal%'`,
		"outbox":      `SELECT sum(pgsize) FROM dbstat WHERE name LIKE 'outbox%' OR name LIKE 'sqlite_autoindex_outbox%'`,
		"transitions": `SELECT sum(pgsize) FROM dbstat WHERE name LIKE 'finding%' OR name LIKE 'sqlite_autoindex_finding%'`,
	} {
		var bytes float64
		if err := db.QueryRowContext(b.Context(), query).Scan(&bytes); err != nil {
			b.Fatal(err)
		}
		out[name] = bytes / 1e6
	}
	return out
}
