package deploy

import (
	"fmt"
	"testing"
)

// TestTheShippedPacksHoldTheirOwnTests: what the text of law says of each
// case, judged by the real judging.
func TestTheShippedPacksHoldTheirOwnTests(t *testing.T) {
	b := book(t)
	for _, p := range b.Packs {
		if len(p.Cases) == 0 && len(p.Rules) > 0 {
			t.Errorf("the pack %s has no test", p.Name)
		}
		asked := make(map[string]bool)
		for i, r := range b.RunCases(p) {
			if r.Wrong != "" {
				t.Errorf("%s: %s: %s", p.Name, r.Case.Name, r.Wrong)
			}
			for _, a := range r.Answers {
				asked[a.Want.Requirement] = true
				if len(a.Differs) > 0 {
					t.Errorf("%s: %s (%s): %s of %s differs in %v: %v", p.Name, r.Case.Name, a.Want.Where, a.Want.Requirement, a.Want.Subject, a.Differs,
						fmt.Sprintf("%s %s by %s legal %s", a.Got.Standing, a.Got.State, a.Got.Step.By, a.Got.Step.Legal))
				}
			}
			if i < len(p.Cases) && p.Cases[i].Source == "" {
				t.Errorf("%s: %s names no source", p.Name, r.Case.Name)
			}
		}
		for _, r := range p.Rules {
			if !asked[r.Requirement] {
				t.Errorf("no test of the pack %s expects anything of %s", p.Name, r.Requirement)
			}
		}
	}
}
