package ladder

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"antidotary/compliance/strict"
)

// readable is a ladder with every key.
const readable = `
ladder:
  name: readable
  title: A ladder with every key
  citation: {text: "common practice, no source", certainty: M}
  sign_within_days: 14
  hours_per_day: 10
  handling_from: hook
  harmless_at_once: 3
  untimed: doubtful
  review: 2 years
  founding_review: 1 year
  holding: [lead-keeper]
  clear: [head]
  credit: {percent: 50, probation: 10}
  opening: {back_up: 1, below: 1, alone_to: closed, third: [extract], third_from: 1, one_person: false, never_refuse: [look]}
  placing:
    harmless: 1
    by_score: {lowest: 1, low: 1, middle: 2, high: 2, highest: 2}
    floors:
      - {when: spitting, stage: 2}
      - {names: [Elapidae], stage: 2}
  mentor:
    entry: [{held: {stage: 1, for: 2 years}}]
    signs: [head]
    review: 1 year
  stages:
    - {stage: 0, name: None}
    - {stage: 1, name: Slow, entry: [{age: {at_least: 18}}], signs: [mentor, lead-keeper]}
    - stage: 2
      name: Fast
      entry:
        - any:
            - hours: {at_least: 20, animals: venomous, same: family, stage_from: 1, stage_to: 2, task_from: hook, task_to: tube, alone: true, within: 2 years}
            - all:
                - span: {at_least: 3 months}
                - clean_run: {at_least: 20, names: [Elapidae]}
        - in_force: {what: first-aid}
        - did: {what: drill, at_least: 2, within: 1 year}
        - none: {of: [incident], within: 24 months}
        - paper: {class: licence, for: 1 year}
      signs: [mentor]
      sign_off: {task: tube, entry: [{clean: {at_least: 5, same: species}}], signs: [mentor]}
      currency: {handled: 90 days, species: 12 months, higher_counts: true, refresher: 3, set_back_after: 12 months, in_force: [first-aid], lately: [{what: drill, within: 1 year}]}
`

// readErr gives what is wrong with a ladder's text.
func readErr(text string) error {
	doc, err := strict.Parse("ladder.yaml", []byte(text))
	if err != nil {
		return err
	}
	Read(doc.Root().Map("ladder"), "1", roles)
	return doc.Err()
}

