package compliance

import (
	"strings"
	"testing"

	"antidotary/inventory/day"
)

// climbPack has a ladder and asks for people by it, and tests itself.
const climbPack = `format: 1
pack: climb
title: Climb
layer: house
edition: "1"
read_on: 2026-01-01
review_by: 2027-01-01
ladder:
  name: climb
  title: Two rungs
  sign_within_days: 10
  hours_per_day: 10
  founding_review: 6 months
  opening: {back_up: 1}
  placing: {harmless: 0, by_score: {lowest: 1, low: 1, middle: 1, high: 2, highest: 2}}
  stages:
    - {stage: 0, name: Ground}
    - {stage: 1, name: One, sign_off: {signs: [head]}, currency: {handled: 30 days}}
    - {stage: 2, name: Two, sign_off: {signs: [head]}, currency: {handled: 30 days}}
rules:
  - id: climb.hands
    requirement: hands
    title: Hands
    consequence: It stays shut.
    severity: serious
    owner: head
    subject: holding
    scope: venomous
    citation: {text: The house, certainty: M}
    kind: authorised
    params: {people: 1, task: hook}
  - id: climb.hours
    requirement: hours
    title: Hours
    consequence: No licence.
    severity: serious
    owner: head
    subject: person
    citation: {text: The house, certainty: M}
    kind: experience
    params: {all: [{hours: {at_least: 3, animals: venomous}}]}
  - id: climb.signature
    requirement: signature
    title: Signatures
    consequence: It does not count.
    severity: notice
    owner: head
    subject: person
    citation: {text: The house, certainty: M}
    kind: signature
    params: {told_days: 14}
tests:
  - name: one is authorised
    source: by hand
    day: 2026-06-01
    facts:
      zone: Europe/London
      people: [{name: Ada Fern}, {name: Bo Lind}]
      species: [{name: Naja naja, venomous: true, hazards: {venom: 4, yield: 4, speed: 4, reach: 3, spitting: false, arboreal: false}}]
      animals: [{name: A, species: Naja naja}]
      authorised: [{person: Ada Fern, species: Naja naja, task: tube, on: 2026-05-10, teaches: true}, {person: Bo Lind, species: Naja naja, on: 2025-06-01, until: 2025-07-01}]
      sessions:
        - {trainee: Bo Lind, mentor: Ada Fern, species: Naja naja, task: look, on: 2026-05-20, from: "09:00", to: "12:00", signed: 2026-05-30}
        - {trainee: Bo Lind, mentor: Ada Fern, species: Naja naja, on: 2026-05-28}
        - {trainee: Ada Fern, mentor: nobody, species: Naja naja, on: 2026-05-15, results: cp}
    expect:
      - {requirement: hands, subject: species Naja naja, standing: in order, by: 2026-06-14}
      - {requirement: hours, subject: person Bo Lind, standing: in order}
      - {requirement: signature, subject: person Bo Lind, occurrence: "2026-05-20", standing: in order, state: signature-given}
      - {requirement: signature, subject: person Bo Lind, occurrence: "2026-05-28", standing: in order, state: signature-waits, by: 2026-06-07}
      - {requirement: signature, subject: person Ada Fern, standing: not applicable}
`

