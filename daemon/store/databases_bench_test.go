package store

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/scale"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// The benchmarks of both databases, each against plain database/sql in the
// same run: read the ratios.
//
//	go test ./daemon/store -run '^$' -bench 'Databases' -benchtime 200x

func onBoth(b *testing.B, bench func(b *testing.B, st *Store, plain *sql.DB)) {
	for _, name := range []string{"sqlite", "postgres"} {
		b.Run(name, func(b *testing.B) {
			database := fresh[name](b)
			st, err := Open(b.Context(), database, Options{Clock: func() time.Time { return noon }})
			if err != nil {
				b.Fatal(err)
			}
			b.Cleanup(func() { st.Close() })
			plain := st.writer.DB // the same connection settings
			bench(b, st, plain)
		})
	}
}

// BenchmarkDatabasesCommit: one change through Commit, against two plain
// INSERTs of the same rows in a transaction of their own.
func BenchmarkDatabasesCommit(b *testing.B) {
	onBoth(b, func(b *testing.B, st *Store, plain *sql.DB) {
		if _, err := plain.Exec(`CREATE TABLE plain_record (id INTEGER, body TEXT)`); err != nil {
			b.Fatal(err)
		}
		body := strings.Repeat("x", 400)
		var ours, theirs time.Duration
		for i := 0; b.Loop(); i++ {
			change := compliance.Record(compliance.Authority{ID: inventory.NewID(), Title: fmt.Sprint("Authority ", i), Zone: "UTC"})
			ours += took(b, func() error {
				_, err := st.Commit(b.Context(), Actor{ID: "bench"}, change)
				return err
			})
			theirs += took(b, func() error {
				tx, err := plain.BeginTx(b.Context(), nil)
				if err != nil {
					return err
				}
				defer tx.Rollback()
				for range 2 {
					if _, err := tx.ExecContext(b.Context(), `INSERT INTO plain_record VALUES ($1, $2)`, i, body); err != nil {
						return err
					}
				}
				return tx.Commit()
			})
		}
		b.ReportMetric(float64(b.N)/ours.Seconds(), "commits/s")
		b.ReportMetric(float64(b.N)/theirs.Seconds(), "plain/s")
		b.ReportMetric(float64(ours)/float64(theirs), "ours/plain")
	})
}

// BenchmarkDatabasesImport: a whole network as one batch of changes with its
// journal, against the same rows without changes and journal; and then reading
// it, cold, against plain SELECTs.
//
//	go test ./daemon/store -run '^$' -bench 'DatabasesImport' -benchtime 1x
func BenchmarkDatabasesImport(b *testing.B) {
	for _, size := range []scale.Size{scale.Medium, scale.National} {
		b.Run(size.Name, func(b *testing.B) {
			network := scale.Network(size, day.In(noon, time.UTC))
			batch := batchOfAll(network)
			onBoth(b, func(b *testing.B, st *Store, plain *sql.DB) {
				for b.Loop() {
					b.ReportMetric(float64(len(batch)), "records")
					rows := took(b, func() error { return loadedAndUndone(b.Context(), st, network) })
					imported := took(b, func() error {
						_, err := st.Commit(b.Context(), Actor{ID: "bench"}, batch)
						return err
					})
					b.ReportMetric(rows.Seconds(), "s-rows")
					b.ReportMetric(imported.Seconds(), "s-import")
					b.ReportMetric(float64(imported)/float64(rows), "import/rows")
					st.Forget()
					read := took(b, func() error { _, _, err := st.Snapshot(b.Context()); return err })
					floor := took(b, func() error { return scanned(b.Context(), plain) })
					b.ReportMetric(read.Seconds(), "s-read")
					b.ReportMetric(float64(read)/float64(floor), "read/floor")
				}
			})
		})
	}
}

func batchOfAll(network *compliance.Snapshot) (batch compliance.Batch) {
	for _, kind := range inventory.Kinds() {
		for rec := range tables[kind].all(network) {
			batch = append(batch, changeOf(rec))
		}
	}
	return batch
}

// loadedAndUndone writes the rows alone, and takes them back.
func loadedAndUndone(ctx context.Context, st *Store, network *compliance.Snapshot) error {
	tx, err := st.writer.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if _, err := tx.ExecContext(ctx, st.dialect.deferKeys); err != nil {
		return err
	}
	for _, kind := range inventory.Kinds() {
		var recs []inventory.Record
		for rec := range tables[kind].all(network) {
			recs = append(recs, rec)
		}
		if err := tables[kind].saveNew(ctx, tx, st.dialect, recs); err != nil {
			return err
		}
	}
	return nil
}

// scanned reads every record's every column, into nothing.
func scanned(ctx context.Context, db *sql.DB) error {
	for _, name := range []string{"organisation", "site", "enclosure", "species", "person", "animal", "product", "coverage", "place", "lot", "planned", "authority", "permit", "activity", "feed", "not_watched", "decision", "handling_session", "authorisation", "credit", "placement"} {
		rows, err := db.QueryContext(ctx, "SELECT * FROM "+name)
		if err != nil {
			return err
		}
		columns, err := rows.Columns()
		if err != nil {
			return err
		}
		cells, into := make([]any, len(columns)), make([]any, len(columns))
		for i := range cells {
			into[i] = &cells[i]
		}
		for rows.Next() {
			if err := rows.Scan(into...); err != nil {
				return err
			}
		}
		if err := rows.Close(); err != nil {
			return err
		}
	}
	return nil
}