// TestReadSaysWhatIsWrong: each mistake is told with its line and field, and
// with what is allowed.
func TestReadSaysWhatIsWrong(t *testing.T) {
	if err := readErr(readable); err != nil {
		t.Fatal(err)
	}
	place := regexp.MustCompile(`^ladder\.yaml:(\d+):\d+: `)
	for _, c := range []struct{ was, is, field, allowed string }{
		{"name: readable", "nam: readable", "ladder.nam", "did you mean"},
		{"name: readable", "name: \"\"", "ladder.name", "text"},
		{"certainty: M", "certainty: Z", "ladder.citation.certainty", "R, R2, M, D"},
		{"sign_within_days: 14", "sign_within_days: 400", "ladder.sign_within_days", "0 to 365"},
		{"sign_within_days: 14", "sign_within_days: soon", "ladder.sign_within_days", "0 to 365"},
		{"hours_per_day: 10", "hours_per_day: 0", "ladder.hours_per_day", "1 to 24"},
		{"handling_from: hook", "handling_from: hooks", "ladder.handling_from", "look, closed, hook, tube, restrain, extract, pack, recapture"},
		{"harmless_at_once: 3", "harmless_at_once: 0", "ladder.harmless_at_once", "1 to 20"},
		{"untimed: doubtful", "untimed: ignored", "ladder.untimed", "doubtful, trusted"},
		{"review: 2 years", "review: 2 year", "ladder.review", "singular"},
		{"founding_review: 1 year", "founding_review: yearly", "ladder.founding_review", "12 months"},
		{"holding: [lead-keeper]", "holding: [mentor]", "ladder.holding[1]", "head, lead-keeper"},
		{"clear: [head]", "clear: [vet]", "ladder.clear[1]", "head, lead-keeper"},
		{"percent: 50", "percent: 101", "ladder.credit.percent", "0 to 100"},
		{"probation: 10", "probation: -1", "ladder.credit.probation", "0 to 1000"},
		{"back_up: 1", "back_up: 3", "ladder.opening.back_up", "highest stage, 2"},
		{"third_from: 1", "third_from: 3", "ladder.opening.third_from", "highest stage, 2"},
		{"alone_to: closed", "alone_to: shut", "ladder.opening.alone_to", "closed"},
		{"third: [extract]", "third: [milk]", "ladder.opening.third[1]", "extract"},
		{"never_refuse: [look]", "never_refuse: [see]", "ladder.opening.never_refuse[1]", "look"},
		{"one_person: false", "one_person: no", "ladder.opening.one_person", "true or false"},
		{"harmless: 1", "harmless: 3", "ladder.placing.harmless", "highest stage, 2"},
		{`middle: 2`, `middle: 0`, "ladder.placing.by_score.middle", "lower than that of low"},
		{`highest: 2`, `highest: 3`, "ladder.placing.by_score.highest", "highest stage, 2"},
		{`, highest: 2`, ``, "ladder.placing.by_score.highest", "missing"},
		{"when: spitting", "when: biting", "ladder.placing.floors[1].when", "no-antivenom, spitting, arboreal, exotic"},
		{"{when: spitting, stage: 2}", "{stage: 2}", "ladder.placing.floors[1]", "when or names"},
		{"{when: spitting, stage: 2}", "{when: spitting, names: [Naja], stage: 2}", "ladder.placing.floors[1]", "when or names"},
		{"{names: [Elapidae], stage: 2}", "{names: [Elapidae], stage: 3}", "ladder.placing.floors[2].stage", "highest stage, 2"},
		{"held: {stage: 1", "held: {stage: 3", "ladder.mentor.entry[1].held.stage", "highest stage, 2"},
		{"for: 2 years}", "for: two years}", "ladder.mentor.entry[1].held.for", "12 months"},
		{"    signs: [head]\n    review", "    signs: [boss]\n    review", "ladder.mentor.signs[1]", "mentor, head"},
		{"{stage: 0, name: None}", "{stage: 1, name: None}", "ladder.stages[1].stage", "0 is due"},
		{"name: Slow, ", "", "ladder.stages[2].name", "missing"},
		{"[{age: {at_least: 18}}]", "[{age: {at_least: 0}}]", "ladder.stages[2].entry[1].age.at_least", "1 to 120"},
		{"[{age: {at_least: 18}}]", "[{old: {at_least: 18}}]", "ladder.stages[2].entry[1]", "all, any, h"},
		{"[{age: {at_least: 18}}]", "[{}]", "ladder.stages[2].entry[1]", "all, any, h"},
		{"[{age: {at_least: 18}}]", "[{age: {at_least: 18}, did: {what: drill}}]", "ladder.stages[2].entry[1]", "all, any, h"},
		{"hours: {at_least: 20", "hours: {at_least: 0", "ladder.stages[3].entry[1].any[1].hours.at_least", "1 to 1000000"},
		{"animals: venomous", "animals: snakes", "ladder.stages[3].entry[1].any[1].hours.animals", "harmless, venomous"},
		{"same: family", "same: order", "ladder.stages[3].entry[1].any[1].hours.same", "species, genus, family"},
		{"stage_from: 1", "stage_from: 3", "ladder.stages[3].entry[1].any[1].hours.stage_from", "highest stage, 2"},
		{"stage_to: 2", "stage_to: 3", "ladder.stages[3].entry[1].any[1].hours.stage_to", "highest stage, 2"},
		{"stage_from: 1, stage_to: 2", "stage_from: 2, stage_to: 1", "ladder.stages[3].entry[1].any[1].hours.stage_to", "stage_from"},
		{"task_from: hook, task_to: tube", "task_from: tube, task_to: hook", "ladder.stages[3].entry[1].any[1].hours.task_to", "task_from"},
		{"task_to: tube", "task_to: jar", "ladder.stages[3].entry[1].any[1].hours.task_to", "tube"},
		{"alone: true", "alone: sometimes", "ladder.stages[3].entry[1].any[1].hours.alone", "true or false"},
		{"within: 2 years", "within: 2", "ladder.stages[3].entry[1].any[1].hours.within", "12 months"},
		{"span: {at_least: 3 months}", "span: {at_least: 3}", "ladder.stages[3].entry[1].any[2].all[1].span.at_least", "12 months"},
		{"names: [Elapidae]}", "names: Elapidae}", "ladder.stages[3].entry[1].any[2].all[2].clean_run.names", "list"},
		{"in_force: {what: first-aid}", "in_force: {what: First Aid}", "ladder.stages[3].entry[2].in_force.what", "lower-case"},
		{"did: {what: drill, at_least: 2", "did: {what: drill, at_least: many", "ladder.stages[3].entry[3].did.at_least", "1 to 10000"},
		{"none: {of: [incident]", "none: {of: [Bitten!]", "ladder.stages[3].entry[4].none.of", "lower-case"},
		{"none: {of: [incident]", "none: {of: []", "ladder.stages[3].entry[4].none.of", "one"},
		{"paper: {class: licence", "paper: {kind: licence", "ladder.stages[3].entry[5].paper.kind", "allowed: class, for"},
		{"signs: [mentor]\n      sign_off", "signs: [mentors]\n      sign_off", "ladder.stages[3].signs[1]", "mentor, head"},
		{"sign_off: {task: tube", "sign_off: {task: tubes", "ladder.stages[3].sign_off.task", "tube"},
		{"sign_off: {task: tube", "sign_off: {task: look", "ladder.stages[3].sign_off.task", "closed"},
		{"handled: 90 days, ", "", "ladder.stages[3].currency.set_back_after", "handled"},
		{"refresher: 3", "refresher: 0", "ladder.stages[3].currency.refresher", "1 to 100"},
		{"higher_counts: true", "higher_counts: both", "ladder.stages[3].currency.higher_counts", "true or false"},
		{"in_force: [first-aid], lately", "in_force: [First_Aid], lately", "ladder.stages[3].currency.in_force", "lower-case"},
		{"lately: [{what: drill, within: 1 year}]", "lately: [{what: drill}]", "ladder.stages[3].currency.lately[1].within", "missing"},
	} {
		if strings.Count(readable, c.was) == 0 {
			t.Fatalf("%q is not in the ladder", c.was)
		}
		err := readErr(strings.Replace(readable, c.was, c.is, 1))
		if err == nil {
			t.Errorf("%q is taken", c.is)
			continue
		}
		line := ""
		for _, l := range strings.Split(err.Error(), "\n") {
			if l = strings.TrimSpace(l); strings.Contains(l, ": "+c.field+": ") && strings.Contains(l, c.allowed) {
				line = l
			}
		}
		if !place.MatchString(line) {
			t.Errorf("%q: %v; %s and %q are to be named", c.is, err, c.field, c.allowed)
		}
	}
	if err := readErr(readable[:strings.Index(readable, "  stages:")] + "  stages: []\n"); err == nil {
		t.Error("a ladder without stages is taken")
	}
}

