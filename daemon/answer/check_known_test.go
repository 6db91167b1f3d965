package answer

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
)

// toldOf is what a sweep at noon would have told of the house.
func toldOf(r *compliance.Report) (open []compliance.Finding) {
	for _, t := range compliance.Diff(nil, r, noon, inventory.NewID) {
		open = append(open, *t.After)
	}
	return open
}

// past is an answer with something in each of its parts.
func past(t *testing.T) *Check {
	t.Helper()
	r := asked(t, 0, inventory.Assumptions{})
	open := toldOf(r)
	open[0].Verdict.State, open[1].Key.Occurrence = compliance.Lapsed, "1999"
	k := &Known{At: noon, First: noon.Add(-time.Hour), Entries: 266, Rules: RulesOfToday, RulesWhy: "rules of then: they were not kept",
		Engine: "2", RunsRemoved: true, Told: &Told{Sweep: inventory.NewID(), Started: noon, Finished: noon, Engine: "1", Lost: 3}}
	for range mostErased + 3 {
		k.Erased = append(k.Erased, inventory.Ref{Kind: inventory.KindPerson, ID: inventory.NewID()}.String())
	}
	k.Told.Tell(open, r)
	return NewCheckKnownAt(r, k)
}

// TestJudgedAgainTheSame, whatever the episodes remember.
func TestJudgedAgainTheSame(t *testing.T) {
	r := asked(t, 0, inventory.Assumptions{})
	open := toldOf(r)
	for i := range open {
		open[i].Opened, open[i].Lapsed, open[i].Missed, open[i].Worsened, open[i].Arm = noon.AddDate(-1, 0, 0), true, true, i, i
	}
	var told Told
	if told.Tell(open, r); !told.Same || len(told.Items) != len(open) || len(open) < 20 {
		t.Errorf("%d findings, %d items, differences %+v", len(open), len(told.Items), told.Differences)
	}
}

// TestEachDifferenceIsFound: what was told of a duty, or not at all, and
// judging again says otherwise, or not at all.
func TestEachDifferenceIsFound(t *testing.T) {
	r := asked(t, 0, inventory.Assumptions{})
	for name, c := range map[string]struct {
		change      func(*compliance.Finding)
		told, again bool
		differences int
	}{
		"another standing": {func(f *compliance.Finding) { f.Verdict.Standing = compliance.InOrder }, true, true, 1},
		"another state":    {func(f *compliance.Finding) { f.Verdict.State = compliance.Suspended }, true, true, 1},
		"another day":      {func(f *compliance.Finding) { f.Verdict.Step.By++ }, true, true, 1},
		"another step":     {func(f *compliance.Finding) { f.Verdict.Step.Do = compliance.CheckMail }, true, true, 1},
		"another cause":    {func(f *compliance.Finding) { f.Verdict.Cause.ID = inventory.NewID() }, true, true, 1},
		"another rule":     {func(f *compliance.Finding) { f.Rule = "x" }, true, true, 1},
		"another weight":   {func(f *compliance.Finding) { f.Layer = compliance.Guidance + "x" }, true, true, 1},
		"another severity": {func(f *compliance.Finding) { f.Severity = "x" }, true, true, 1},
		"another duty":     {func(f *compliance.Finding) { f.Key.Requirement = "x" }, true, false, 2},
	} {
		t.Run(name, func(t *testing.T) {
			open := toldOf(r)
			c.change(&open[3])
			var told Told
			told.Tell(open, r)
			if told.Same || len(told.Differences) != c.differences {
				t.Fatalf("%+v", told.Differences)
			}
			if d := told.Differences[0]; (d.Told != nil) != c.told || (d.Again != nil) != c.again {
				t.Errorf("%+v", d)
			}
		})
	}
	var told Told
	if told.Tell(toldOf(r)[1:], r); len(told.Differences) != 1 || told.Differences[0].Told != nil || told.Differences[0].Again == nil {
		t.Errorf("one that was not told: %+v", told.Differences)
	}
}

