package daemon

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/config"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// ownPack asks for what nobody did.
const ownPack = `format: 1
pack: own
title: A rule of the house
layer: house
edition: "1"
read_on: 2026-12-01
review_by: 2027-12-01
rules:
  - id: own.drill
    requirement: own.drill
    title: A drill that nobody asked for before
    consequence: Nobody knows the way.
    severity: serious
    owner: safety-officer
    subject: site
    citation: {text: "common practice, no source", certainty: M}
    kind: recurring
    params: {activity: drill.never, every: 1 month}
`

// remembered is a small house in which all is in order, recorded an hour
// before the morning and swept then; asked a week later.
func remembered(t *testing.T, house compliance.Batch) Options {
	t.Helper()
	now := morning.Add(-time.Hour)
	opt := Options{Config: config.Default(), Clock: func() time.Time { return now }}
	opt.Config.Database = filepath.Join(t.TempDir(), "house.db")
	if err := record(t.Context(), opt, house); err != nil {
		t.Fatal(err)
	}
	now = morning
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := d.Stop(context.Background()); err != nil {
		t.Fatal(err)
	}
	now = morning.AddDate(0, 0, 7)
	return opt
}

func smallHouse() compliance.Batch { return demo.Small(day.In(morning, time.UTC), day.Embedded()) }

// orderly is a house of which nothing is asked but what the watch asks of
// itself.
func orderly() compliance.Batch {
	house := inventory.Organisation{ID: inventory.NewID(), Title: "Quiet House", Victims: 1}
	person := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	return compliance.Batch{compliance.Record(house), compliance.Record(person)}
}

func checkedAt(t *testing.T, opt Options, at time.Time) *answer.Check {
	t.Helper()
	c, err := Check(t.Context(), opt, Question{KnownAt: at})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func textOf(t *testing.T, c *answer.Check) string {
	t.Helper()
	var b strings.Builder
	if err := c.WriteText(&b); err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(b.String()), " ") // however it is wrapped
}

func changeDatabase(t *testing.T, opt Options, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+opt.Config.Database+"?_pragma=busy_timeout(5000)")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(t.Context(), statement); err != nil {
		t.Fatal(err)
	}
}

// TestKnownAtIsWhatWasShownThen: the answer for an instant equals the answer
// that was given at that instant, whatever was recorded since.
func TestKnownAtIsWhatWasShownThen(t *testing.T) {
	opt := remembered(t, smallHouse())
	shown := opt
	shown.Clock = func() time.Time { return morning.Add(time.Hour) }
	want, err := Check(t.Context(), shown, Question{})
	if err != nil {
		t.Fatal(err)
	}
	st, err := opt.open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for p := range view.Snapshot.Permits.All() { // revoked long ago, as is recorded only now
		gone := *p
		gone.Revoked = day.In(morning, time.UTC).Add(-100)
		if _, err := st.Commit(t.Context(), store.Actor{ID: "test"}, compliance.Record(gone)); err != nil {
			t.Fatal(err)
		}
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	got := checkedAt(t, opt, morning.Add(time.Hour))
	if got.Known.Rules != answer.RulesOfThen || !got.Known.Told.Same || got.Worst() != want.Worst() {
		t.Errorf("%+v", got.Known)
	}
	known := got.Known
	if got.Known = nil; textOf(t, got) != textOf(t, want) {
		t.Errorf("then it was\n%s\nnow it is said to have been\n%s", textOf(t, want), textOf(t, got))
	}
	if len(known.Told.Items) == 0 {
		t.Error("nothing was told: the house shows too little")
	}
	retold, err := Check(t.Context(), opt, Question{On: day.In(morning, time.UTC)})
	if err != nil || textOf(t, retold) == textOf(t, want) {
		t.Errorf("as of that day and known now it is the same, though a paper is revoked (%v)", err)
	}
}

// TestNothingErasedReadsAsFine: a house in which all was in order cannot be
// told to have been so where a record of then is erased.
func TestNothingErasedReadsAsFine(t *testing.T) {
	opt := remembered(t, orderly())
	whole := checkedAt(t, opt, morning.Add(time.Minute))
	if whole.Worst() != compliance.InOrder {
		t.Fatalf("the house is not in order: %s", textOf(t, whole))
	}
	st, err := opt.open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var subject string
	for p := range view.Snapshot.People.All() {
		subject = p.Ref().String()
	}
	if _, err := st.Erase(t.Context(), subject); err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	c := checkedAt(t, opt, morning.Add(time.Minute))
	text := textOf(t, c)
	if c.Worst() != compliance.CannotTell || !strings.Contains(text, "1 RECORD OF THAT TIME WAS ERASED") || !strings.Contains(text, subject) {
		t.Errorf("%s: %s", c.Worst(), text)
	}
}

// TestRulesOfThen: they count though the house has others today; where they
// were not kept, today's are used, which is said, and then it cannot be told.
func TestRulesOfThen(t *testing.T) {
	opt := remembered(t, smallHouse())
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "own.yaml"), []byte(ownPack), 0o600); err != nil {
		t.Fatal(err)
	}
	opt.Config.Rules = []string{folder}
	c := checkedAt(t, opt, morning)
	if text := textOf(t, c); c.Known.Rules != answer.RulesOfThen || !c.Known.Told.Same || strings.Contains(text, "own.drill") {
		t.Errorf("by the rules of then: %s", text)
	}
	changeDatabase(t, opt, `DELETE FROM kept_text WHERE kind = 'rules'`)
	c = checkedAt(t, opt, morning)
	text := textOf(t, c)
	for _, want := range []string{"TODAY'S, so that the answer of then may have been another", "rules of then: they were not kept", "today's rules, IT DIFFERS",
		"Thornbury Lane (own.drill): told nothing; again out of order"} {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q: %s", want, text)
		}
	}
	if len(c.Known.Told.Differences) != 1 || c.Known.Told.Same {
		t.Errorf("differences: %+v", c.Known.Told.Differences)
	}
}

