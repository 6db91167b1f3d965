package compliance

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// told is a report in which one key has one verdict on every day.
func told(t testing.TB, v Verdict, layer Layer) (*Report, Key) {
	t.Helper()
	h := newHouse(t)
	r := &Report{View: NewView(&Rulebook{Holidays: day.Embedded()}, h.snapshot(), Ask{Now: noon})}
	key := Key{Requirement: "r", Subject: inventory.Ref{Kind: inventory.KindSite, ID: inventory.ID{1}}}
	r.add(&Duty{Rule: &Rule{ID: "x.r", Requirement: "r", Layer: layer, Severity: Serious}, Subject: key.Subject}, day.Constant(&v))
	for _, j := range r.Judgements {
		r.join(j)
	}
	return r, key
}

var paperA, paperB = inventory.Ref{Kind: inventory.KindPermit, ID: inventory.ID{2}}, inventory.Ref{Kind: inventory.KindPermit, ID: inventory.ID{3}}

// stepBy is a step on a paper; by is a number of days from today.
func stepBy(paper inventory.Ref, by int) Step {
	return Step{Do: FileRenewal, Instance: paper, By: day.In(noon, time.UTC).Add(by), Window: 60, Owner: Administrator}
}

// atOnce is a step on a paper that has no day.
func atOnce(paper inventory.Ref) Step {
	s := stepBy(paper, 0)
	s.By = 0
	return s
}

func in(s Step) Verdict  { return Verdict{Standing: InOrder, State: InForce, Step: s} }
func out(s Step) Verdict { return Verdict{Standing: OutOfOrder, State: Lapsed, Step: s} }

func TestDiff(t *testing.T) {
	today := int(day.In(noon, time.UTC))
	for _, c := range []struct {
		name     string
		before   *Verdict // nil: no finding is open
		now      Verdict
		move     Move // empty: nothing happens
		how      Closing
		worsened int
		armMoves bool
	}{
		{"nothing to do opens nothing", nil, in(Step{}), "", "", 0, false},
		{"a step outside of its window opens nothing", nil, in(stepBy(paperA, 61)), "", "", 0, false},
		{"a step on the first day of its window opens", nil, in(stepBy(paperA, 60)), Opened, "", 0, false},
		{"out of order opens", nil, out(Step{}), Opened, "", 0, false},
		{"cannot tell opens", nil, Verdict{Standing: CannotTell, State: ListStale}, Opened, "", 0, false},
		{"the same again is nothing", new(out(stepBy(paperA, -3))), out(stepBy(paperA, -3)), "", "", 0, false},
		{"lapsing is worse, and the missed day stays", new(in(stepBy(paperA, -3))), out(stepBy(paperA, -3)), Worse, "", 1, false},
		{"an earlier day is worse, and no new run of reminders", new(in(stepBy(paperA, 50))), in(stepBy(paperA, 40)), Worse, "", 1, false},
		{"fourteen days later goes on with the old reminders", new(in(stepBy(paperA, 20))), in(stepBy(paperA, 34)), Improved, "", 0, false},
		{"fifteen days later starts anew", new(in(stepBy(paperA, 20))), in(stepBy(paperA, 35)), Improved, "", 0, true},
		{"at once is earlier than any day", new(in(stepBy(paperA, 20))), in(atOnce(paperA)), Worse, "", 1, false},
		{"from at once to a day far ahead starts anew", new(out(atOnce(paperA))), in(stepBy(paperA, 30)), Improved, "", 0, true},
		{"from at once to a day near goes on", new(out(atOnce(paperA))), in(stepBy(paperA, 14)), Improved, "", 0, false},
		{"another paper starts anew", new(in(stepBy(paperA, 20))), in(stepBy(paperB, 20)), Changed, "", 0, true},
		{"back in order with a step is better", new(out(stepBy(paperA, -3))), in(stepBy(paperA, 30)), Improved, "", 0, true},
		{"done in time", new(in(stepBy(paperA, 20))), in(Step{}), Closed, Met, 0, false},
		{"done after it had lapsed", new(out(stepBy(paperA, -3))), in(Step{}), Closed, Late, 0, false},
		{"the duty ended", new(out(stepBy(paperA, -3))), Verdict{}, Closed, Ceased, 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			var open []Finding
			if c.before != nil {
				was, _ := told(t, *c.before, House)
				for _, tr := range Diff(nil, was, noon.Add(-time.Hour), inventory.NewID) {
					open = append(open, *tr.After)
				}
				if len(open) != 1 {
					t.Fatalf("the finding before did not open")
				}
			}
			is, _ := told(t, c.now, House)
			got := Diff(open, is, noon, inventory.NewID)
			if c.move == "" {
				if len(got) != 0 {
					t.Fatalf("%s, want nothing", got[0].Move)
				}
				return
			}
			if len(got) != 1 || got[0].Move != c.move {
				t.Fatalf("%+v, want %s", got, c.move)
			}
			after := got[0].After
			if after.How != c.how || after.Worsened != c.worsened {
				t.Errorf("closed %q, worsened %d; want %q, %d", after.How, after.Worsened, c.how, c.worsened)
			}
			if moved := after.Arm != today; moved != c.armMoves {
				t.Errorf("a new run of reminders: %t, want %t", moved, c.armMoves)
			}
			if c.before != nil && after.ID != open[0].ID {
				t.Error("the episode changed its identity")
			}
		})
	}
}

