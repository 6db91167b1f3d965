package compliance

import (
	"strings"
	"testing"

	"antidotary/inventory/day"
)

const casePack = `format: 1
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
    params: {class: moss-permit, renewal: {lead: 30 days}}
tests:
  - name: thirty days before the end
    source: by-law 3, counted by hand
    day: 2026-06-01
    facts:
      law: xx/moss/town
      people: [{name: Ada Fern, roles: [keeper]}]
      species:
        - {name: Naja kaouthia, venomous: true}
        - {name: Naja nivea}
      animals:
        - {name: A, species: Naja kaouthia, count: 2}
        - {name: B, species: Naja nivea}
        - {name: C, species: Naja kaouthia, left: 2026-05-01}
      papers:
        - {number: P, class: moss-permit, taxa: [Naja kaouthia], max: 2, from: 2026-01-01, expires: 2026-12-31, renewable: true}
    expect:
      - {requirement: paper.moss, subject: animal A, standing: in order, state: in-force, by: 2026-12-01, legal: 2026-12-01}
      - {requirement: paper.moss, subject: animal A-2, standing: in order, rule: moss.permit}
      - {requirement: paper.moss, subject: animal B, standing: cannot tell, state: scope-unknown}
      - {requirement: paper.moss, subject: animal C, standing: not applicable}
      - {requirement: paper.other, subject: person Ada Fern, standing: not applicable}
`

func runCases(t *testing.T, text string) []CaseResult {
	t.Helper()
	p, err := ReadPack("moss.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	b := &Rulebook{Holidays: day.Embedded(), Packs: []*Pack{p}}
	if mistakes := b.settle(); len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	return b.RunCases(p)
}

func TestAPacksOwnTestsAreJudged(t *testing.T) {
	for _, r := range runCases(t, casePack) {
		if !r.Holds() || len(r.Answers) != 5 {
			t.Errorf("%s: %q %+v", r.Case.Name, r.Wrong, r.Answers)
		}
	}
}

// TestAPacksTestSeesEachMistake: whatever is expected otherwise, or is so
// otherwise, is told by the name of its field.
func TestAPacksTestSeesEachMistake(t *testing.T) {
	for _, c := range []struct{ name, from, to, want string }{
		{"another standing", "standing: in order, state: in-force", "standing: out of order, state: in-force", "standing"},
		{"another state", "state: in-force", "state: lapsed", "state"},
		{"another day to act", "by: 2026-12-01", "by: 2026-12-02", "by"},
		{"another last day", "legal: 2026-12-01", "legal: 2026-11-30", "legal"},
		{"another lead in the rule", "lead: 30 days", "lead: 31 days", "by legal"},
		{"another end", "expires: 2026-12-31", "expires: 2026-05-31", "standing state by legal"},
		{"another law", "law: xx/moss/town", "law: xx", "standing state by legal"},
		{"a rule that is not there", "rule: moss.permit", "rule: moss.other", "standing"},
		{"lists that nobody keeps", "law: xx/moss/town", "law: xx/moss/town\n      lists: none", "standing state by legal"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(casePack, c.from, c.to, 1)
			if text == casePack {
				t.Fatalf("%q is not in the pack", c.from)
			}
			var differs []string
			for _, r := range runCases(t, text) {
				for _, a := range r.Answers {
					if len(differs) == 0 {
						differs = a.Differs
					}
				}
			}
			if got := strings.Join(differs, " "); got != c.want {
				t.Errorf("differs in %q, want %q", got, c.want)
			}
		})
	}
}

func TestAPacksTestNeedsThePacksThatItNames(t *testing.T) {
	r := runCases(t, strings.Replace(casePack, "    day: 2026-06-01", "    day: 2026-06-01\n    with: [fern]", 1))
	if r[0].Holds() || !strings.Contains(r[0].Wrong, `no pack "fern"`) {
		t.Errorf("%+v", r[0])
	}
}

// TestCaseMistakes: what a test says of what is not there is told with its
// place.
func TestCaseMistakes(t *testing.T) {
	for _, c := range []struct{ name, from, to, want string }{
		{"an unknown species", "species: Naja kaouthia, count", "species: Naja naja, count", "among the species"},
		{"an unknown animal", "subject: animal C", "subject: animal D", "no animal"},
		{"a subject that is none", "subject: animal C", "subject: snake C", "not a subject"},
		{"a place that is not there", "subject: animal C", "subject: place shed", "no place"},
		{"an unknown holder", "class: moss-permit, taxa", "class: moss-permit, holder: Bo, taxa", "among the people"},
		{"an unknown role", "roles: [keeper]", "roles: [janitor]", "not a role"},
		{"half a name", "{name: Naja nivea}", "{name: Naja}", "scientific name"},
		{"a zone that is none", "law: xx/moss/town", "law: xx/moss/town\n      zone: Moss", "zone"},
		{"an end before the beginning", "expires: 2026-12-31", "expires: 2025-12-31", "before the paper begins"},
		{"a misspelt fact", "papers:", "permits:", "not a key"},
		{"a standing that is none", "standing: cannot tell", "standing: unsure", "cannot tell"},
		{"two of one name", "tests:\n", "tests:\n  - {name: thirty days before the end, source: x, day: 2026-01-01, facts: {}, expect: [{requirement: x, subject: site, standing: in order}]}\n", "another test"},
	} {
		text := strings.Replace(casePack, c.from, c.to, 1)
		if text == casePack {
			t.Fatalf("%q is not in the pack", c.from)
		}
		_, err := ReadPack("p.yaml", []byte(text))
		if err == nil || !strings.Contains(err.Error(), c.want) || !inPlace.MatchString(err.Error()) {
			t.Errorf("%s: %v; want %q", c.name, err, c.want)
		}
	}
}

// TestAPacksTestOfInsuranceBeforeThePermit: an invented district takes no
// application without two weeks of insurance, and calls the permit void on
// days without it.
func TestAPacksTestOfInsuranceBeforeThePermit(t *testing.T) {
	head, _, _ := strings.Cut(casePack, "tests:\n")
	head = replaced(head, "renewal: {lead: 30 days}", "renewal: {lead: 30 days}, requires: [{class: liability-cover, lead: 2 weeks}, {class: liability-cover, at: throughout, citation: Moss by-law 4}]")
	const facts = `
    facts:
      law: xx/moss
      species: [{name: Naja kaouthia, venomous: true}]
      animals: [{name: A, species: Naja kaouthia}]
      papers:
        - {number: P, class: moss-permit, taxa: [any], from: 2026-01-01, expires: 2026-12-31, renewable: true}
        - {number: L, class: liability-cover, place: anywhere, from: 2026-01-01, expires: 2026-11-18}
    expect:
`
	text := head + `tests:
  - name: The insurance ends within the two weeks before the first of December
    source: by-law 3, counted by hand
    day: 2026-06-01` + facts + `      - {requirement: paper.moss, subject: animal A, standing: in order, state: in-force, by: 2026-11-18}
  - name: The day after
    source: by-law 4
    day: 2026-11-19` + facts + `      - {requirement: paper.moss, subject: animal A, standing: out of order, state: prerequisite-missing}
`
	for _, r := range runCases(t, text) {
		if !r.Holds() {
			t.Errorf("%s: %q %+v", r.Case.Name, r.Wrong, r.Answers)
		}
	}
}