// TestTodaysRulesAreNoAnswerForThen, however well they read.
func TestTodaysRulesAreNoAnswerForThen(t *testing.T) {
	opt := remembered(t, orderly())
	changeDatabase(t, opt, `UPDATE sweep SET pack_hash = 'of rules that nobody kept'`)
	if c := checkedAt(t, opt, morning.Add(time.Minute)); c.Worst() != compliance.CannotTell || c.Known.Rules != answer.RulesOfToday {
		t.Errorf("%s by the rules of %s", c.Worst(), c.Known.Rules)
	}
}

// TestAnotherEngineIsSaid: it may say otherwise of the same.
func TestAnotherEngineIsSaid(t *testing.T) {
	opt := remembered(t, orderly())
	changeDatabase(t, opt, `UPDATE sweep SET engine = '0.9'`)
	if text := textOf(t, checkedAt(t, opt, morning)); !strings.Contains(text, "ANOTHER ENGINE than then (version "+Engine+" now, 0.9 then)") {
		t.Error(text)
	}
}

// TestBeforeTheFirstSweep nothing had been told, and it cannot be told by
// which rules it would have been judged.
func TestBeforeTheFirstSweep(t *testing.T) {
	opt := remembered(t, orderly())
	for at, want := range map[time.Time]string{
		morning.Add(-time.Minute):   "2 entries of the journal",
		morning.Add(-2 * time.Hour): "NOTHING YET. The journal begins on Wed 25 Nov 2026 08:00:00 UTC",
	} {
		c := checkedAt(t, opt, at)
		if text := textOf(t, c); c.Worst() != compliance.CannotTell || !strings.Contains(text, want) || !strings.Contains(text, "What was told by then: nothing") {
			t.Errorf("%s: %s", c.Worst(), text)
		}
	}
}

// TestQuestionsWithoutAPast are refused.
func TestQuestionsWithoutAPast(t *testing.T) {
	opt := remembered(t, orderly())
	if _, err := Check(t.Context(), opt, Question{KnownAt: opt.Clock().Add(time.Microsecond)}); !errors.Is(err, ErrNotYet) {
		t.Errorf("in the future: %v", err)
	}
	if _, err := Check(t.Context(), opt, Question{KnownAt: morning, Demo: "small"}); !errors.Is(err, ErrNoJournal) {
		t.Errorf("of a demo house: %v", err)
	}
}