// FuzzRead: whatever the text, reading it ends, and what is read without a
// complaint can be judged by.
func FuzzRead(f *testing.F) {
	for _, text := range []string{readable, small, plain} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		doc, err := strict.Parse("ladder.yaml", []byte(text))
		if err != nil {
			return
		}
		l := Read(doc.Root().Map("ladder"), "1", roles)
		if doc.Err() != nil {
			return
		}
		for i, s := range l.Stages {
			if s.Number != i {
				t.Fatalf("stage %d is number %d", i, s.Number)
			}
		}
		x := &tale{t: t, ladder: l}
		ann, bob := x.person("ann", roles...), x.person("bob", roles...)
		slow := x.kind("slow", "Slowidae", l.Placing.Of(Traits{}).Most)
		x.founded(ann, "2026-01-01", l.Top(), slow)
		x.act(Authorisation{Person: bob.ID, What: StageGrant, Stage: l.Top(), On: on("2026-01-03"), Mentor: ann.ID})
		x.session(bob, ann, slow, "2026-01-02", "c")
		s := x.judge()
		for d := on("2026-01-01"); d < on("2027-01-01"); d += 30 {
			fmt.Fprint(discard{}, s.May(bob.ID, slow.ID, Hook, d, 0), s.Stages(ann.ID, d))
		}
	})
}

type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }
