package ladder

import (
	"slices"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestHeldWithoutABreak: a stage that is renewed on the day after its end, or
// that a higher one covers, was held without a break.
func TestHeldWithoutABreak(t *testing.T) {
	type grant struct {
		stage    int
		on, last string
	}
	for _, c := range []struct {
		what   string
		grants []grant
		since  string
	}{
		{"one", []grant{{1, "2026-01-01", ""}}, "2026-01-01"},
		{"renewed in time", []grant{{1, "2026-01-01", "2026-03-31"}, {1, "2026-03-01", "2026-12-31"}}, "2026-01-01"},
		{"renewed on the day after", []grant{{1, "2026-01-01", "2026-03-31"}, {1, "2026-04-01", "2026-12-31"}}, "2026-01-01"},
		{"renewed two days after", []grant{{1, "2026-01-01", "2026-03-31"}, {1, "2026-04-02", "2026-12-31"}}, "2026-04-02"},
		{"a higher one goes on", []grant{{1, "2026-01-01", "2026-03-31"}, {2, "2026-03-01", "2026-12-31"}}, "2026-01-01"},
		{"between two", []grant{{1, "2026-01-01", "2026-02-01"}, {2, "2026-01-15", "2026-03-31"}, {1, "2026-03-30", "2026-12-31"}}, "2026-01-01"},
	} {
		x := tell(t, plain)
		ann := x.person("ann")
		for _, g := range c.grants {
			until := day.End{}
			if g.last != "" {
				until = day.Until(on(g.last))
			}
			x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: g.stage, On: on(g.on), Until: until, Founding: "before", Signers: []inventory.ID{called("founder")}})
		}
		// kept current, so that time takes nothing
		for i := range x.ladder.Stages {
			x.ladder.Stages[i].Handled, x.ladder.Stages[i].SetBackAfter = day.Span{}, day.Span{}
		}
		asks := func(d day.Day, w World) bool {
			return x.met(Held{Stage: 1, For: day.Span{Days: on("2026-05-01").Sub(d)}}, ann, nil, "2026-05-01", w)
		}
		if since := on(c.since); !asks(since, Worst) || asks(since-1, Best) {
			t.Errorf("%s: not held since %s", c.what, since)
		}
	}
}

// TestDownALevelAtATime: a long lapse takes one stage, and the next only after
// as long a time again; how long the lower one had lapsed before does not
// count, whichever way he came down to it.
func TestDownALevelAtATime(t *testing.T) {
	stages := func(then func(*tale, *Person)) (changes []string) {
		x := tell(t, plain)
		ann := x.person("ann")
		x.kind("slow", "Slowidae", 1)
		x.founded(ann, "2026-01-01", 2)
		then(x, ann)
		s := x.judge()
		last := 2
		for d := on("2026-01-01"); d < on("2026-12-31"); d++ {
			if at := s.Stages(ann.ID, d); at.Least != last {
				last = at.Least
				changes = append(changes, d.String()+" "+itoa(last))
			}
		}
		return changes
	}
	for _, c := range []struct {
		what string
		tell func(*tale, *Person)
		want []string
	}{
		// good for 30 days after 1 January, so until the 31st; lapsed from
		// 1 February; 60 days after that the stage is lost
		{"nothing handled", func(*tale, *Person) {}, []string{"2026-04-02 1", "2026-06-01 0"}},
		{"looked at in between", func(x *tale, ann *Person) {
			x.records.Authorisations[0].Until = day.Until(on("2026-03-19"))
			x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: 1, On: on("2026-01-01"), Founding: "before", Signers: []inventory.ID{called("f")}})
			for d := on("2026-01-10"); d < on("2026-06-01"); d += 9 { // from outside: nothing is handled
				x.session(ann, nil, x.kinds[0], d.String(), "c").Level = Look
			}
		}, []string{"2026-03-20 1", "2026-05-19 0"}},
		{"set back", func(x *tale, ann *Person) {
			x.act(Authorisation{Person: ann.ID, What: SetBack, Stage: 1, On: on("2026-03-20"), Reason: "decided"})
		}, []string{"2026-03-20 1", "2026-05-19 0"}},
		{"the higher one ended", func(x *tale, ann *Person) {
			x.records.Authorisations[0].Until = day.Until(on("2026-03-19"))
			x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: 1, On: on("2026-01-01"), Founding: "before", Signers: []inventory.ID{called("f")}})
		}, []string{"2026-03-20 1", "2026-05-19 0"}},
	} {
		if got := stages(c.tell); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, not %v", c.what, got, c.want)
		}
	}
}

