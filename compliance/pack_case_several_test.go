package compliance

import (
	"os"
	"slices"
	"strings"
	"testing"
)

// severalPack asks of each event, and of what a label carries.
const severalPack = `format: 1
pack: moss
title: Moss
layer: law
jurisdiction: xx/moss
rules:
  - id: moss.bite
    requirement: notice.bite
    title: A bite is told
    consequence: It is unlawful.
    severity: serious
    owner: administrator
    subject: site
    citation: {text: Moss by-law 7, read_on: 2026-01-01, certainty: R}
    kind: notice
    params: {events: [event.bite], told: notice.bite, within: 24 hours}
  - id: moss.escape
    requirement: notice.escape
    title: An escape is told
    consequence: It is unlawful.
    severity: serious
    owner: administrator
    subject: animal
    citation: {text: Moss by-law 7, read_on: 2026-01-01, certainty: R}
    kind: notice
    params: {animal_events: [escape], told: notice.escape, within: 2 days}
  - id: moss.label
    requirement: label.moss
    title: A label is whole
    consequence: It is unlawful.
    severity: serious
    owner: administrator
    subject: animal
    citation: {text: Moss by-law 9, read_on: 2026-01-01, certainty: R}
    kind: wording
    params: {checked: label.checked, fields: [species, number]}
tests:
  - name: on the third of August
    source: by-laws 7 and 9, counted on a calendar
    day: 2026-08-05
    facts:
      law: xx/moss
      zone: Europe/London
      species: [{name: Naja kaouthia, venomous: true}]
      animals:
        - {name: A, species: Naja kaouthia}
        - {name: B, species: Naja kaouthia, left: 2026-08-02, how: escape}
      done:
        - {what: event.bite, on: 2026-08-04, at: "20:15"}
        - {what: label.checked, subject: animal A, on: 2026-08-03, fields: [species, number, antivenom]}
    expect:
      - {requirement: notice.bite, subject: site, occurrence: event.bite 2026-08-04, standing: in order, by: 2026-08-05}
      - {requirement: notice.escape, subject: animal B, occurrence: escape 2026-08-02, standing: out of order, legal: 2026-08-04}
      - {requirement: label.moss, subject: animal A, standing: in order, state: carries-all}
`

// TestATestSaysWhichOfSeveral: each event is asked about by itself, and what
// a label carries and when something was is a fact like others.
func TestATestSaysWhichOfSeveral(t *testing.T) {
	text := strings.Replace(severalPack, "carries-all", string(WordingComplete), 1)
	for _, r := range runCases(t, text) {
		if !r.Holds() || len(r.Answers) != 3 {
			t.Errorf("%s: %q %+v", r.Case.Name, r.Wrong, r.Answers)
		}
	}
	for _, c := range []struct{ name, from, to, differs string }{
		{"a bite of which the day is over at noon", `on: 2026-08-04, at: "20:15"`, `on: 2026-08-04, at: "12:30"`, "standing"}, // judged at noon in UTC, 13:00 in London
		{"a bite of which only the day is known", `, at: "20:15"`, "", "standing by"},
		{"a label that lacks one", "fields: [species, number, antivenom]", "fields: [species]", "standing state"},
		{"a label of which nobody wrote what it carries", ", fields: [species, number, antivenom]", "", "standing state"},
		{"one that was lent", "how: escape", "how: loan", "standing legal"},
	} {
		altered := strings.Replace(text, c.from, c.to, 1)
		if altered == text {
			t.Fatalf("%q is not in the pack", c.from)
		}
		var differs []string
		for _, a := range runCases(t, altered)[0].Answers {
			differs = append(differs, a.Differs...)
		}
		if strings.Join(differs, " ") != c.differs {
			t.Errorf("%s: differs in %q, want %q", c.name, differs, c.differs)
		}
	}
}

// TestAnExpectationThatNamesNoOccurrence is told which there are, and does not
// hold because nothing is asked without one.
func TestAnExpectationThatNamesNoOccurrence(t *testing.T) {
	text := strings.Replace(severalPack, ", occurrence: event.bite 2026-08-04, standing: in order, by: 2026-08-05", ", standing: not applicable", 1)
	a := runCases(t, text)[0].Answers[0]
	if !slices.Equal(a.Differs, []string{"occurrence"}) || !slices.Equal(a.Others, []string{"event.bite 2026-08-04"}) {
		t.Errorf("differs in %q, there are %q", a.Differs, a.Others)
	}
}

func TestMistakesOfWhatWasDone(t *testing.T) {
	for _, c := range []struct{ name, from, to, want string }{
		{"an hour that there is not", `"20:15"`, `"25:15"`, "is not a time of the day"},
		{"an hour that the clock leaves out", `on: 2026-08-04, at: "20:15"`, `on: 2026-03-29, at: "01:30"`, "by the change of the clock in Europe/London"},
		{"an hour that comes twice", `on: 2026-08-04, at: "20:15"`, `on: 2026-10-25, at: "01:30"`, "by the change of the clock in Europe/London"},
		{"a way to leave that is none", "how: escape", "how: flight", "transfer, loan, escape, release"},
		{"how without a day", "left: 2026-08-02, how", "how", "left is missing"},
		{"a field that is no word", "fields: [species, number, antivenom]", "fields: [The Species]", "fields"},
		{"a place that nothing makes", "subject: animal A, on", "subject: place E1, on", "a place is where antivenom is kept: it is made by a row of facts.places, or by its name under place in a row of facts.vials"},
	} {
		text := strings.Replace(severalPack, c.from, c.to, 1)
		if text == severalPack {
			t.Fatalf("%q is not in the pack", c.from)
		}
		_, err := ReadPack("p.yaml", []byte(text))
		if err == nil || !strings.Contains(err.Error(), c.want) || !inPlace.MatchString(err.Error()) {
			t.Errorf("%s: %v; want %q", c.name, err, c.want)
		}
	}
}

// TestAWholeDistrict holds every test of a pack that an administrator of an
// invented district wrote with the documentation alone.
func TestAWholeDistrict(t *testing.T) {
	text, err := os.ReadFile("testdata/quillmoor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	results := runCases(t, string(text))
	for _, r := range results {
		if !r.Holds() {
			t.Errorf("%s: %q %+v", r.Case.Name, r.Wrong, r.Answers)
		}
	}
	if len(results) != 13 {
		t.Errorf("%d tests", len(results))
	}
}