func runClimb(t *testing.T, text string) []CaseResult {
	t.Helper()
	p, err := ReadPack("climb.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	b := &Rulebook{Holidays: day.Embedded(), Packs: []*Pack{p}}
	if mistakes := b.settle(); len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	return b.RunCases(p)
}

// TestAPacksTestOfHandling: two grants on one stage, one signed off for the
// tube; 15 May and 30 days; three hours by the clock of London.
func TestAPacksTestOfHandling(t *testing.T) {
	for _, r := range runClimb(t, climbPack) {
		if !r.Holds() {
			t.Errorf("%s: %q %+v", r.Case.Name, r.Wrong, r.Answers)
		}
	}
}

// TestEachFactOfHandlingIsRead: whatever is changed in it changes the answers
// that rest on it, and no others.
func TestEachFactOfHandlingIsRead(t *testing.T) {
	for _, c := range []struct{ name, from, to, want string }{
		{"a lower task", "task: tube", "task: closed", "hands"},
		{"an end before the day", "on: 2026-05-10, teaches", "on: 2026-05-10, until: 2026-05-31, teaches", "hands"},
		{"a review before the day", "on: 2026-05-10, teaches", "on: 2025-11-20, teaches", "hands hours"},
		{"a mentor who may not teach", ", teaches: true", "", "hours"},
		{"a mentor who is not known", "mentor: Ada Fern, species: Naja naja, task: look", "mentor: unknown, species: Naja naja, task: look", "hours"},
		{"a session of which nothing says who watched", "mentor: Ada Fern, species: Naja naja, task: look", "species: Naja naja, task: look", "hours"},
		{"a shorter session", `to: "12:00"`, `to: "11:59"`, "hours"},
		{"another result at the end", "results: cp", "results: cc", ""},
		{"no handling since", "on: 2026-05-15, results", "on: 2026-04-15, results", "hands"},
		{"signed a day later", "signed: 2026-05-30", "signed: 2026-05-31", "hours signature"},
		{"another stage", "venom: 4, yield: 4, speed: 4", "venom: 5, yield: 1, speed: 1", ""},
		{"hazards that are not all known", "venom: 4, yield: 4, speed: 4, reach: 3, ", "speed: 1, ", "hands"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var differs []string
			for _, r := range runClimb(t, replaced(climbPack, c.from, c.to)) {
				if r.Wrong != "" {
					t.Fatal(r.Wrong)
				}
				for _, a := range r.Answers {
					if len(a.Differs) > 0 {
						differs = append(differs, a.Want.Requirement)
					}
				}
			}
			if got := strings.Join(differs, " "); got != c.want {
				t.Errorf("differs in %q, want %q", got, c.want)
			}
		})
	}
}

// TestHandlingNeedsALadder: without one nothing says what a grant is for.
func TestHandlingNeedsALadder(t *testing.T) {
	begin, end := strings.Index(climbPack, "ladder:\n"), strings.Index(climbPack, "rules:\n")
	r := runClimb(t, climbPack[:begin]+climbPack[end:])
	if want := "facts.authorised and facts.sessions: no pack of this test has a ladder for its law"; r[0].Holds() || !strings.Contains(r[0].Wrong, want) {
		t.Errorf("%q", r[0].Wrong)
	}
}

func TestHandlingMistakes(t *testing.T) {
	for _, c := range []struct{ name, from, to, want string }{
		{"an unknown person", "authorised: [{person: Ada Fern", "authorised: [{person: Ada", `"Ada" is not among the people`},
		{"an unknown species", "species: Naja naja, task: tube", "species: Naja nivea, task: tube", "among the species of this test; add it there"},
		{"no day", "task: tube, on: 2026-05-10", "task: tube", "on: is missing"},
		{"a task that is none", "task: tube", "task: juggle", "is not a task"},
		{"a task that needs no sign-off", "task: tube", "task: look", "needs no sign-off"},
		{"an end before the beginning", "until: 2025-07-01", "until: 2025-05-01", "is before 2025-06-01"},
		{"a misspelt key", "teaches: true", "teacher: true", "not a key"},
		{"an unknown trainee", "- {trainee: Bo Lind, mentor: Ada Fern, species: Naja naja, on", "- {trainee: Bo, mentor: Ada Fern, species: Naja naja, on", `"Bo" is not among the people`},
		{"an unknown mentor", "mentor: Ada Fern, species: Naja naja, on", "mentor: Ada, species: Naja naja, on", `"Ada" is not among the people`},
		{"a mentor of oneself", "mentor: Ada Fern, species: Naja naja, on", "mentor: Bo Lind, species: Naja naja, on", "nobody signs for himself"},
		{"results that are none", "results: cp", "results: cx", "write a letter for each repetition"},
		{"an end before it began", `to: "12:00"`, `to: "08:00"`, "after it began"},
		{"no time of the day", `to: "12:00"`, `to: noon`, "is not a time of the day"},
		{"a signature of nobody", "mentor: nobody, species: Naja naja, on: 2026-05-15", "mentor: nobody, species: Naja naja, signed: 2026-05-16, on: 2026-05-15", "must not be set where nobody watched"},
		{"a signature before the session", "signed: 2026-05-30", "signed: 2026-05-10", "must not be before the session"},
		{"a hazard of six", "venom: 4", "venom: 6", "hazards.venom"},
		{"a misspelt hazard", "venom: 4", "poison: 4", "not a key"},
	} {
		_, err := ReadPack("p.yaml", []byte(replaced(climbPack, c.from, c.to)))
		if err == nil || !strings.Contains(err.Error(), c.want) || !inPlace.MatchString(err.Error()) {
			t.Errorf("%s: %v; want %q", c.name, err, c.want)
		}
	}
}
