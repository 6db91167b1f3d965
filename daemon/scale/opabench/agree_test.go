package opabench

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/scale"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

var (
	now   = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)
	today = day.In(now, time.UTC)
)

// question is one network under the compared rules, as each engine is given it.
type question struct {
	book *compliance.Rulebook
	s    *compliance.Snapshot
	rego string
	data object
}

func questionOf(t testing.TB, size scale.Size) question {
	t.Helper()
	return questionAbout(t, scale.Network(size, today))
}

func questionAbout(t testing.TB, s *compliance.Snapshot) question {
	t.Helper()
	book, err := scale.Compared()
	if err != nil {
		t.Fatal(err)
	}
	q := question{book: book, s: s}
	if q.rego, err = Rego(book.Files); err != nil {
		t.Fatal(err)
	}
	if q.data, err = Data(q.s); err != nil {
		t.Fatal(err)
	}
	return q
}

func (q question) ask(on day.Day) compliance.Ask { return compliance.Ask{Now: now, On: on, Until: on} }

func (q question) prepare(t testing.TB, way Way, on day.Day) *Engine {
	t.Helper()
	e, err := Prepare(t.Context(), way, q.rego, q.data, on)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func (q question) answers(t testing.TB, way Way, on day.Day) Answers {
	t.Helper()
	e := q.prepare(t, way, on)
	values, err := e.Ask(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	out, err := e.Read(values)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// many has sites under every law of the rules, and papers that renew others.
var many = scale.Size{Name: "many sites", Sites: 21, Species: 60, People: 150, Animals: 1000, Permits: 1800, Lots: 400, Products: 20}

// TestBothAgree: each rule's standing for each subject is the same on several
// days, in whichever way the library is asked.
func TestBothAgree(t *testing.T) {
	inAMonth, inAYear, halfAYearAgo := today.Add(30), today.Add(365), today.Add(-180)
	for _, c := range []struct {
		size scale.Size
		way  Way
		days []day.Day
	}{
		{scale.Small, Way{}, []day.Day{halfAYearAgo, today, inAMonth, inAYear}},
		{scale.Small, Way{OneByOne: true}, []day.Day{today}},
		{scale.Small, Way{Partial: true}, []day.Day{today}},
		{scale.Medium, Way{}, []day.Day{halfAYearAgo, today, inAMonth, inAYear}},
		{scale.Medium, Way{OneByOne: true}, []day.Day{today}},
	} {
		q := questionOf(t, c.size)
		for _, on := range c.days {
			t.Run(fmt.Sprintf("%s/%s/%s", c.size.Name, c.way, on), func(t *testing.T) { q.compare(t, c.way, on) })
		}
	}
	q := questionAbout(t, doubtful(scale.Network(many, today)))
	for _, on := range []day.Day{halfAYearAgo, today} {
		t.Run(fmt.Sprintf("doubtful records/%s", on), func(t *testing.T) { q.compare(t, Way{}, on) })
	}
}

func (q question) compare(t *testing.T, way Way, on day.Day) {
	want := Watch(compliance.Evaluate(q.book, q.s, q.ask(on)), q.book, on)
	if diff := cmp.Diff(want, q.answers(t, way, on)); diff != "" {
		t.Errorf("the watch (-) and the library (+) differ:\n%s", diff)
	}
}

// TestMuchIsCompared: every rule has answers, and every standing comes often.
func TestMuchIsCompared(t *testing.T) {
	q := questionAbout(t, doubtful(scale.Network(many, today)))
	answers := Watch(compliance.Evaluate(q.book, q.s, q.ask(today)), q.book, today)
	count := map[compliance.Standing]int{}
	for _, r := range q.book.Rules {
		if len(answers[r.ID]) == 0 {
			t.Errorf("%s is asked of nobody", r.ID)
		}
		for _, is := range answers[r.ID] {
			count[is]++
		}
	}
	for _, is := range []compliance.Standing{compliance.InOrder, compliance.CannotTell, compliance.OutOfOrder} {
		if count[is] < 100 {
			t.Errorf("only %d answers are %s", count[is], is)
		}
	}
}

// TestWhatRegoIsNotToldOfIsRefused: records and rules that would be compared in
// part are an error.
func TestWhatRegoIsNotToldOfIsRefused(t *testing.T) {
	s := scale.Network(scale.Small, today)
	for a := range s.Animals.All() {
		kept := *a
		kept.Custodian = inventory.Ref{Kind: inventory.KindPerson, ID: inventory.NewID()}
		s.Animals = s.Animals.With(kept)
		break
	}
	if _, err := Data(s); err == nil {
		t.Error("an animal that somebody keeps was taken")
	}
	head := "format: 1\npack: p\ntitle: Invented\nlayer: house\nrules:\n  - {id: r, subject: site, kind: recurring, "
	for _, rest := range []string{
		"params: {activity: a, every: 6 months}}",
		"params: {activity: a, every: 6 days, moves_to_working_day: true}}",
		"scope: size(site_use) > 3, params: {activity: a, every: 6 days}}",
		"from: 2026-01-01, params: {activity: a, every: 6 days}}",
	} {
		if _, err := Rego(map[string]string{"p.yaml": head + rest}); err == nil {
			t.Errorf("%s was taken", rest)
		}
	}
}
