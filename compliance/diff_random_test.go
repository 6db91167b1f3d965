package compliance

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// anyVerdict is any verdict that a duty could have, with steps around today.
func anyVerdict(t *rapid.T) Verdict {
	v := Verdict{Standing: Standing(rapid.IntRange(0, 3).Draw(t, "standing"))}
	if v.Standing == NotApplicable {
		return Verdict{}
	}
	v.State = rapid.SampledFrom([]Code{InForce, Lapsed, ListStale}).Draw(t, "state")
	if rapid.Bool().Draw(t, "step?") {
		v.Step = stepBy(rapid.SampledFrom([]inventory.Ref{paperA, paperB}).Draw(t, "paper"), rapid.IntRange(-40, 120).Draw(t, "by"))
		if rapid.IntRange(0, 4).Draw(t, "at once") == 0 {
			v.Step.By = 0
		}
	}
	return v
}

// TestEpisodesUnderAnyVerdicts runs one key through any sequence of verdicts
// and holds what the definitions say of episodes after each.
func TestEpisodesUnderAnyVerdicts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		open := map[Key]Finding{}
		for round := range rapid.IntRange(1, 8).Draw(t, "rounds") {
			at := noon.Add(time.Duration(round) * time.Minute)
			layer := rapid.SampledFrom([]Layer{Law, House}).Draw(t, "layer")
			r, key := told(discard{}, anyVerdict(t), layer)
			was, had := open[key]
			got := Diff(list(open), r, at, inventory.NewID)
			apply(open, got)
			is, has := open[key]
			f, needed := r.Finding(r.Of(key))
			switch {
			case needed != has:
				t.Fatalf("needed %t, open %t: %+v", needed, has, f.Verdict)
			case len(Diff(list(open), r, at, inventory.NewID)) != 0:
				t.Fatal("the same again is a transition")
			case had && has:
				sameEpisode(t, got, was, is)
			case had:
				ended(t, got, was, f)
			}
			if has && is.Missed != (is.Verdict.Step.By != 0 && is.Verdict.Step.By < day.In(noon, time.UTC)) {
				t.Fatalf("missed %t, by %s", is.Missed, is.Verdict.Step.By)
			}
		}
	})
}

func sameEpisode(t *rapid.T, got []Transition, was, is Finding) {
	same := was.Verdict.Step.Do == is.Verdict.Step.Do && was.Verdict.Step.Instance == is.Verdict.Step.Instance
	before := was.Verdict.Step.By
	if before == 0 { // at once
		before = day.In(noon, time.UTC)
	}
	later := is.Verdict.Step.By.Sub(before)
	switch {
	case is.ID != was.ID || !is.Opened.Equal(was.Opened):
		t.Fatal("the episode changed its identity")
	case was.Lapsed && !is.Lapsed:
		t.Fatal("that it had lapsed was forgotten")
	case is.Worsened-was.Worsened > 1 || is.Worsened < was.Worsened:
		t.Fatalf("worsened %d, then %d", was.Worsened, is.Worsened)
	case (is.Worsened > was.Worsened) != (len(got) == 1 && got[0].Move == Worse):
		t.Fatalf("worsened %d, then %d by %+v", was.Worsened, is.Worsened, got)
	case is.Arm < was.Arm:
		t.Fatal("a run of reminders went back")
	case is.Arm > was.Arm && same && later <= 14:
		t.Fatalf("a new run of reminders for one step that is %d days later", later)
	case is.Verdict.Standing > was.Verdict.Standing && is.Worsened == was.Worsened:
		t.Fatalf("%s after %s is no worsening", is.Verdict.Standing, was.Verdict.Standing)
	}
	if same && !is.Verdict.Step.IsZero() && later > 14 && is.Arm == was.Arm {
		t.Fatalf("the same run of reminders for one step that is %d days later", later)
	}
}

func ended(t *rapid.T, got []Transition, was, now Finding) {
	want := Met
	switch {
	case now.Verdict.Standing == NotApplicable:
		want = Ceased
	case was.Lapsed:
		want = Late
	}
	if len(got) != 1 || got[0].Move != Closed || got[0].After.How != want || got[0].After.Closed.IsZero() {
		t.Fatalf("%+v; want closed as %s", got, want)
	}
}
