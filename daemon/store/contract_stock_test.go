package store

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
	said "antidotary/compliance/deed"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// contractNoVialIsLostOrMade by two who record at once, each in a store of
// their own and by what they saw before: what the lot has in all places is what
// came less what went, no account is below nothing, and what does not follow
// any more is refused.
func contractNoVialIsLostOrMade(t *testing.T, open opener) {
	st := open(t)
	both := []*Store{st, openedBeside(t, placeOf(t, st))}
	house := inventory.Organisation{ID: inventory.NewID(), Title: "Moss", Victims: 1}
	site := inventory.Site{ID: inventory.NewID(), Organisation: house.ID, Title: "Moss House", Zone: "UTC"}
	places := []inventory.Place{{ID: inventory.NewID(), Site: site.ID, Title: "fridge"}, {ID: inventory.NewID(), Site: site.ID, Title: "bag"}}
	product := inventory.Product{ID: inventory.NewID(), Type: "equine F(ab')2 against Asian cobras"}
	committed(t, st, compliance.Record(house), compliance.Record(site), compliance.Record(places[0]), compliance.Record(places[1]), compliance.Record(product))
	for _, seed := range []int{1, 2, 3} {
		each(t, fmt.Sprint("history ", seed), func(t *testing.T) {
			lot := inventory.Lot{ID: inventory.NewID(), Product: product.ID, Number: fmt.Sprint(seed), Labelled: day.Until(on("2027-05-31"))}
			committed(t, st, said.LotReceived(lot, said.Vials{Place: places[0].ID, Count: 10, On: on("2026-01-01"), Of: new(inventory.Checked)}))
			steps := rapid.SliceOfN(rapid.Custom(func(rt *rapid.T) step { return someStep(rt, lot, places) }), 16, 16).Example(seed)
			var has atomic.Int64
			has.Store(10)
			var wait sync.WaitGroup
			for who, store := range both {
				wait.Go(func() {
					for _, s := range steps[who*8 : who*8+8] {
						_, err := store.Commit(t.Context(), Actor{ID: "test"}, s.deed)
						var refused *compliance.Refusal
						switch {
						case err == nil:
							has.Add(int64(s.by))
						case !errors.As(err, &refused):
							t.Errorf("%s: %v", s.deed.Words(), err)
						}
					}
				})
			}
			wait.Wait()
			for _, store := range both {
				vialsAre(t, store, lot.ID, int(has.Load()))
			}
		})
	}
}

// step is a deed of one of the two, and how it changes what the house has.
type step struct {
	by   int
	deed said.Deed
}

func someStep(t *rapid.T, lot inventory.Lot, places []inventory.Place) step {
	at := rapid.IntRange(0, 1).Draw(t, "place")
	v := said.Vials{Place: places[at].ID, Count: rapid.IntRange(1, 4).Draw(t, "vials"), On: on("2026-01-01").Add(rapid.IntRange(0, 30).Draw(t, "day"))}
	var s step
	switch rapid.IntRange(0, 7).Draw(t, "deed") {
	case 0:
		s.deed, s.by = said.LotReceived(lot, v), v.Count
	case 1:
		s.deed, s.by = said.LotUsed(lot.ID, v), -v.Count
	case 2:
		v.Unwitnessed = "alone"
		s.deed, s.by = said.LotDiscarded(lot.ID, v), -v.Count
	case 3:
		s.deed, s.by = said.LotLent(lot.ID, v, inventory.Loan{Borrower: "Tern Hospital"}), -v.Count
	case 4:
		s.deed, s.by = said.LotReturned(lot.ID, v, 0), v.Count
	case 5:
		s.deed = said.LotMoved(lot.ID, v, places[1-at].ID)
	case 6:
		s.deed = said.LotChecked(lot.ID, v)
	default:
		s.deed = said.LotUnfit(lot.ID, v)
	}
	return s
}

// vialsAre asks one store how many vials there are, in all and by account.
func vialsAre(t *testing.T, st *Store, id inventory.ID, want int) {
	t.Helper()
	s, _, err := st.Snapshot(t.Context())
	ok(t, err)
	l, found := s.Lots.Get(id)
	if !found {
		t.Fatal("the lot is not there")
	}
	n := 0
	for _, place := range l.Places() {
		for c, vials := range l.There(place, day.Last) {
			if n += vials; vials < 0 {
				t.Fatalf("%d %s vials", vials, c)
			}
		}
	}
	if n != want {
		t.Fatalf("%d vials, want %d: %+v", n, want, l.Movements)
	}
}

