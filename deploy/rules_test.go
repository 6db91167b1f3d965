package deploy

import (
	"slices"
	"strings"
	"testing"

	"antidotary/compliance"
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

func TestPacksHaveNoMistake(t *testing.T) {
	b := book(t)
	if len(b.Packs) < 3 || len(b.Rules) < 10 {
		t.Fatalf("read %d packs with %d rules", len(b.Packs), len(b.Rules))
	}
}

func TestNothingFromMemoryIsShippedAsLaw(t *testing.T) {
	firm := []inventory.Certainty{inventory.Read, inventory.Secondary, inventory.Derived}
	for _, r := range book(t).Rules {
		if r.Layer == compliance.Law && !slices.Contains(firm, r.Citation.Certainty) {
			t.Errorf("%s is law with certainty %s", r.ID, r.Citation.Certainty)
		}
	}
}

func TestRulesAreNamedForTheirPack(t *testing.T) {
	for _, r := range book(t).Rules {
		if !strings.HasPrefix(r.ID, r.Pack.Name+".") {
			t.Errorf("%s is in the pack %s", r.ID, r.Pack.Name)
		}
		if r.Pack.ReviewBy <= r.Pack.ReadOn || r.Pack.Edition == "" {
			t.Errorf("%s: its pack names no edition, or a review before the reading", r.ID)
		}
	}
}

func TestPacksBeginWithABanner(t *testing.T) {
	for _, name := range []string{"us.yaml", "gb-eaw.yaml"} {
		text, err := rules.ReadFile("rules/" + name)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"check", "law in force", "Does not cover"} {
			if !strings.Contains(string(text[:800]), want) {
				t.Errorf("%s does not say %q at its head", name, want)
			}
		}
	}
}