// TestSetBackLeavesTheLongest: whoever held more held the lower stage as well,
// for as long.
func TestSetBackLeavesTheLongest(t *testing.T) {
	x := tell(t, plain)
	ann := x.person("ann")
	by := []inventory.ID{called("founder")}
	for _, g := range []struct {
		what  What
		stage int
		last  string
	}{{StageGrant, 1, "2026-02-10"}, {StageGrant, 2, "2026-02-20"}, {MentorGrant, 2, "2026-02-20"}} {
		x.act(Authorisation{Person: ann.ID, What: g.what, Stage: g.stage, On: on("2026-02-01"), Until: day.Until(on(g.last)), Founding: "before", Signers: by})
	}
	x.act(Authorisation{Person: ann.ID, What: SetBack, Stage: 1, On: on("2026-02-05"), Reason: "decided"})
	s := x.judge()
	if at := s.Stages(ann.ID, on("2026-02-20")); at.Least != 1 {
		t.Errorf("stage %d on the last day", at.Least)
	}
	if at := s.Stages(ann.ID, on("2026-02-21")); at.Most != 0 {
		t.Errorf("stage %d after the last day", at.Most)
	}
}

// TestHeldBeforeASetBack: who comes down to a stage that he held before and
// under the higher one has held it all the time.
func TestHeldBeforeASetBack(t *testing.T) {
	x := tell(t, plain)
	ann := x.person("ann")
	for stage, days := range []([2]string){1: {"2026-01-01", "2026-01-20"}, 2: {"2026-01-10", "2026-12-31"}} {
		if stage > 0 {
			x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: stage, On: on(days[0]), Until: day.Until(on(days[1])), Founding: "before", Signers: []inventory.ID{called("founder")}})
		}
	}
	x.act(Authorisation{Person: ann.ID, What: SetBack, Stage: 1, On: on("2026-01-25"), Reason: "decided"})
	held := Held{Stage: 1, For: day.Span{Days: on("2026-01-28").Sub(on("2026-01-01"))}}
	if !x.met(held, ann, nil, "2026-01-28", Worst) || x.met(held, ann, nil, "2026-01-27", Best) {
		t.Error("not held since 1 January")
	}
}

// TestNobodyTeachesOnTheDayOfIt: who is made a mentor vouches from the next
// day on.
func TestNobodyTeachesOnTheDayOfIt(t *testing.T) {
	for d, want := range map[string]Grant{"2026-02-20": MentorNotAble, "2026-02-21": Holds} {
		x := tell(t, plain)
		x.ladder.Stages[2].SignedBy = []string{ByMentor}
		ann, bob := x.person("ann"), x.person("bob")
		fast := x.kind("fast", "Fastidae", 2)
		x.founded(ann, "2026-02-10", 2)
		x.founded(bob, "2026-02-10", 2)
		x.teaching(ann, "2026-02-20", 2)
		x.act(Authorisation{Person: bob.ID, What: SpeciesGrant, Species: fast.ID, Level: Hook, On: on(d), Mentor: ann.ID})
		if worst, best := x.grants(bob); worst[1] != want || best[1] != want {
			t.Errorf("on %s: %d and %d, not %d", d, worst[1], best[1], want)
		}
	}
}

// TestNobodyTeachesAboveHisOwn: what a mentor lost himself he does not vouch
// for, though nobody took his teaching from him.
func TestNobodyTeachesAboveHisOwn(t *testing.T) {
	for _, c := range []struct {
		last string
		want Grant
	}{{"2026-02-20", Holds}, {"2026-02-19", MentorNotAble}} {
		x := tell(t, plain)
		lead, ann, old := x.person("lead", "lead-keeper"), x.person("ann"), x.person("old")
		x.founded(lead, "2026-02-01", 2)
		x.founded(ann, "2026-02-01", 1)
		x.founded(old, "2026-02-01", 2)
		x.records.Authorisations[2].Until = day.Until(on(c.last))
		x.teaching(old, "2026-02-01", 2)
		x.act(Authorisation{Person: ann.ID, What: StageGrant, Stage: 2, On: on("2026-02-20"), Mentor: old.ID, Signers: []inventory.ID{lead.ID}})
		if worst, best := x.grants(ann); worst[1] != c.want || best[1] != c.want {
			t.Errorf("with a mentor whose stage ends on %s: %d and %d, not %d", c.last, worst[1], best[1], c.want)
		}
	}
}

// TestReviews: a grant that names no end is good until its review is due.
// Common practice, no source: mentors are reviewed with the rest unless the
// ladder says otherwise.
func TestReviews(t *testing.T) {
	for _, c := range []struct {
		what   What
		mentor string // the review of mentors
		last   string
	}{
		{StageGrant, "", "2027-02-28"},
		{MentorGrant, "", "2027-02-28"},
		{MentorGrant, "2 months", "2026-04-28"},
	} {
		x := tell(t, plain)
		if c.mentor != "" {
			x.ladder.Mentor.Review = day.MustParseSpan(c.mentor)
		}
		w := newWalker(NewHistory(x.all()), &reading{World: Worst}, 0)
		a := &act{Authorisation: &Authorisation{What: c.what, Stage: 1, On: on("2026-02-28")}}
		if last := w.lastOf(a); last != on(c.last) {
			t.Errorf("%s, mentors %q: good until %s, not %s", c.what, c.mentor, last, c.last)
		}
	}
}
