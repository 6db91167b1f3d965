package lint_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/compliance/lint"
	"antidotary/daemon/demo"
	"antidotary/inventory/day"
)

var today = day.MustParse("2026-11-28")

// sound is a pack of which nothing is to say but that nobody speaks for the
// country, and that its words are new.
const sound = `format: 1
pack: moss
title: Moss
layer: law
jurisdiction: xx/moss
edition: "2026"
read_on: 2026-01-01
review_by: 2027-01-01
rules:
  - id: moss.permit
    requirement: paper.moss
    title: A permit
    consequence: It is unlawful.
    severity: serious
    owner: administrator
    subject: animal
    scope: venomous
    citation: {text: Moss by-law 3, read_on: 2026-01-01, certainty: R}
    kind: permit
    params: {class: dwa-licence, renewal: {lead: 30 days}}
  - id: moss.drill
    requirement: drill.moss
    title: A drill
    consequence: Nobody knows.
    severity: serious
    owner: administrator
    from: 2026-01-01
    subject: site
    scope: site_use == "zoo"
    citation: {text: Moss by-law 4, read_on: 2026-01-01, certainty: R}
    kind: recurring
    params: {activity: drill.bite, every: 6 months, calendar: US-FED}
tests:
  - name: without a permit
    source: by-law 3
    day: 2026-06-01
    facts: {law: xx/moss, species: [{name: Naja kaouthia, venomous: true}], animals: [{name: A, species: Naja kaouthia}]}
    expect:
      - {requirement: paper.moss, subject: animal A, standing: out of order, state: no-paper}
      - {requirement: drill.moss, subject: site, standing: cannot tell}
`

func houses(t *testing.T) []lint.House {
	t.Helper()
	s, err := demo.House(today, day.Embedded()).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	return []lint.House{{Name: "the demo house", Demo: true, Snapshot: s}}
}

func check(t *testing.T, files ...lint.File) (mistakes, notes []string) {
	t.Helper()
	for _, f := range lint.Check(lint.Input{Files: files, Today: today, Holidays: day.Embedded(), Houses: houses(t)}) {
		if f.Pos.Line < 1 || f.Pos.Column < 1 || f.Message == "" {
			t.Errorf("%v has no place", f)
		}
		if f.Note {
			notes = append(notes, f.String())
		} else {
			mistakes = append(mistakes, f.String())
		}
	}
	return mistakes, notes
}

func TestASoundPackIsSound(t *testing.T) {
	mistakes, notes := check(t, lint.File{Name: "p.yaml", Text: sound, Asked: true})
	if len(mistakes) > 0 || len(notes) != 1 || !strings.Contains(notes[0], "p.yaml:5:15: note: jurisdiction: no law pack speaks for xx") {
		t.Errorf("mistakes %v; notes %v", mistakes, notes)
	}
}

// second is a copy of the sound pack's second rule, altered.
func second(pairs ...string) string {
	_, rest, _ := strings.Cut(sound, "  - id: moss.drill\n")
	rule, _, _ := strings.Cut(rest, "tests:\n")
	return strings.NewReplacer(pairs...).Replace("  - id: moss.drill\n"+rule) + "tests:\n"
}

