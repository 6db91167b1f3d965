package ladder

import (
	"os"
	"slices"
	"testing"
	"time"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// shipped reads the ladder that comes with the program.
func shipped(t testing.TB) *Ladder {
	t.Helper()
	data, err := os.ReadFile("../../deploy/rules/ladder.yaml")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := strict.Parse("ladder.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	m := doc.Root()
	l := Read(m.Map("ladder"), "1", roles)
	for _, key := range m.Keys() {
		if key != "ladder" {
			m.Has(key) // keys of the pack itself are read elsewhere
		}
	}
	if err := doc.Err(); err != nil {
		t.Fatal(err)
	}
	return l
}

// TestShippedFigures: what the shipped ladder asks lies within what houses
// ask. Common practice, no source, for every figure here.
func TestShippedFigures(t *testing.T) {
	l := shipped(t)
	for _, c := range []struct {
		stage       int
		of          Of
		least, most int
	}{
		{2, Sessions, 10, 20}, {2, Days, 8, 20},
		{3, Repetitions, 30, 50}, {3, Days, 10, 20}, {3, Hours, 20, 40}, {3, CleanRun, 20, 20},
		{4, Repetitions, 25, 50}, {4, Days, 15, 30}, {4, Individuals, 3, 10},
		{5, Repetitions, 25, 50}, {5, Days, 15, 30},
		{6, Repetitions, 25, 50}, {6, Days, 20, 30},
		{7, Repetitions, 50, 100}, {7, Days, 25, 50},
	} {
		found := false
		for _, part := range l.Stages[c.stage].Entry.(All) {
			if n, ok := part.(*Count); ok && n.Of == c.of {
				found = found || n.AtLeast >= c.least && n.AtLeast <= c.most
			}
		}
		if !found {
			t.Errorf("stage %d does not ask for %d to %d %s", c.stage, c.least, c.most, c.of)
		}
	}
	for stage, want := range map[int][]string{2: {"mentor"}, 3: {"mentor", "lead-keeper", "head"}, 4: {"mentor", "lead-keeper", "head"}, 5: {"mentor", "lead-keeper", "head"}, 6: {"mentor", "lead-keeper", "head", "safety-officer"}} {
		if got := l.Stages[stage].Signs; !slices.Equal(got, want) {
			t.Errorf("stage %d is signed by %v", stage, got)
		}
	}
	for stage := 3; stage <= l.Top(); stage++ {
		s := l.Stages[stage]
		if !s.Signed || s.Handled.IsZero() || s.SpeciesHandled.IsZero() || s.Refresher < 3 || s.Refresher > 5 || s.SetBackAfter != day.MustParseSpan("12 months") {
			t.Errorf("stage %d: a sign-off %v, current for %s and %s, refresher %d, lost after %s", stage, s.Signed, s.Handled, s.SpeciesHandled, s.Refresher, s.SetBackAfter)
		}
	}
}

// beginner has done all that the shipped ladder asks for its first venomous
// stage: 30 repetitions on ten days, two hours each, all clean, and a drill.
func beginner(t *testing.T) (x *tale, ann, mentor *Person, tame *Species) {
	x = &tale{t: t, ladder: shipped(t)}
	ann, mentor = x.person("ann"), x.person("mentor")
	tame = x.kind("tame", "Tameidae", 2)
	tame.Harmless = inventory.Yes
	x.founded(ann, "2026-04-01", 2)
	x.founded(mentor, "2026-04-01", 3)
	x.teaching(mentor, "2026-04-01", 3)
	for i := range 10 {
		s := x.session(ann, mentor, tame, on("2026-05-01").Add(i).String(), "ccc")
		s.Ended = instant(s.On, 12, 0)
	}
	ann.Done["drill.bite"] = []Done{{On: on("2026-05-05"), Passed: inventory.Yes}}
	return x, ann, mentor, tame
}

// TestShippedFirstVenomousStage: all of it is enough, and one less of anything
// is not. Days matter more than repetitions: 30 in an afternoon are one lesson.
func TestShippedFirstVenomousStage(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(x *tale, ann *Person)
		want   bool
	}{
		{"all of it", func(*tale, *Person) {}, true},
		{"29 repetitions", func(x *tale, _ *Person) { x.records.Sessions[0].Results = "cc" }, false},
		{"9 days", func(x *tale, _ *Person) {
			last := x.records.Sessions[9]
			last.On = last.On - 1
			last.Begun, last.Ended = instant(last.On, 14, 0), instant(last.On, 16, 0)
			last.Signed = last.Ended
		}, false},
		{"19 hours", func(x *tale, _ *Person) { x.records.Sessions[4].Ended = instant(x.records.Sessions[4].On, 11, 0) }, false},
		{"the 21st last prompted", func(x *tale, _ *Person) { x.records.Sessions[3].Results = "pcc" }, true},
		{"the 20th last prompted", func(x *tale, _ *Person) { x.records.Sessions[3].Results = "cpc" }, false},
		{"no drill", func(_ *tale, ann *Person) { delete(ann.Done, "drill.bite") }, false},
		{"a drill that was failed", func(_ *tale, ann *Person) { ann.Done["drill.bite"][0].Passed = inventory.No }, false},
		{"with venomous animals", func(x *tale, _ *Person) { x.kinds[0].Harmless = inventory.No }, false},
		{"from outside only", func(x *tale, _ *Person) { x.records.Sessions[0].Level = Look }, false},
		{"one of them alone", func(x *tale, _ *Person) {
			s := x.records.Sessions[0]
			s.Mentor, s.Watched, s.Signed = inventory.ID{}, inventory.No, time.Time{}
		}, false},
	} {
		x, ann, _, _ := beginner(t)
		c.change(x, ann)
		if got := x.met(x.ladder.Stages[3].Entry, ann, nil, "2026-05-11", Worst); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// TestShippedMentor: own stage for two years, five observed teachings, and no
// event at fault for 24 months.
func TestShippedMentor(t *testing.T) {
	for _, c := range []struct {
		since, fault string
		teachings    int
		want         bool
	}{
		{"2024-05-01", "", 5, true}, {"2024-05-02", "", 5, false}, {"2024-05-01", "", 4, false},
		{"2024-05-01", "2024-05-01", 5, false}, {"2024-05-01", "2024-04-30", 5, true},
	} {
		x := &tale{t: t, ladder: shipped(t)}
		ann := x.person("ann")
		x.founded(ann, c.since, 3)
		x.records.Authorisations[0].Until = day.Until(on("2030-01-01"))
		for i := range x.ladder.Stages { // she is kept current
			x.ladder.Stages[i].SetBackAfter = day.Span{}
		}
		for i := range c.teachings {
			ann.Done["teaching.observed"] = append(ann.Done["teaching.observed"], Done{On: on("2025-01-01").Add(i), Passed: inventory.Yes})
		}
		if c.fault != "" {
			ann.Done["incident.at-fault"] = []Done{{On: on(c.fault), Passed: inventory.Yes}}
		}
		if got := x.met(x.ladder.Mentor.Entry, ann, nil, "2026-05-01", Worst); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}
