package lint_test

import (
	"os"
	"strings"
	"testing"

	"antidotary/compliance/lint"
)

func quillmoor(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("../testdata/quillmoor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestAWholeDistrictIsSound: a pack of every kind that a district asks has no
// mistake, and only the notes that its novelty gives: nobody speaks for what is
// above it, and its classes of paper are its own. That nothing of the kind ever
// happened in the demo house is no fault of a scope.
func TestAWholeDistrictIsSound(t *testing.T) {
	mistakes, notes := check(t, lint.File{Name: "p.yaml", Text: quillmoor(t), Asked: true})
	if len(mistakes) > 0 {
		t.Errorf("mistakes %s", strings.Join(mistakes, "\n"))
	}
	for _, n := range notes {
		if !strings.Contains(n, "no law pack speaks for") && !strings.Contains(n, "as it should be for a new one") {
			t.Errorf("note %s", n)
		}
	}
}

// TestSlipsInADistrict: each is a mistake at its place, and nothing else is.
func TestSlipsInADistrict(t *testing.T) {
	whole := quillmoor(t)
	for _, c := range []struct{ name, from, to, want string }{
		{"a misspelt key, told once", "consequence: \"Keeping the snake", "consequense: \"Keeping the snake", `did you mean "consequence"?`},
		{"a class that the tests spell otherwise", "params: {class: quillmoor-licence,", "params: {class: quillmor-licence,", `"quillmor-licence", and the tests of this pack have quillmoor-licence`},
		{"a notice that the tests spell otherwise", "told: notice.bite", "told: notice.byte", `"notice.byte", and the tests of this pack have notice.bite`},
		{"an event that the tests spell otherwise", "events: [event.bite]", "events: [event.byte]", "event.bite"},
		{"a genus that the tests spell otherwise", `genus == "Thelotornis"`, `genus == "Thelotornus"`, `did you mean "Thelotornis"?`},
		{"an exemption for nobody", `scope: 'site_use == "research"'`, `scope: 'site_use == "museum"'`, `params.unless[1].scope: is true of nothing: no animal could ever be meant; "museum" is none of`},
		{"an exemption for everybody", `scope: 'site_use == "research"'`, `scope: 'venomous || !venomous'`, "params.unless[1].scope: is true of everything"},
		{"a limit of nothing", `of: venomous}`, `of: 'site_use == "zo"'}`, `params.of: is true of nothing: no holding could ever be meant; "zo" is none of zoo, private, research, trade; did you mean zoo?`},
		{"a place that no test is in", "jurisdiction: veldria/oldmarsh/quillmoor", "jurisdiction: veldira/oldmarsh/quillmoor", `no test of this pack stands within "veldira/oldmarsh/quillmoor", and one stands under "veldria/oldmarsh/quillmoor"`},
		{"a citation of an exemption with keys", `citation: "Dangerous Serpents Ordinance, section 6(2)"`, `citation: {text: "section 6(2)", certainty: R}`, "write here what stands under text"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(whole, c.from, c.to, 1)
			if text == whole {
				t.Fatalf("%q is not in the pack", c.from)
			}
			mistakes, _ := check(t, lint.File{Name: "p.yaml", Text: text, Asked: true})
			if len(mistakes) != 1 || !strings.Contains(mistakes[0], c.want) {
				t.Errorf("it says\n%s\nand not %q alone", strings.Join(mistakes, "\n"), c.want)
			}
		})
	}
}

// TestANewWordInATestIsMeant: what a test of the pack has by this very word is
// no slip of another word in a test.
func TestANewWordInATestIsMeant(t *testing.T) {
	text := strings.Replace(quillmoor(t), "params: {class: quillmoor-licence,", "params: {class: quillmoor-licences,", 1)
	text = strings.Replace(text, "papers: [{number: P1, class: quillmoor-licence,", "papers: [{number: P0, class: quillmoor-licences}, {number: P1, class: quillmoor-licence,", 1)
	if mistakes, _ := check(t, lint.File{Name: "p.yaml", Text: text, Asked: true}); len(mistakes) > 0 {
		t.Errorf("%s", strings.Join(mistakes, "\n"))
	}
}

// TestAHouseThatAsksLess than the law is noted, and one that asks more is not.
func TestAHouseThatAsksLess(t *testing.T) {
	const house = `format: 1
pack: mistral
title: Mistral Reptile House
layer: house
edition: house rules
read_on: 2026-11-01
review_by: 2027-11-01
rules:
  - id: mistral.most
    requirement: number.quillmoor
    title: At most 9 venomous snakes
    consequence: Find a place for some.
    severity: notice
    owner: curator
    subject: site
    citation: {text: House decision, certainty: D}
    kind: limit
    params: {most: 9, of: venomous}
  - id: mistral.drill
    requirement: drill.bite
    title: A bite drill every three months
    consequence: Hold the drill.
    severity: notice
    owner: safety-officer
    subject: site
    citation: {text: House decision, certainty: D}
    kind: recurring
    params: {activity: drill.bite, every: 3 months}
`
	law := lint.File{Name: "law.yaml", Text: quillmoor(t)}
	for _, c := range []struct{ from, to, want string }{
		{"most: 9", "most: 12", ""},
		{"most: 9", "most: 20", "mistral.most params.most: 20 is more than the 12 of quillmoor.most"},
		{"every: 3 months", "every: 25 weeks", ""},
		{"every: 3 months", "every: 1 year", "mistral.drill params.every: 1 year is more than the 6 months of quillmoor.drill"},
	} {
		mistakes, notes := check(t, lint.File{Name: "p.yaml", Text: strings.Replace(house, c.from, c.to, 1), Asked: true}, law)
		all := strings.Join(notes, "\n")
		if len(mistakes) > 0 || strings.Contains(all, "is more than the") != (c.want != "") || !strings.Contains(all, c.want) {
			t.Errorf("%s: mistakes %v; notes %s", c.to, mistakes, all)
		}
	}
}

// TestALabelOfPlaces is noted: an enclosure is no place.
func TestALabelOfPlaces(t *testing.T) {
	whole := quillmoor(t)
	before, label, _ := strings.Cut(whole, "  - id: quillmoor.label\n")
	text := before + "  - id: quillmoor.label\n" + strings.Replace(strings.Replace(label, "subject: animal\n    scope: venomous\n", "subject: place\n", 1), "subject: animal A1, standing: in order}\n\n  - name: A label without", "subject: place fridge, standing: in order}\n\n  - name: A label without", 1)
	mistakes, notes := check(t, lint.File{Name: "p.yaml", Text: text, Asked: true})
	if all := strings.Join(notes, "\n"); len(mistakes) > 0 || !strings.Contains(all, "quillmoor.label subject: a place is where antivenom is kept, and not an enclosure") {
		t.Errorf("mistakes %v; notes %s", mistakes, all)
	}
}
