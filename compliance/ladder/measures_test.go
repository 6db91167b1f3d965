package ladder

import (
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// worked is a tale of somebody who works under a mentor of this house.
func worked(t *testing.T) (x *tale, ann, mentor *Person, kind *Species) {
	x = tell(t, plain)
	for i := range x.ladder.Stages {
		x.ladder.Stages[i].Handled, x.ladder.Stages[i].SetBackAfter = day.Span{}, day.Span{}
	}
	ann, mentor = x.person("ann"), x.person("mentor")
	kind = x.kind("slow", "Slowidae", 1)
	x.founded(ann, "2026-01-01", 1)
	x.founded(mentor, "2026-01-01", 2)
	x.teaching(mentor, "2026-01-01", 2)
	return x, ann, mentor, kind
}

// measured gives the most of a measure that there surely is, and perhaps.
func (x *tale) measured(of Of, f Filter, p *Person, d string) Place {
	return Place{x.most(of, f, p, d, Worst), x.most(of, f, p, d, Best)}
}

func (x *tale) most(of Of, f Filter, p *Person, d string, w World) (n int) {
	for x.met(&Count{Of: of, AtLeast: n + 1, Filter: f}, p, nil, d, w) {
		n++
	}
	return n
}

// TestCleanRun: what was not clean begins the run anew, where it is not known
// what came last as late as it may have at worst and as early at best.
func TestCleanRun(t *testing.T) {
	type one struct {
		day, hour int // hour 0: not known
		results   string
		counts    bool
	}
	for _, c := range []struct {
		what string
		work []one
		want Place
	}{
		{"all clean", []one{{1, 9, "ccc", true}, {2, 9, "cc", true}}, Place{5, 5}},
		{"the last 20 clean begins anew", []one{{1, 9, "ccc", true}, {2, 9, "cpcc", true}}, Place{2, 2}},
		{"what does not count breaks it all the same", []one{{1, 9, "ccc", true}, {2, 9, "cs", false}, {3, 9, "c", true}}, Place{1, 1}},
		{"and adds nothing", []one{{1, 9, "ccc", true}, {2, 9, "cccc", false}}, Place{3, 3}},
		{"in the order of the day", []one{{1, 9, "pc", true}, {1, 11, "cc", true}}, Place{3, 3}},
		{"nobody knows when the clean one was", []one{{1, 9, "pc", true}, {1, 0, "cc", true}}, Place{1, 3}},
		{"nobody knows when the other was", []one{{1, 9, "cccc", true}, {1, 0, "pcc", true}}, Place{2, 6}},
		{"nor of either", []one{{1, 0, "pc", true}, {1, 0, "pcc", true}}, Place{1, 2}},
		{"one of a day, nobody knows when", []one{{1, 0, "pcc", true}, {2, 9, "c", true}}, Place{3, 3}},
	} {
		x, ann, mentor, kind := worked(t)
		x.ladder.Untimed = true
		for _, o := range c.work {
			s := x.session(ann, mentor, kind, on("2026-05-01").Add(o.day).String(), o.results)
			if s.Begun, s.Ended = instant(s.On, o.hour, 0), instant(s.On, o.hour+1, 0); o.hour == 0 {
				s.Begun, s.Ended = time.Time{}, time.Time{}
			}
			if !o.counts {
				s.Signed = time.Time{}
			}
		}
		if got := x.measured(CleanRun, Filter{}, ann, "2026-05-20"); got != c.want {
			t.Errorf("%s: %v, not %v", c.what, got, c.want)
		}
	}
}

// TestAnUnsafeSessionBreaksARun, however clean its repetitions were.
func TestAnUnsafeSessionBreaksARun(t *testing.T) {
	x, ann, mentor, kind := worked(t)
	x.session(ann, mentor, kind, "2026-05-01", "ccc").Unsafe = inventory.Yes
	x.session(ann, mentor, kind, "2026-05-02", "cc")
	if got := x.measured(CleanRun, Filter{}, ann, "2026-05-20"); got != (Place{2, 2}) {
		t.Error(got)
	}
}

// TestDistinct: different days, animals, species and mentors.
func TestDistinct(t *testing.T) {
	x, ann, mentor, kind := worked(t)
	other := x.kind("other", "Otheridae", 1)
	a, b := called("animal a"), called("animal b")
	x.session(ann, mentor, kind, "2026-05-01", "cc").Animals = []inventory.ID{a, b}
	x.session(ann, mentor, kind, "2026-05-02", "cc").Animals = []inventory.ID{a}
	x.session(ann, mentor, other, "2026-05-03", "ccc") // nobody knows which animals
	unknown := x.session(ann, mentor, kind, "2026-05-04", "c")
	unknown.Mentor, unknown.Animals = inventory.ID{}, []inventory.ID{a}
	x.session(ann, nil, kind, "2026-05-05", "c").Animals = []inventory.ID{called("animal c")}
	for of, want := range map[Of]Place{
		Days: {3, 4}, Sessions: {3, 4}, Repetitions: {7, 8}, Individuals: {2, 5}, Kinds: {2, 2}, Mentors: {1, 2},
	} {
		if got := x.measured(of, Filter{}, ann, "2026-05-20"); got != want {
			t.Errorf("%s: %v, not %v", of, got, want)
		}
	}
	for of, want := range map[Of]Place{Days: {4, 5}, Individuals: {3, 6}, Mentors: {1, 2}} {
		if got := x.measured(of, Filter{Alone: true}, ann, "2026-05-20"); got != want {
			t.Errorf("%s, those alone as well: %v, not %v", of, got, want)
		}
	}
}

// TestHoursAreCappedByTheDay: of one day ten hours count at most.
func TestHoursAreCappedByTheDay(t *testing.T) {
	x, ann, mentor, kind := worked(t)
	for i, hours := range []int{7, 7} {
		s := x.session(ann, mentor, kind, "2026-05-01", "c")
		s.Begun = instant(s.On, 1+8*i, 0)
		s.Ended = s.Begun.Add(time.Duration(hours) * time.Hour)
	}
	x.session(ann, mentor, kind, "2026-05-02", "c").Ended = time.Time{}
	if got := x.measured(Hours, Filter{}, ann, "2026-05-20"); got != (Place{10, 20}) {
		t.Error(got)
	}
}

// TestCredits: work elsewhere counts by its percentage, not more than the
// ladder's, and after a probation here.
func TestCredits(t *testing.T) {
	whole := Credit{Taxon: "Slowidae", First: on("2025-01-01"), Last: on("2025-12-31"), Hours: 100, Repetitions: 40, Days: 20, Percent: 40}
	for _, c := range []struct {
		what   string
		change func(*Credit)
		clean  string // done here since
		filter Filter
		want   Place // hours
	}{
		{"after the probation", func(*Credit) {}, "cccc", Filter{}, Place{41, 41}},
		{"before its end", func(*Credit) {}, "ccc", Filter{}, Place{1, 1}},
		{"the ladder's percentage at most", func(c *Credit) { c.Percent = 90 }, "cccc", Filter{}, Place{51, 51}},
		{"nothing of it", func(c *Credit) { c.Percent = 0 }, "cccc", Filter{}, Place{1, 1}},
		{"nobody signed", func(c *Credit) { c.Signers = nil }, "cccc", Filter{}, Place{1, 1}},
		{"decided later", func(c *Credit) { c.On = on("2026-06-01") }, "cccc", Filter{}, Place{1, 1}},
		{"at what task nobody knows", func(*Credit) {}, "cccc", Filter{TaskFrom: Hook}, Place{1, 41}},
		{"all of it within the time", func(*Credit) {}, "cccc", Filter{Within: day.MustParseSpan("2 years")}, Place{41, 41}},
		{"part of it within the time", func(*Credit) {}, "cccc", Filter{Within: day.MustParseSpan("6 months")}, Place{1, 41}},
		{"none of it within the time", func(*Credit) {}, "cccc", Filter{Within: day.MustParseSpan("1 month")}, Place{1, 1}},
	} {
		x, ann, mentor, kind := worked(t)
		one := whole
		one.ID, one.Person, one.Where, one.Proof, one.On, one.Signers = called("c"), ann.ID, "another house", Log, on("2026-04-01"), []inventory.ID{mentor.ID}
		c.change(&one)
		if err := one.Check(); err != nil {
			t.Fatal(err)
		}
		x.records.Credits = append(x.records.Credits, &one)
		x.session(ann, mentor, kind, "2026-05-01", c.clean)
		if got := x.measured(Hours, c.filter, ann, "2026-05-20"); got != c.want {
			t.Errorf("%s: %v, not %v", c.what, got, c.want)
		}
		if first := x.met(&Count{Of: SpanOf, Over: day.MustParseSpan("1 year"), Filter: c.filter}, ann, nil, "2026-05-20", Best); first != (c.want.Most > 1) {
			t.Errorf("%s: a year since the first of it: %v", c.what, first)
		}
	}
}
