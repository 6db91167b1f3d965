package daemon

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/daemon/web"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// judgedDemo judges the demo house.
func judgedDemo(t *testing.T) *compliance.Report {
	t.Helper()
	opt, _ := watched(t)
	book, err := Rulebook(opt.Config)
	if err != nil {
		t.Fatal(err)
	}
	s, err := demo.House(day.In(morning, time.UTC), book.Holidays).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	s.Pulse.Swept = morning
	return compliance.Evaluate(book, s, compliance.Ask{Now: morning})
}

// TestMonthsAreWhatAheadSays: the picture counts the turns that antidotary
// ahead names, and each last day to act that a duty has on any day.
func TestMonthsAreWhatAheadSays(t *testing.T) {
	r := judgedDemo(t)
	got := monthsOf(r)
	want := make([]web.Month, len(got.Rows))
	for i, row := range got.Rows {
		want[i] = web.Month{First: row.First, Last: row.Last}
	}
	in := func(on day.Day) *web.Month {
		for i := range want {
			if on <= want[i].Last {
				return &want[i]
			}
		}
		t.Fatalf("%s lies in no month", on)
		return nil
	}
	ahead := answer.NewAhead(r, got.Until)
	for _, turn := range ahead.Turns {
		switch turn.To {
		case compliance.OutOfOrder:
			in(turn.On).Out++
		case compliance.CannotTell:
			in(turn.On).Unknown++
		}
	}
	for _, j := range r.Judgements {
		today, line := r.View.Today(j.Site(got.From)), j.Combined()
		seen := make(map[day.Day]bool)
		for d := today; d <= got.Until; d++ {
			if by := line.At(d).Step.By; by >= today && by <= got.Until && !seen[by] {
				seen[by] = true
				in(by).Act++
			}
		}
	}
	if diff := cmp.Diff(want, got.Rows); diff != "" || got.FirstLapse != ahead.FirstLapse {
		t.Errorf("first %s, want %s (-want +got):\n%s", got.FirstLapse, ahead.FirstLapse, diff)
	}
	if total := got.Total(); len(ahead.Turns) < 50 || total.Act < 50 || total.Out == 0 || total.Unknown == 0 {
		t.Errorf("%d turns, in all %+v: the house shows too little", len(ahead.Turns), total)
	}
}

// TestMonthsFollowOnEachOther, whatever day it is, and none is left out.
func TestMonthsFollowOnEachOther(t *testing.T) {
	r := judgedDemo(t)
	for _, on := range []string{"2026-01-31", "2026-12-31", "2028-02-29", "2027-03-01"} {
		r := compliance.Evaluate(r.View.Book, r.View.Snapshot, compliance.Ask{Now: morning, On: day.MustParse(on)})
		m := monthsOf(r)
		for i, row := range m.Rows {
			if i > 0 && row.First != m.Rows[i-1].Last+1 || row.Last != row.First.EndOfMonth() || monthOf(m, row.First) != &m.Rows[i] || monthOf(m, row.Last) != &m.Rows[i] {
				t.Errorf("from %s, month %d is %s to %s", on, i, row.First, row.Last)
			}
		}
		if m.From != m.Rows[0].First || m.Until != m.Rows[len(m.Rows)-1].Last || len(m.Rows) != monthsAhead {
			t.Errorf("from %s: %s to %s in %d months", on, m.From, m.Until, len(m.Rows))
		}
	}
}

