package deploy

import (
	"io/fs"
	"slices"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func book(t *testing.T) *compliance.Rulebook {
	t.Helper()
	b, err := compliance.ReadRulebook(day.Embedded(), Rules())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestEveryPackIsRead(t *testing.T) {
	files, err := fs.Glob(Rules(), "*")
	if err != nil {
		t.Fatal(err)
	}
	b := book(t)
	if len(b.Packs) != len(files) || len(files) < 4 {
		t.Fatalf("%d packs of the files %v", len(b.Packs), files)
	}
	for _, p := range b.Packs {
		if len(p.Rules) == 0 && p.Ladder == nil {
			t.Errorf("the pack %s has no rule and no ladder", p.Name)
		}
		if p.ReviewBy <= p.ReadOn || p.Edition == "" {
			t.Errorf("the pack %s names no edition, or a review before the reading", p.Name)
		}
	}
}

func TestNothingFromMemoryIsShippedAsLaw(t *testing.T) {
	firm := []inventory.Certainty{inventory.Read, inventory.Secondary, inventory.Derived}
	for _, r := range book(t).Rules {
		switch {
		case r.Layer != compliance.Law:
		case !slices.Contains(firm, r.Citation.Certainty):
			t.Errorf("%s is law with certainty %s", r.ID, r.Citation.Certainty)
		case r.Citation.ReadOn.IsZero() || r.Citation.ReadOn > r.Pack.ReadOn:
			t.Errorf("%s: its citation was read on %q, its pack on %s", r.ID, r.Citation.ReadOn, r.Pack.ReadOn)
		}
	}
}

// What nobody has read says so itself, and not by a letter alone.
func TestGuidanceFromMemorySaysSo(t *testing.T) {
	for _, r := range book(t).Rules {
		said := strings.Contains(r.Citation.Text, "no source") || strings.Contains(r.Citation.Text, "from memory")
		if (r.Citation.Certainty == inventory.Memory) != said {
			t.Errorf("%s: certainty %s, cited as %q", r.ID, r.Citation.Certainty, r.Citation.Text)
		}
	}
}

func TestRulesAreNamedForTheirArea(t *testing.T) {
	for _, r := range book(t).Rules {
		want := "guidance."
		if r.Layer == compliance.Law {
			want = strings.ReplaceAll(r.Area, "/", ".") + "."
		}
		if !strings.HasPrefix(r.ID, want) || r.Pack.Name+"." != want {
			t.Errorf("%s is in the pack %s: want both to begin with %s", r.ID, r.Pack.Name, want)
		}
	}
}

func TestTitlesAndConsequencesAreSentencesForAMail(t *testing.T) {
	for _, r := range book(t).Rules {
		if strings.HasSuffix(r.Title, ".") || strings.ToUpper(r.Title[:1]) != r.Title[:1] || len(r.Title) > 90 {
			t.Errorf("%s: title %q", r.ID, r.Title)
		}
		if !strings.HasSuffix(r.Consequence, ".") || len(r.Consequence) < 20 {
			t.Errorf("%s: consequence %q", r.ID, r.Consequence)
		}
	}
}

func TestPacksBeginWithABanner(t *testing.T) {
	files, err := fs.Glob(Rules(), "*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		text, err := fs.ReadFile(Rules(), name)
		if err != nil {
			t.Fatal(err)
		}
		head, _, _ := strings.Cut(string(text), "\nformat:")
		if !strings.HasPrefix(head, "# Example for checking against the law in force; not legal advice") {
			t.Errorf("%s does not begin by saying that it is an example", name)
		}
		for _, want := range []string{"Covers:", "Does not cover:"} {
			if !strings.Contains(strings.ReplaceAll(head, "\n# ", " "), want) {
				t.Errorf("%s does not say %q at its head", name, want)
			}
		}
	}
}

// unshown are the rules of places with sites in the demo that bind nothing in
// either demo house, and why. Rules of other places bind nothing there, ever.
var unshown = map[string]string{
	"gb.eaw.zoo-licence": "the houses' sites in England are private; see TestZooLicence",
}

// above gives the place that contains a place, and none of a country.
func above(path string) string { return path[:max(strings.LastIndex(path, "/"), 0)] }

func TestEveryRuleBindsSomethingInTheDemo(t *testing.T) {
	b := book(t)
	today := day.MustParse("2026-11-25")
	bound, shown := make(map[string]bool), make(map[string]bool) // rules; places with all that contain them
	for _, house := range []compliance.Batch{demo.House(today, b.Holidays), demo.Small(today, b.Holidays)} {
		s, err := house.Apply(&compliance.Snapshot{})
		if err != nil {
			t.Fatal(err)
		}
		for site := range s.Sites.All() {
			for path := inventory.LineOf("", site.Jurisdiction).At(today); path != ""; path = above(path) {
				shown[path] = true
			}
		}
		for _, j := range compliance.Evaluate(b, s, compliance.Ask{On: today}).Judgements {
			for _, r := range j.Rules {
				bound[r.Rule.ID] = true
			}
		}
	}
	for _, r := range b.Rules {
		why, listed := unshown[r.ID]
		elsewhere := r.Area != "" && !shown[r.Area]
		if bound[r.ID] == (listed || elsewhere) {
			t.Errorf("%s: binds %v, listed as unshown %q, of a place without a site in the demo %v", r.ID, bound[r.ID], why, elsewhere)
		}
	}
}