// TestUnsureIsNeverInOrder: each thing that is not known of then, alone.
func TestUnsureIsNeverInOrder(t *testing.T) {
	sure := Known{Entries: 1, Rules: RulesOfThen}
	if c := (&Check{Known: &sure}); c.Worst() != compliance.InOrder {
		t.Errorf("sure: %s", c.Worst())
	}
	for name, spoil := range map[string]func(*Known){
		"nothing was known":      func(k *Known) { k.Entries = 0 },
		"a record was erased":    func(k *Known) { k.Erased = []string{"x"} },
		"runs were removed":      func(k *Known) { k.RunsRemoved = true },
		"rules are today's":      func(k *Known) { k.Rules = RulesOfToday },
		"rules are not told of":  func(k *Known) { k.Rules = "" },
		"all of that is unknown": func(k *Known) { *k = Known{} },
	} {
		k := sure
		spoil(&k)
		if c := (&Check{Known: &k}); c.Worst() != compliance.CannotTell {
			t.Errorf("%s: %s", name, c.Worst())
		}
		if c := (&Check{Known: &k, Counts: Counts{OutOf: 1}}); c.Worst() != compliance.OutOfOrder {
			t.Errorf("%s, and something is out of order: %s", name, c.Worst())
		}
	}
}

// TestTheTextOfThen says all that is missing, and fits a terminal.
func TestTheTextOfThen(t *testing.T) {
	text := written(t, past(t))
	for line := range strings.Lines(text) {
		if line = strings.TrimSuffix(line, "\n"); utf8.RuneCountInString(line) > width || strings.TrimRight(line, " ") != line {
			t.Errorf("a line is too long or ends in blanks: %q", line)
		}
	}
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range []string{
		"Known at Wed 25 Nov 2026 12:00:00 UTC: 266 entries of the journal", "TODAY'S, so that", "they were not kept",
		"ANOTHER ENGINE than then (version 2 now, 1 then)", "15 RECORDS OF THAT TIME WERE ERASED", "and 3 more: --json names them",
		"jobs had run by then cannot be told", "What was told by then, by the sweep of Wed 25 Nov 2026 12:00:00 UTC:",
		"today's rules, IT DIFFERS", "told nothing; again", "again that nobody is needed", "3 records that it knew were erased since",
	} {
		if !strings.Contains(flat, want) {
			t.Errorf("it does not say %q:\n%s", want, text)
		}
	}
}

const knownKeys = `
at engine entries erased[] first_entry rules rules_why runs_removed
told.differences[].again.layer told.differences[].again.rule told.differences[].again.standing told.differences[].again.state
told.differences[].again.state_words told.differences[].again.step.do told.differences[].again.step.owner
told.differences[].again.step.words told.differences[].name told.differences[].occurrence told.differences[].requirement
told.differences[].subject told.differences[].told.layer told.differences[].told.rule told.differences[].told.standing
told.differences[].told.state told.differences[].told.state_words told.differences[].told.step.do
told.differences[].told.step.owner told.differences[].told.step.words
told.engine told.finished told.items[].cause told.items[].certainty told.items[].citation told.items[].consequence
told.items[].layer told.items[].name told.items[].occurrence told.items[].requirement told.items[].rule
told.items[].severity told.items[].site told.items[].standing told.items[].state told.items[].state_words
told.items[].step.by told.items[].step.do told.items[].step.hand_in_by told.items[].step.legal told.items[].step.missed told.items[].step.owner told.items[].step.post_by told.items[].step.record
told.items[].step.words told.items[].subject told.items[].title told.lost told.same told.started told.sweep
`

// TestKeysOfThen keep their names and meaning within format 1.
func TestKeysOfThen(t *testing.T) {
	text, err := json.Marshal(past(t))
	if err != nil {
		t.Fatal(err)
	}
	var decoded map[string]any
	if err := json.Unmarshal(text, &decoded); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Fields(knownKeys), keysOf("", decoded["known"])); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