// TestHowSomethingBecameWorse: the gravest change is said, in words.
func TestHowSomethingBecameWorse(t *testing.T) {
	was := compliance.Finding{Severity: compliance.Serious, Verdict: compliance.Verdict{Standing: compliance.InOrder, State: compliance.NotYetDue,
		Step: compliance.Step{Do: compliance.HoldActivity, By: day.MustParse("2026-12-20")}}}
	for want, change := range map[string]func(*compliance.Finding){
		"was in order, is out of order: it is overdue": func(f *compliance.Finding) {
			f.Verdict.Standing, f.Verdict.State, f.Missed = compliance.OutOfOrder, compliance.Overdue, true
		},
		"the day to act by, Sun 20 Dec 2026, has passed":                    func(f *compliance.Finding) { f.Missed = true },
		"the day to act by moved up from Sun 20 Dec 2026 to Tue 1 Dec 2026": func(f *compliance.Finding) { f.Verdict.Step.By = day.MustParse("2026-12-01") },
		"to be done at once; it was by Sun 20 Dec 2026":                     func(f *compliance.Finding) { f.Verdict.Step.By = 0 },
		"it weighs more than it did: it is not due yet":                     func(f *compliance.Finding) { f.Severity = compliance.Critical },
	} {
		is := was
		change(&is)
		if got := worse(store.Worsened{Before: was, After: is}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// TestWhoRecordedWhat: one line an actor, whole counts, and an erased name is
// no gap.
func TestWhoRecordedWhat(t *testing.T) {
	changes := []store.Changes{{Actor: "", Change: "put site", Entries: 1, Records: 1}, {Actor: "a", Change: "put feed", Entries: 1, Records: 1},
		{Actor: "a", Change: "put permit", Entries: 7, Records: 3}, {Actor: "a", Change: "remove animal", Entries: 2, Records: 2},
		{Actor: "a", Change: "hold a lot back", Entries: 1, Records: 1}}
	got, more := recordedOf(changes)
	want := []web.Recorded{{Who: "a", What: "papers 7, animals (remove) 2, lists 1, hold a lot back 1", Entries: 11}, {Who: "somebody whose name was erased", What: "sites 1", Entries: 1}}
	if diff := cmp.Diff(want, got); diff != "" || more != 0 {
		t.Errorf("%d more (-want +got):\n%s", more, diff)
	}
	for i := range 30 {
		changes = append(changes, store.Changes{Actor: "b" + string(rune('a'+i)), Change: "put lot", Entries: 1, Records: 1})
	}
	if got, more = recordedOf(changes); len(got) != mostRecords || more != 32-mostRecords {
		t.Errorf("%d shown and %d more, want 32 in all", len(got), more)
	}
}

// TestManyThatChanged are all counted, and few are shown.
func TestManyThatChanged(t *testing.T) {
	r := judgedDemo(t)
	var s store.Since
	for i := range 10_000 {
		f := compliance.Finding{Rule: "rule." + string(rune('a'+i%20)), Key: compliance.Key{Requirement: "r", Subject: inventory.Ref{Kind: inventory.KindAnimal, ID: inventory.NewID()}}, Severity: compliance.Notice}
		s.Opened = append(s.Opened, f)
	}
	part := sinceOf(r, &s, time.UTC).Parts[0]
	shown := 0
	for _, line := range part.Lines {
		shown += len(line.Names) + line.MoreNames
	}
	if part.Count != 10_000 || shown+part.More != 10_000 || len(part.Lines) != mostLines || part.More == 0 {
		t.Errorf("%d lines with %d and %d more of %d", len(part.Lines), shown, part.More, part.Count)
	}
}

// TestWhoHoldsARole today, at a site or everywhere; nobody who has left.
func TestWhoHoldsARole(t *testing.T) {
	r := judgedDemo(t)
	v, holders := r.View, holdersOf(r.View)
	asked := 0
	for site := range v.Sites.All() {
		for _, role := range compliance.Roles {
			var want []string
			for p := range v.People.All() {
				if p.Has(role, site.ID, v.Today(site.ID)) {
					want = append(want, p.Called)
				}
			}
			got := holders(role, site.Title)
			if len(got) != len(want) {
				t.Errorf("%s at %s: %v, want %v", role, site.Title, got, want)
			}
			asked += len(want)
		}
	}
	if asked < 5 {
		t.Errorf("only %d offices are held: the house shows too little", asked)
	}
}
