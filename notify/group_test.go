package notify

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
)

func TestGroups(t *testing.T) {
	item := func(name, cause, site string, by string, reasons ...string) Item {
		return Item{Name: name, Cause: cause, Site: site, Rule: "r", Standing: compliance.OutOfOrder, State: compliance.Lapsed,
			Step: &Step{Do: compliance.FileRenewal, By: d(by)}, Reasons: reasons}
	}
	for _, c := range []struct {
		name  string
		items []Item
		want  []string // names, and whose facts
	}{
		{"one paper is one entry", []Item{item("a", "SR-1", "x", "2030-01-01", "f"), item("b", "SR-1", "y", "2030-01-01", "f")}, []string{"a, b|"}},
		{"two papers are two", []Item{item("a", "SR-1", "x", "2030-01-01"), item("b", "SR-2", "x", "2030-01-01")}, []string{"a|", "b|"}},
		{"two days are two", []Item{item("a", "SR-1", "x", "2030-01-01"), item("b", "SR-1", "x", "2030-01-02")}, []string{"a|", "b|"}},
		{"without a cause, one site is one", []Item{item("a", "", "x", "2030-01-01"), item("b", "", "x", "2030-01-01"), item("c", "", "y", "2030-01-01")}, []string{"a, b|", "c|"}},
		{"facts that differ are the first's", []Item{item("a", "SR-1", "x", "2030-01-01", "f"), item("b", "SR-1", "x", "2030-01-01", "g")}, []string{"a, b|a"}},
	} {
		var got []string
		for _, g := range Groups(c.items) {
			got = append(got, g.Names+"|"+g.FactsOf)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s: -want +got\n%s", c.name, diff)
		}
	}
}

func TestNamesAreAtMostTwelve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "n")
		var items []Item
		for i := range n {
			items = append(items, Item{Name: fmt.Sprintf("animal %02d", i)}, Item{Name: fmt.Sprintf("animal %02d", i)})
		}
		got := Names(items)
		if shown := strings.Count(got, "animal"); shown != min(n, mostNames) {
			t.Fatalf("%d names of %d: %s", shown, n, got)
		}
		if more := fmt.Sprintf(" and %d more", n-mostNames); strings.HasSuffix(got, more) != (n > mostNames) {
			t.Fatalf("%d names: %s", n, got)
		}
	})
}

func TestSortIsTotal(t *testing.T) {
	alike := []Item{{Name: "Ada Quill", Subject: "person:1"}, {Name: "Ada Quill", Subject: "person:2"}, {Name: "Ada Quill", Subject: "person:3"}}
	rapid.Check(t, func(t *rapid.T) {
		got := rapid.Permutation(alike).Draw(t, "items")
		Sort(got)
		if !slices.IsSortedFunc(got, func(a, b Item) int { return strings.Compare(a.Subject, b.Subject) }) {
			t.Fatalf("two persons of one name come in any order: %v", got)
		}
	})
}

func TestSubject(t *testing.T) {
	today := d("2030-06-04")
	todo := func(by string) entry {
		s := &Step{Do: compliance.FileRenewal}
		if by != "" {
			s.By = d(by)
		}
		return entry{Group: Group{Item: Item{Step: s}, Count: 1}}
	}
	for _, c := range []struct {
		name string
		in   letter
		want string
	}{
		{"the next day counts", letter{Changes: []entry{todo("2030-12-14"), todo("2030-07-01")}}, "H: 2 to act on, next by Mon 1 Jul 2030"},
		{"today is not late", letter{Due: []entry{todo("2030-06-04")}}, "H: 1 to act on, next by Tue 4 Jun 2030"},
		{"yesterday is", letter{Due: []entry{todo("2030-06-03"), todo("2030-06-05")}}, "H: 2 to act on, 1 overdue, next by Wed 5 Jun 2030"},
		{"at once", letter{Changes: []entry{todo("")}}, "H: 1 to act on, 1 at once"},
		{"nothing to do, and not all well", letter{Ended: []Group{{}}, Standing: []Group{{Count: 14}}, More: 3}, "H: 1 ended, 17 still open"},
		{"nothing to do", letter{Ended: []Group{{}, {}}}, "H: 2 ended"},
	} {
		c.in.House, c.in.Day = "H", today
		if got := c.in.subject(); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