// TestMistakes: each is found, at its place, in words that say what to do; and
// what is only perhaps one is a note.
func TestMistakes(t *testing.T) {
	for _, c := range []struct{ name, from, to, want string }{
		{"a misspelt key", "consequence: It", "consequense: It", `p.yaml:13:5: rules[1].consequense: is not a key of this mapping; did you mean "consequence"?`},
		{"a misspelt attribute", "scope: venomous", "scope: venomus", `did you mean venomous?`},
		{"no edition", "edition: \"2026\"\n", "", "edition: is missing"},
		{"no reading", "read_on: 2026-01-01\nreview", "review", "read_on: is missing"},
		{"no review", "review_by: 2027-01-01\n", "", "review_by: is missing"},
		{"a citation without certainty", "read_on: 2026-01-01, certainty: R}\n    kind: permit", "read_on: 2026-01-01}\n    kind: permit", "certainty: is missing"},
		{"reversed days", "from: 2026-01-01", "from: 2026-01-01\n    last: 2025-01-01", "must not be before from"},
		{"past review", "review_by: 2027-01-01", "review_by: 2026-11-27", "p.yaml:8:12: review_by: was due on 2026-11-27; read the text again, and if it is unchanged: antidotary rules recheck p.yaml"},
		{"a reading to come", "read_on: 2026-01-01\nreview", "read_on: 2026-12-01\nreview", "p.yaml:7:10: read_on: 2026-12-01 is still to come"},
		{"a review before the reading", "review_by: 2027-01-01", "review_by: 2026-01-01", "is not after the reading"},
		{"law from memory", "certainty: R}\n    kind: permit", "certainty: M}\n    kind: permit", "moss.permit citation.certainty: is M, from memory"},
		{"one id twice", "tests:\n", second(), "p.yaml:33:9: moss.drill id: \"moss.drill\" is the rule at p.yaml:21:5 too, and both are in effect"},
		{"one id twice, one after the other", "from: 2026-01-01\n    subject: site\n    scope: site_use == \"zoo\"\n    citation: {text: Moss by-law 4, read_on: 2026-01-01, certainty: R}\n    kind: recurring\n    params: {activity: drill.bite, every: 6 months, calendar: US-FED}\ntests:\n",
			"last: 2026-01-01\n    subject: site\n    scope: site_use == \"zoo\"\n    citation: {text: Moss by-law 4, read_on: 2026-01-01, certainty: R}\n    kind: recurring\n    params: {activity: drill.bite, every: 6 months, calendar: US-FED}\n" + second("from: 2026-01-01", "from: 2026-06-01"), "needs an id of its own"},
		{"overlapping days of two editions", "tests:\n", second("id: moss.drill", "id: moss.drill.next", "from: 2026-01-01", "from: 2027-01-01"), "p.yaml:39:11: moss.drill.next from: moss.drill.next is in effect from 2027-01-01, and moss.drill, which asks the same, still is; write last: 2026-12-31 in moss.drill"},
		{"one requirement, two kinds", "requirement: drill.moss\n", "requirement: paper.moss\n", `p.yaml:22:18: moss.drill requirement: "paper.moss" is asked by moss.permit at p.yaml:10:5 too, which is of kind permit and not recurring`},
		{"a use that there is not", `site_use == "zoo"`, `site_use == "Zoo"`, `p.yaml:29:12: moss.drill scope: is true of nothing: no site could ever be meant; "Zoo" is none of zoo, private, research, trade; did you mean zoo?`},
		{"a place that is not within the law's", `site_use == "zoo"`, `jurisdiction == "xx/fern"`, "is true of nothing: no site could ever be meant; it is asked only within xx/moss"},
		{"what excludes itself", "scope: venomous", "scope: venomous && !venomous", "is true of nothing"},
		{"what nothing escapes", "scope: venomous", "scope: venomous || !venomous", "is true of everything"},
		{"a species of another genus", "scope: venomous", `scope: species == "Naja nivea" && genus == "Bitis"`, "is true of nothing"},
		{"a family without its capital", "scope: venomous", `scope: family == "elapidae"`, `"elapidae" is written "Elapidae"`},
		{"a calendar that there is not", "calendar: US-FED", "calendar: US-FEB", `there is no calendar "US-FEB"; did you mean US-FED?`},
		{"a test of what nobody asks", "{requirement: paper.moss, subject", "{requirement: paper.mos, subject", `asks for "paper.mos"; did you mean paper.moss?`},

		{"a class that nobody knows", "class: dwa-licence", "class: dwa-license", `p.yaml:20:21: moss.permit params.class: no recorded paper and no other rule knows "dwa-license"; did you mean dwa-licence? If not`},
		{"an event misspelt", "    kind: recurring\n    params: {activity: drill.bite, every: 6 months, calendar: US-FED}", "    kind: notice\n    params: {events: [dril.bite], told: drill.bite, within: 10 days}", `moss.drill params.events: no recorded activity and no other rule knows "dril.bite"; did you mean drill.bite?`},
		{"a prerequisite misspelt", "class: dwa-licence, renewal", "class: dwa-licence, requires: [{class: dwa-license}], renewal", `p.yaml:20:53: moss.permit params.requires[1].class: no recorded paper and no rule knows "dwa-license"; did you mean dwa-licence? If not`},
		{"a prerequisite that nobody knows", "class: dwa-licence, renewal", "class: dwa-licence, requires: [{class: insurance}], renewal", `note: moss.permit params.requires[1].class: no recorded paper and no rule knows "insurance"; record one by this very word`},
		{"a new class", "class: dwa-licence", "class: moss-paper", `note: moss.permit params.class: no recorded paper and no other rule knows "moss-paper"; that is as it should be`},
		{"an activity that nobody knows", "activity: drill.bite", "activity: dril.bite", `did you mean drill.bite?`},
		{"a scope that nothing recorded meets", "scope: venomous", `scope: family == "Hydrophiidae"`, "note: moss.permit scope: is true of none of"},
		{"a species misspelt", "scope: venomous", `scope: species == "Naja kaouthea"`, `did you mean "Naja kaouthia"?`},
		{"no test", "tests:\n", "# tests:\ntests: []\nx", "note: tests: there are none"},
		{"a requirement without a test", "      - {requirement: drill.moss, subject: site, standing: cannot tell}\n", "", "note: tests: none expects anything of drill.moss"},
		{"a gap between editions", "tests:\n", second("id: moss.drill", "id: moss.drill.old", "from: 2026-01-01", "last: 2025-06-30"), "nothing is in effect between the last day of moss.drill.old, 2025-06-30, and the first of moss.drill, 2026-01-01"},
		{"a rule that has ended", "from: 2026-01-01", "last: 2026-06-30", "answers for days until 2026-06-30 only"},
		{"a long time to the review", "review_by: 2027-01-01", "review_by: 2029-01-01", "note: review_by: is more than two years"},
		{"law of no day", "read_on: 2026-01-01, certainty: R}\n    kind: permit", "certainty: R}\n    kind: permit", "says no read_on"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(sound, c.from, c.to, 1)
			if c.name == "no test" {
				text, _, _ = strings.Cut(sound, "tests:\n")
			}
			if text == sound {
				t.Fatalf("%q is not in the pack", c.from)
			}
			mistakes, notes := check(t, lint.File{Name: "p.yaml", Text: text, Asked: true})
			all := strings.Join(append(mistakes, notes...), "\n")
			if !strings.Contains(all, c.want) {
				t.Errorf("it says\n%s\nand not %q", all, c.want)
			}
			if isNote := strings.Contains(c.want, "note: "); isNote && len(mistakes) > 0 {
				t.Errorf("a note alone: %v", mistakes)
			}
		})
	}
}

