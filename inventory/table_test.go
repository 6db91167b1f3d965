package inventory_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/inventory"
)

// numbered makes identifiers that tell in a failure which record it was.
func numbered(n int) inventory.ID { return inventory.ID{0: byte(n >> 8), 1: byte(n), 15: 7} }

func placeNamed(n int, title string) inventory.Place {
	return inventory.Place{ID: numbered(n), Title: title}
}

// listed gives the titles of a table in its order.
func listed(t inventory.Table[inventory.Place]) []string {
	var titles []string
	for p := range t.All() {
		titles = append(titles, p.Title)
	}
	return titles
}

// TestTableAgreesWithAMap grows a table step by step beside the plainest
// thing that could do its work: a map, and the identifiers in the order in
// which they came. Every table that was ever given stays as it was.
func TestTableAgreesWithAMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type state struct {
			table inventory.Table[inventory.Place]
			want  []string
		}
		titles, order := map[int]string{}, []int{}
		var rows []*inventory.Place
		for n := range rapid.IntRange(0, 5).Draw(t, "loaded") {
			p := placeNamed(n, fmt.Sprint("loaded ", n))
			rows, titles[n], order = append(rows, &p), p.Title, append(order, n)
		}
		table := inventory.NewTable(rows)
		var past []state
		for i, n := range rapid.SliceOfN(rapid.IntRange(0, 12), 0, 30).Draw(t, "put") {
			p := placeNamed(n, fmt.Sprint("change ", i))
			if _, known := titles[n]; !known {
				order = append(order, n)
			}
			titles[n] = p.Title
			table = table.With(p)
			want := make([]string, len(order))
			for i, n := range order {
				want[i] = titles[n]
			}
			past = append(past, state{table, want})
		}
		for _, s := range past {
			if diff := cmp.Diff(s.want, listed(s.table)); diff != "" {
				t.Fatalf("want -, is +\n%s", diff)
			}
			if s.table.Len() != len(s.want) {
				t.Fatalf("%d records, want %d", s.table.Len(), len(s.want))
			}
		}
		for n := range 13 {
			got, found := table.Get(numbered(n))
			title, known := titles[n]
			if found != known || found && got.Title != title {
				t.Fatalf("record %d: %v, found %t; want %q", n, got, found, title)
			}
		}
	})
}

// TestTwoTablesOfOne: a what-if that grows out of a table does not show in
// another that grew out of the same.
func TestTwoTablesOfOne(t *testing.T) {
	first := placeNamed(1, "fridge")
	base := inventory.NewTable([]*inventory.Place{&first}).With(placeNamed(2, "shelf"))
	left, right := base.With(placeNamed(3, "left bag")), base.With(placeNamed(4, "right bag"))
	left = left.With(placeNamed(1, "left fridge"))
	for _, c := range []struct {
		name  string
		table inventory.Table[inventory.Place]
		want  []string
	}{
		{"the table", base, []string{"fridge", "shelf"}},
		{"one what-if", left, []string{"left fridge", "shelf", "left bag"}},
		{"the other", right, []string{"fridge", "shelf", "right bag"}},
	} {
		if diff := cmp.Diff(c.want, listed(c.table)); diff != "" {
			t.Errorf("%s: want -, is +\n%s", c.name, diff)
		}
	}
	if first.Title != "fridge" {
		t.Errorf("the record as loaded is now %q", first.Title)
	}
}

// TestTableFolds: a table that has taken more changes than it carries beside
// its rows (256) still has them all, in order, and leaves the older ones.
func TestTableFolds(t *testing.T) {
	const most = 700
	var table inventory.Table[inventory.Place]
	var at300 inventory.Table[inventory.Place]
	var want []string
	for n := range most {
		if n == 300 {
			at300 = table
		}
		table = table.With(placeNamed(n, fmt.Sprint(n)))
		want = append(want, fmt.Sprint(n))
	}
	table = table.With(placeNamed(3, "three"))
	want[3] = "three"
	if got := listed(table); !slices.Equal(got, want) || table.Len() != most {
		t.Errorf("after folding: %d records, Len %d", len(got), table.Len())
	}
	if got := listed(at300); len(got) != 300 || got[3] != "3" {
		t.Errorf("the table of 300 has %d records, its fourth is %q", len(got), got[3])
	}
}

// TestStopsEarly: a loop over a table may end before the table does.
func TestStopsEarly(t *testing.T) {
	first := placeNamed(1, "a")
	table := inventory.NewTable([]*inventory.Place{&first}).With(placeNamed(2, "b")).With(placeNamed(3, "c"))
	for most := range 3 {
		seen := 0
		for range table.All() {
			if seen == most {
				break
			}
			seen++
		}
		if seen != most {
			t.Errorf("saw %d records, stopped after %d", seen, most)
		}
	}
}

// TestOneIdentifierTwice: of two rows with one identifier the later wins, for
// whoever looks it up and for whoever goes through them all.
func TestOneIdentifierTwice(t *testing.T) {
	a, b, c := placeNamed(1, "old"), placeNamed(2, "other"), placeNamed(1, "new")
	table := inventory.NewTable([]*inventory.Place{&a, &b, &c})
	got, _ := table.Get(numbered(1))
	if got.Title != "new" || table.Len() != 2 {
		t.Errorf("looked up: %q of %d records; want the later of 2", got.Title, table.Len())
	}
	if diff := cmp.Diff([]string{"new", "other"}, listed(table)); diff != "" {
		t.Errorf("want -, is +\n%s", diff)
	}
}
