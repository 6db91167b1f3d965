package web

import (
	"fmt"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory/day"
	"antidotary/notify"
)

func due(by day.Day, missed bool) notify.Item {
	it := drill()
	it.Name, it.Step = fmt.Sprintf("by %d", by), &notify.Step{Words: "do it", By: by, Missed: missed, Owner: compliance.Curator}
	return it
}

// TestPartsByDay: each duty stands in one part, by the day by which somebody
// must act; what cannot be told stands apart, however near its day is.
func TestPartsByDay(t *testing.T) {
	none, told := drill(), due(today-3, true)
	none.Step = nil
	told.Standing = compliance.CannotTell
	for name, c := range map[string]struct {
		of   notify.Item
		part int
	}{
		"missed":                  {due(today-1, true), overdue},
		"no day: at once":         {due(0, false), atOnce},
		"nothing is named":        {none, atOnce},
		"today":                   {due(today, false), atOnce},
		"yesterday, there today":  {due(today-1, false), atOnce}, // a site west of the house
		"tomorrow":                {due(today+1, false), thisWeek},
		"in seven days":           {due(today+7, false), thisWeek},
		"in eight days":           {due(today+8, false), later},
		"cannot be told, overdue": {told, untold},
	} {
		for i, p := range pageWith(c.of).Parts {
			if want := i == c.part; (p.Duties == 1) != want || (len(p.Entries) == 1) != want {
				t.Errorf("%s: %d duties in %q, want it in part %d", name, p.Duties, p.Title, c.part)
			}
		}
	}
}

// TestWithinAPart the earliest day comes first, and at once before any.
func TestWithinAPart(t *testing.T) {
	grave := due(today, false)
	grave.Severity = compliance.Critical
	p := pageWith(due(today, false), grave, due(0, false)).Parts[atOnce]
	var got []string
	for _, e := range p.Entries {
		got = append(got, fmt.Sprintf("%d %s, %s", e.Duties, e.When, e.Severity))
	}
	if want := "1 at once, serious; 2 by Wed 25 Nov 2026, today, critical"; strings.Join(got, "; ") != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestManyFindings: a page of ten thousand is no larger than can be read, its
// counts are whole, and what is left out is said.
func TestManyFindings(t *testing.T) {
	var items []notify.Item
	for i := range 10_000 {
		it := due(today.Add(i%400), false)
		it.Name, it.Subject, it.Rule, it.Site = fmt.Sprintf("animal %d", i), fmt.Sprintf("animal:%d", i), fmt.Sprintf("rule.%d", i%7), fmt.Sprintf("site %d", i%30)
		items = append(items, it)
	}
	page := pageWith(items...)
	body := asked(fixed{page: page, life: healthy()}, "GET", "/", "").Body.String()
	if len(body) > 300_000 {
		t.Errorf("%d bytes", len(body))
	}
	all := 0
	for _, p := range page.Parts {
		shown := 0
		for _, e := range p.Entries {
			shown += e.Duties
			if len(e.Names)+e.MoreNames != e.Duties || len(e.Names) > mostNames {
				t.Errorf("%d names and %d more of %d duties", len(e.Names), e.MoreNames, e.Duties)
			}
		}
		if shown+p.More != p.Duties {
			t.Errorf("%s: %d shown and %d more of %d", p.Title, shown, p.More, p.Duties)
		}
		if p.More > 0 && !strings.Contains(body, fmt.Sprintf("And %d more duties", p.More)) {
			t.Errorf("the page does not say that %d more are %s", p.More, p.Title)
		}
		all += p.Duties
	}
	if all != len(items) || page.Parts[later].More == 0 {
		t.Errorf("%d of %d duties, %d of them left out", all, len(items), page.Parts[later].More)
	}
}

// TestWhoHoldsTheRole: nobody is said, and many are cut.
func TestWhoHoldsTheRole(t *testing.T) {
	for want, names := range map[string][]string{
		"nobody holds this role there": nil, "A": {"A"}, "A, B, C": {"A", "B", "C"}, "A, B, C and 2 more": {"A", "B", "C", "D", "E"},
	} {
		if got := heldBy(names); got != want {
			t.Errorf("%v: %q, want %q", names, got, want)
		}
	}
}

// TestAnEmptyHouse says of each part that there is nothing in it, and what it
// does not know.
func TestAnEmptyHouse(t *testing.T) {
	page := pageWith()
	page.Since = nil
	body := asked(fixed{page: page, life: healthy()}, "GET", "/", "").Body.String()
	checkSays(t, body, []string{"Nothing is overdue.", "Everything that is watched can be told.", "What is not recorded is not watched either", "No rule pack is loaded",
		"<strong>Not known:</strong> the journal", "<strong>Not known:</strong> nothing has been worked out yet"}, []string{`class="alarm`})
}