// TestLawOverPolicyIsWorse: a duty that house policy asked for and now law
// asks for as well.
func TestLawOverPolicyIsWorse(t *testing.T) {
	was, _ := told(t, out(Step{}), House)
	open := []Finding{*Diff(nil, was, noon, inventory.NewID)[0].After}
	is, _ := told(t, out(Step{}), Law)
	if got := Diff(open, is, noon, inventory.NewID); len(got) != 1 || got[0].Move != Worse {
		t.Errorf("%+v, want worse", got)
	}
}

// TestADutyThatNoRuleAsksForCeases: the pack was taken away.
func TestADutyThatNoRuleAsksForCeases(t *testing.T) {
	was, _ := told(t, out(Step{}), Law)
	open := []Finding{*Diff(nil, was, noon, inventory.NewID)[0].After}
	empty := &Report{View: was.View}
	if got := Diff(open, empty, noon, inventory.NewID); len(got) != 1 || got[0].After.How != Ceased {
		t.Errorf("%+v, want ceased", got)
	}
}

// TestOneOpenFindingForEachNeed walks a house through days: after each round
// exactly the judgements that need somebody have an open finding, and asking
// again changes nothing.
func TestOneOpenFindingForEachNeed(t *testing.T) {
	b := books(t, pack("a", "law", "us", mixedRules[0]+mixedRules[1]+mixedRules[2]))
	s := mixed(t).snapshot()
	rapid.Check(t, func(t *rapid.T) {
		open := map[Key]Finding{}
		at := noon
		for range rapid.IntRange(1, 6).Draw(t, "rounds") {
			at = at.AddDate(0, 0, rapid.IntRange(0, 90).Draw(t, "days"))
			r := Evaluate(b, s, Ask{Now: at})
			apply(open, Diff(list(open), r, at, inventory.NewID))
			for _, j := range r.Judgements {
				_, needed := r.Finding(j)
				if _, is := open[j.Key]; is != needed {
					t.Fatalf("%v: needed %t, open %t", j.Key, needed, is)
				}
			}
			if again := Diff(list(open), r, at, inventory.NewID); len(again) != 0 {
				t.Fatalf("asking again: %s of %v", again[0].Move, again[0].After.Key)
			}
		}
	})
}

func list(open map[Key]Finding) (out []Finding) {
	for _, f := range open {
		out = append(out, f)
	}
	return out
}

func apply(open map[Key]Finding, transitions []Transition) {
	for _, t := range transitions {
		if t.Move == Closed {
			delete(open, t.After.Key)
			continue
		}
		open[t.After.Key] = *t.After
	}
}
