package inventory_test

import (
	"fmt"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/inventory"
)

func titleOf(p *inventory.Place) inventory.NaturalKey { return inventory.NaturalKey{Name: p.Title} }

// namesake is the plainest way to find one.
func namesake(t inventory.Table[inventory.Place], p inventory.Place) (inventory.ID, bool) {
	for other := range t.All() {
		if other.Title == p.Title && other.ID != p.ID {
			return other.ID, true
		}
	}
	return inventory.ID{}, false
}

// TestDraftIsWithManyTimes: draft upon draft, from any table that there ever
// was, gives what With gives one by one; whether somebody has a name is known
// at any time; and the tables of before stay as they were. Names are so few
// that many have one, as rows may.
func TestDraftIsWithManyTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type state struct {
			drafted, plain inventory.Table[inventory.Place]
		}
		anyPlace := func() inventory.Place {
			return placeNamed(rapid.IntRange(0, 9).Draw(t, "which"), rapid.SampledFrom([]string{"a", "b", "c", "d"}).Draw(t, "title"))
		}
		var rows []*inventory.Place
		for range rapid.IntRange(0, 5).Draw(t, "loaded") {
			p := anyPlace()
			rows = append(rows, &p)
		}
		base := inventory.NewTable(rows)
		past := []state{{base, base}}
		for range rapid.IntRange(1, 4).Draw(t, "drafts") {
			s := rapid.SampledFrom(past).Draw(t, "from")
			d := s.drafted.Edit(titleOf)
			for range rapid.IntRange(0, 8).Draw(t, "changes") {
				p := anyPlace()
				if rapid.Bool().Draw(t, "asks") {
					want, exists := namesake(s.plain, p)
					got, found := d.Namesake(&p)
					if found != exists || found && got.ID != want {
						t.Fatalf("%s goes by the name of %v, found %t; want %s, %t", p.Title, got, found, want, exists)
					}
				}
				d.Set(&p)
				s.plain = s.plain.With(p)
			}
			d.Done()
			past = append(past, s)
		}
		for _, s := range past {
			if diff := cmp.Diff(listed(s.plain), listed(s.drafted)); diff != "" || s.plain.Len() != s.drafted.Len() {
				t.Fatalf("one by one -, drafted +\n%s", diff)
			}
		}
	})
}

// TestLongDraft: a draft of more changes than a table carries beside its rows
// (256) can be read before it is done, and after; so can what comes next.
func TestLongDraft(t *testing.T) {
	const most = 700
	var table inventory.Table[inventory.Place]
	before := table
	for round := range 2 {
		d := table.Edit(titleOf)
		for n := range most {
			p := placeNamed(n, fmt.Sprint(round, " ", n))
			if other, found := d.Namesake(&p); found {
				t.Fatalf("%q is new, and so is called %v", p.Title, other)
			}
			d.Set(&p)
		}
		check := func(when string) {
			last, ok := table.Get(numbered(most - 1))
			if table.Len() != most || len(listed(table)) != most || !ok || last.Title != fmt.Sprint(round, " ", most-1) {
				t.Errorf("round %d, %s: %d records, the last is %v", round, when, table.Len(), last)
			}
		}
		check("before it is done")
		d.Done()
		check("done")
	}
	if before.Len() != 0 || len(listed(before)) != 0 {
		t.Errorf("the empty table has %d records", before.Len())
	}
}

// TestDraftsOfOneTableAtOnce: each has a copy of the table, and all ask first
// who among the same rows goes by a name.
func TestDraftsOfOneTableAtOnce(t *testing.T) {
	first := placeNamed(1, "fridge")
	base := inventory.NewTable([]*inventory.Place{&first}).With(placeNamed(2, "shelf"))
	var all sync.WaitGroup
	for n := range 8 {
		all.Go(func() {
			mine := base
			d := mine.Edit(titleOf)
			other, bag := placeNamed(3, "fridge"), placeNamed(3, fmt.Sprint("bag ", n))
			if got, found := d.Namesake(&other); !found || got.ID != first.ID {
				t.Errorf("another fridge: %v, found %t", got, found)
			}
			d.Set(&bag)
			d.Done()
			if diff := cmp.Diff([]string{"fridge", "shelf", bag.Title}, listed(mine)); diff != "" {
				t.Errorf("want -, is +\n%s", diff)
			}
		})
	}
	all.Wait()
	if diff := cmp.Diff([]string{"fridge", "shelf"}, listed(base)); diff != "" {
		t.Errorf("want -, is +\n%s", diff)
	}
}

// TestNobodyIsReadInVain: corrections, renames and names that were freed cost
// a few looks each at a record's name, never one at each record's.
func TestNobodyIsReadInVain(t *testing.T) {
	const most, few = 1000, 8
	rows := make([]*inventory.Place, most)
	for n := range rows {
		p := placeNamed(n, fmt.Sprint(n))
		rows[n] = &p
	}
	table, looks := inventory.NewTable(rows), 0
	d := table.Edit(func(p *inventory.Place) inventory.NaturalKey { looks++; return titleOf(p) })
	for _, titled := range []func(n int) string{
		func(n int) string { return fmt.Sprint(n) },            // corrected
		func(n int) string { return fmt.Sprint("new ", n) },    // renamed
		func(n int) string { return fmt.Sprint(most - n - 1) }, // what another gave up
	} {
		for n := range most {
			p := placeNamed(n, titled(n))
			if other, found := d.Namesake(&p); found {
				t.Fatalf("%q is free, and so is called %v", p.Title, other)
			}
			d.Set(&p)
		}
	}
	if looks > few*3*most {
		t.Errorf("%d looks at names for %d changes", looks, 3*most)
	}
}
