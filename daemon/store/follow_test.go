package store

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/uptrace/bun"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
)

// anotherProcess opens a database again to write, as another process does.
func anotherProcess(t *testing.T, st *Store, clock func() time.Time) *Store {
	t.Helper()
	beside, err := OpenBeside(t.Context(), placeOf(t, st), Options{Clock: clock})
	ok(t, err)
	t.Cleanup(func() { beside.Close() })
	return beside
}

// followed follows the journal on from what was known, and reads the tables,
// in one consistent read. followed is nil where the journal leads nowhere.
func followed(t *testing.T, st *Store, known *compliance.Snapshot, from Head) (followed, read *compliance.Snapshot, at Head) {
	t.Helper()
	ok(t, st.read(t.Context(), func(ctx context.Context, tx bun.Tx) (err error) {
		if at, err = head(ctx, tx); err != nil {
			return err
		}
		if followed, err = follow(ctx, tx, known, from, at); err != nil {
			return err
		}
		read, err = readAll(ctx, tx)
		return err
	}))
	return followed, read, at
}

// contractTheJournalLeadsToTheRecords: after whatever another process
// committed, the records that follow from the journal are those of the tables;
// and where it leads nowhere, what a store gives is still what the tables say.
func contractTheJournalLeadsToTheRecords(t *testing.T, open opener) {
	for seed := range 4 {
		each(t, fmt.Sprint("house ", seed), func(t *testing.T) {
			st, now := open(t), noon
			st.clock = func() time.Time { return now }
			other := anotherProcess(t, st, st.clock)
			at, sets, led := &compliance.Snapshot{}, []keys{newKeys(), newKeys()}, 0
			for part := range 8 {
				known, from, err := st.Snapshot(t.Context())
				ok(t, err)
				now = now.Add([]time.Duration{time.Hour, -48 * time.Hour, 0}[part%3])
				batch := rapid.Custom(func(rt *rapid.T) *compliance.Batch {
					next := at
					b := randomBatch(rt, sets, &next)
					return &b
				}).Example(8*seed + part)
				next, err := batch.Apply(at)
				ok(t, err)
				committed(t, other, *batch...)
				if part == 4 { // a record comes, is named anew, and was a mistake
					mistaken(t, other)
				}
				at = next
				by, read, to := followed(t, st, known, from)
				if moved := from != (Head{}) && to != from; (by != nil) != moved {
					t.Errorf("from %v to %v the journal leads to records: %v", from, to, by != nil)
				}
				if by != nil {
					led++
					sameSnapshot(t, "the journal", read, by)
				}
				got, gotAt, err := st.Snapshot(t.Context())
				ok(t, err)
				if gotAt != to {
					t.Errorf("at %v, want %v", gotAt, to)
				}
				sameSnapshot(t, "the store", read, got)
			}
			if led < 4 { // the first time nothing is known; of some batches all is refused
				t.Errorf("the journal led to the records only %d times", led)
			}
		})
	}
}

func sameSnapshot(t *testing.T, who string, read, got *compliance.Snapshot) {
	t.Helper()
	if diff := cmp.Diff(recordsIn(read), recordsIn(got)); diff != "" {
		t.Errorf("(-the tables +%s):\n%s", who, diff)
	}
}

// mistaken puts an authority, corrects it, and takes it out again.
func mistaken(t *testing.T, st *Store) {
	t.Helper()
	a := compliance.Authority{ID: inventory.NewID(), Title: "Office of Mistakes", Zone: "UTC"}
	committed(t, st, compliance.Record(a))
	a.Title = "Office for Mistakes"
	committed(t, st, compliance.Record(a))
	committed(t, st, compliance.Remove{What: []inventory.Ref{a.Ref()}})
}

// contractWhereTheJournalLeadsNowhere: the tables are read where an after-image
// was erased, the known head is of another journal or ahead of this one, or
// there are too many entries.
func contractWhereTheJournalLeadsNowhere(t *testing.T, open opener) {
	office := func(title string) compliance.Authority {
		return compliance.Authority{ID: inventory.NewID(), Title: title, Zone: "UTC"}
	}
	for name, c := range map[string]struct {
		does func(t *testing.T, other *Store)
		from func(Head) Head
		led  bool
	}{
		"one more record": {func(t *testing.T, other *Store) { committed(t, other, compliance.Record(office("B"))) }, nil, true},
		"an erased image": {func(t *testing.T, other *Store) {
			b := office("B")
			committed(t, other, compliance.Record(b))
			_, err := other.Erase(t.Context(), b.Ref().String())
			ok(t, err)
		}, nil, false},
		"another journal": {func(t *testing.T, other *Store) { committed(t, other, compliance.Record(office("B"))) },
			func(h Head) Head { h.Chain[7] ^= 1; return h }, false},
		"a head before this one": {func(t *testing.T, other *Store) { committed(t, other, compliance.Record(office("B"))) },
			func(h Head) Head { h.Position++; return h }, false},
		"a journal that went back": {func(*testing.T, *Store) {}, func(h Head) Head { h.Position += 5; return h }, false},
		"too many": {func(t *testing.T, other *Store) {
			var all compliance.Batch
			for i := range mostFollowed + 1 {
				all = append(all, compliance.Record(office(fmt.Sprint("B", i))))
			}
			committed(t, other, all...)
		}, nil, false},
	} {
		each(t, name, func(t *testing.T) {
			st := open(t)
			committed(t, st, compliance.Record(office("A")))
			known, from, err := st.Snapshot(t.Context())
			ok(t, err)
			c.does(t, anotherProcess(t, st, st.clock))
			if c.from != nil {
				from = c.from(from)
				st.keep(known, from)
			}
			by, read, _ := followed(t, st, known, from)
			if (by != nil) != c.led {
				t.Errorf("the journal leads to records: %v, want %v", by != nil, c.led)
			}
			got, _, err := st.Snapshot(t.Context())
			ok(t, err)
			sameSnapshot(t, "the store", read, got)
		})
	}
}
