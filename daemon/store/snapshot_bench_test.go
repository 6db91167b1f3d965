package store

import (
	"database/sql"
	"path/filepath"
	"testing"
	"time"

	"antidotary/daemon/scale"
	"antidotary/inventory/day"
)

// BenchmarkSnapshot measures reading the records of a network of each size:
// cold, as a snapshot (snapshot), and beside it its two big tables by plain
// database/sql (plain) and by bun (table), into the same rows with the same
// columns: what lies between those two is what bun costs.
//
//	go test ./daemon/store -run '^$' -bench 'Snapshot/national' -benchtime 5x
func BenchmarkSnapshot(b *testing.B) {
	for _, size := range scale.Sizes {
		b.Run(size.Name, func(b *testing.B) {
			st, db := networked(b, size)
			var snapshot, table, plain time.Duration
			for b.Loop() {
				st.Forget()
				snapshot += took(b, func() error { _, _, err := st.Snapshot(b.Context()); return err })
				table += took(b, func() error { return tabled(b, st) })
				plain += took(b, func() error { return plainly(b, db, size) })
			}
			each := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 / float64(b.N) }
			b.ReportMetric(each(snapshot), "ms-snapshot")
			b.ReportMetric(each(table), "ms-table")
			b.ReportMetric(each(plain), "ms-plain")
			b.ReportMetric(float64(table)/float64(plain), "table/plain")
			b.ReportMetric(float64(snapshot)/float64(plain), "snapshot/plain")
		})
	}
}

func networked(b *testing.B, size scale.Size) (*Store, *sql.DB) {
	b.Helper()
	path := filepath.Join(b.TempDir(), "network.db")
	st, err := Open(b.Context(), path, Options{Clock: func() time.Time { return noon }})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { st.Close() })
	if err := st.Load(b.Context(), scale.Network(size, day.In(noon, time.UTC))); err != nil {
		b.Fatal(err)
	}
	db, err := sql.Open("sqlite", dsn(path, true))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	return st, db
}

func took(b *testing.B, work func() error) time.Duration {
	b.Helper()
	start := time.Now()
	if err := work(); err != nil {
		b.Fatal(err)
	}
	return time.Since(start)
}

// tabled reads animals and permits by bun into rows.
func tabled(b *testing.B, st *Store) error {
	animals, err := rowsOf[animalRow](b.Context(), st.reader, "animal")
	if err != nil {
		return err
	}
	permits, err := rowsOf[permitRow](b.Context(), st.reader, "permit")
	if len(animals)+len(permits) == 0 {
		b.Fatal("there is nothing to read")
	}
	return err
}

// plainly reads the same by database/sql, into slices that are large enough.
func plainly(b *testing.B, db *sql.DB, size scale.Size) error {
	animals, permits := make([]animalRow, 0, size.Animals), make([]permitRow, 0, size.Permits)
	rows, err := db.QueryContext(b.Context(), `SELECT id, accession, species, received_as, owner, custodian, bred, country, born, arrived, received_from, left_how, left_on, left_to, stays FROM animal`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		animals = append(animals, animalRow{})
		r := &animals[len(animals)-1]
		if err := rows.Scan(&r.ID, &r.Accession, &r.Species, &r.ReceivedAs, &r.Owner, &r.Custodian, &r.Bred, &r.Country, &r.Born, &r.Arrived, &r.From, &r.LeftHow, &r.LeftOn, &r.LeftTo, &r.Stays); err != nil {
			return err
		}
	}
	more, err := db.QueryContext(b.Context(), `SELECT id, number, class, authority, holder, sites, any_place, animals, grants, issued, valid_from, expires, renewable, renews, applications, suspensions, revoked, surrendered FROM permit`)
	if err != nil {
		return err
	}
	defer more.Close()
	for more.Next() {
		permits = append(permits, permitRow{})
		r := &permits[len(permits)-1]
		if err := more.Scan(&r.ID, &r.Number, &r.Class, &r.Authority, &r.Holder, &r.Sites, &r.AnyPlace, &r.Animals, &r.Grants, &r.Issued, &r.From, &r.Expires, &r.Renewable, &r.Renews, &r.Applications, &r.Suspensions, &r.Revoked, &r.Surrendered); err != nil {
			return err
		}
	}
	return more.Err()
}