// contractAStaleCountIsRefused: what was made of records that somebody else
// changed meanwhile is made again of what is there, or refused; it never undoes
// what the other recorded.
func contractAStaleCountIsRefused(t *testing.T, open opener) {
	st := open(t)
	beside := openedBeside(t, placeOf(t, st))
	k := newKeys()
	committed(t, st, batchOf(bareRecords(k))...)
	lot, place := k.of[inventory.KindLot], k.of[inventory.KindPlace]
	vials := func(n int) said.Vials { return said.Vials{Place: place, Count: n, On: on("2026-03-01")} }
	committed(t, st, said.LotReceived(inventory.Lot{ID: lot, Product: k.of[inventory.KindProduct], Number: "l"}, vials(10)))
	one, two := said.LotUsed(lot, vials(6)), said.LotUsed(lot, vials(6)) // both saw 10
	committed(t, st, one)
	var refused *compliance.Refusal
	if _, err := beside.Commit(t.Context(), Actor{ID: "test"}, two); !errors.As(err, &refused) {
		t.Errorf("6 of the 4 that are left: %v", err)
	}
	vialsAre(t, st, lot, 4)
	vialsAre(t, beside, lot, 4)
}

// TestOlderVialsAreCheckedOnes: vials that were recorded before they had a
// condition counted, and go on counting, in the order in which they moved.
func TestOlderVialsAreCheckedOnes(t *testing.T) {
	const before = "stock_book"
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			database := place(t)
			st := &Store{clock: func() time.Time { return noon }}
			ok(t, st.open(t.Context(), database, Options{}, false))
			list, err := known(st.dialect)
			ok(t, err)
			for n := range list {
				if list[n].name == before {
					break
				}
				_, err := migrateOne(t.Context(), st.writer, st.dialect, list[:n+1])
				ok(t, err)
			}
			product, lot, bare, at := inventory.NewID(), inventory.NewID(), inventory.NewID(), inventory.NewID()
			moves := fmt.Sprintf(`[{"on":"2026-01-01","place":"%s","vials":10,"reason":"received","note":"<a> & ü"},{"on":"2026-01-02","place":"%s","vials":-3,"reason":"used"}]`, at, at)
			db := besides(t, database)
			run(t, db, `INSERT INTO product (id, type, form, store_min_mc, store_max_mc, pack_size, lead_days, source, certainty) VALUES (?, 't', '', 0, 0, 0, 0, '', '')`, product[:])
			run(t, db, `INSERT INTO lot (id, product, number, labelled, month_only, movements) VALUES (?, ?, '1', '2027-05-31', ?, ?)`, lot[:], product[:], false, moves)
			run(t, db, `INSERT INTO lot (id, product, number, labelled, month_only, movements) VALUES (?, ?, '2', '2027-05-31', ?, NULL)`, bare[:], product[:], false)
			ok(t, st.Close())
			s, _, err := reopened(t, database).Snapshot(t.Context())
			ok(t, err)
			got, _ := s.Lots.Get(lot)
			want := []inventory.Movement{{On: on("2026-01-01"), Place: at, Vials: 10, Reason: inventory.Received, Condition: inventory.Checked, Note: "<a> & ü"},
				{On: on("2026-01-02"), Place: at, Vials: -3, Reason: inventory.Used, Condition: inventory.Checked}}
			if diff := cmp.Diff(want, got.Movements); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if none, _ := s.Lots.Get(bare); len(none.Movements) != 0 {
				t.Errorf("of a lot without vials: %+v", none.Movements)
			}
		})
	}
}

// TestOlderAfterImagesTellCheckedVials, so that what was known then, and
// undoing, say what the migrated records say; newer ones stay as they are.
func TestOlderAfterImagesTellCheckedVials(t *testing.T) {
	lot := inventory.Lot{ID: inventory.NewID(), Product: inventory.NewID(), Number: "1",
		Movements: []inventory.Movement{{On: on("2026-01-01"), Place: inventory.NewID(), Vials: 10, Reason: inventory.Received}}}
	text, err := image{rec: lot}.text()
	ok(t, err)
	for schema, want := range map[int]inventory.Condition{1: inventory.Checked, 2: ""} {
		row := journalRow{Position: 1, Subject: lot.Ref().String(), Schema: schema, Payload: &text}
		i, err := row.image(lot.Ref())
		ok(t, err)
		if got := i.rec.(inventory.Lot).Movements[0].Condition; got != want {
			t.Errorf("schema %d: %q, want %q", schema, got, want)
		}
	}
	newer := journalRow{Position: 1, Subject: lot.Ref().String(), Schema: schemaOfPayload + 1, Payload: &text}
	if _, err := newer.raised(); err == nil {
		t.Error("an after-image of a newer program is read")
	}
}