// TestOthersAreThereForComparison, and are not told of.
func TestOthersAreThereForComparison(t *testing.T) {
	parent := strings.NewReplacer("pack: moss", "pack: xx", "jurisdiction: xx/moss", "jurisdiction: xx", "moss.", "xx.", "paper.moss", "paper.xx", "drill.moss", "drill.xx", "review_by: 2027-01-01", "review_by: 2026-02-01").Replace(sound)
	mistakes, notes := check(t, lint.File{Name: "p.yaml", Text: sound, Asked: true}, lint.File{Name: "xx.yaml", Text: parent}, lint.File{Name: "broken.yaml", Text: "format: 7"})
	if len(mistakes)+len(notes) > 0 {
		t.Errorf("%v %v", mistakes, notes)
	}
	mistakes, _ = check(t, lint.File{Name: "p.yaml", Text: sound}, lint.File{Name: "q.yaml", Text: sound, Asked: true})
	if len(mistakes) < 3 || !strings.Contains(strings.Join(mistakes, "\n"), `q.yaml:2:7: pack: "moss" is the name of p.yaml too`) {
		t.Errorf("the same pack again: %v", mistakes)
	}
}

// TestRingsAcrossPacks are found where both can hold at one place, and told of
// once, in a file that is asked about.
func TestRingsAcrossPacks(t *testing.T) {
	ring := strings.Replace(sound, "class: dwa-licence, renewal", "class: dwa-licence, requires: [{class: zoo-licence}], renewal", 1)
	names := strings.NewReplacer("pack: moss", "pack: fern", "moss.", "fern.", "paper.moss", "paper.fern", "drill.moss", "drill.fern",
		"class: dwa-licence, requires: [{class: zoo-licence}]", "class: zoo-licence, requires: [{class: dwa-licence}]")
	for _, c := range []struct {
		area string
		want int
	}{{"jurisdiction: xx/moss/fern", 1}, {"jurisdiction: xx", 1}, {"jurisdiction: xx/fern", 0}} {
		other := strings.Replace(names.Replace(ring), "jurisdiction: xx/moss", c.area, 1)
		for _, asked := range []bool{true, false} {
			mistakes, _ := check(t, lint.File{Name: "p.yaml", Text: ring, Asked: asked}, lint.File{Name: "q.yaml", Text: other, Asked: true})
			var told []string
			for _, m := range mistakes {
				if strings.Contains(m, "in a ring") {
					told = append(told, m)
				}
			}
			const want = "q.yaml:20:53: fern.permit params.requires[1].class: goes round in a ring with other packs: zoo-licence needs dwa-licence needs zoo-licence, moss.permit at p.yaml:10:5; nobody could ever begin"
			if len(told) != c.want || c.want > 0 && !strings.HasPrefix(told[0], want) {
				t.Errorf("%s: %q", c.area, told)
			}
		}
	}
}

// TestTheShippedPacksHaveNoMistake.
func TestTheShippedPacksHaveNoMistake(t *testing.T) {
	names, err := filepath.Glob("../../deploy/rules/*.yaml")
	if err != nil || len(names) < 4 {
		t.Fatalf("%v, %v", names, err)
	}
	var files []lint.File
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, lint.File{Name: filepath.Base(name), Text: string(text), Asked: true})
	}
	mistakes, notes := check(t, files...)
	if len(mistakes) > 0 {
		t.Errorf("%s", strings.Join(mistakes, "\n"))
	}
	t.Logf("notes:\n%s", strings.Join(notes, "\n"))
}
