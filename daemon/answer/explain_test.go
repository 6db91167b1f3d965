package answer

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"antidotary/inventory"
)

// Of what no rule asks anything, the duties that turn on it are told: a
// paper's animals, the list's site, the species that a lot is for.
func TestExplainTellsWhatTurnsOnASubject(t *testing.T) {
	r := asked(t, 0, inventory.Assumptions{})
	for _, c := range []struct {
		name, subject string
		rests         bool
		of            []string
	}{
		{"a duty of its own", "LH-014", false, nil},
		{"a paper", "WP-102", true, []string{"animal LH-019", "animal LH-020"}},
		{"a lot", "DEMO-T1", true, []string{"Naja kaouthia at Larkspur House", "Ophiophagus hannah at Larkspur House"}},
		{"a lot on a list that is stale", "DEMO-V1", true, []string{"Vipera berus at Wren Cottage"}},
		{"nothing", "Willa Gorsebank", false, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			ref, err := Find(r, c.subject)
			if err != nil {
				t.Fatal(err)
			}
			e := NewExplain(r, ref)
			var of []string
			for _, d := range e.Duties {
				of = append(of, d.Of...)
			}
			slices.Sort(of)
			if diff := cmp.Diff(c.of, of); diff != "" || e.RestsOn != c.rests {
				t.Errorf("rests on it: %t; whose (-want +got):\n%s", e.RestsOn, diff)
			}
			if none := strings.Contains(written(t, e), "That is not the same as in order"); none != (len(e.Duties) == 0) {
				t.Errorf("%d duties, and says that there is none: %t", len(e.Duties), none)
			}
		})
	}
}

// Exactly one rule binds each duty, and each rule names its source.
func TestExplainNamesTheRuleThatBinds(t *testing.T) {
	r := asked(t, 0, inventory.Assumptions{})
	seen := make(map[inventory.Ref]bool)
	for _, j := range r.Judgements {
		if seen[j.Key.Subject] {
			continue
		}
		seen[j.Key.Subject] = true
		for _, d := range NewExplain(r, j.Key.Subject).Duties {
			binds := 0
			for _, rule := range d.Rules {
				if rule.Binds {
					binds++
				}
				if rule.Citation == "" || rule.Certainty == "" {
					t.Errorf("%s names no source or certainty", rule.ID)
				}
			}
			if binds != 1 {
				t.Errorf("%s of %s: %d rules bind", d.Requirement, r.View.NameOf(j.Key.Subject), binds)
			}
		}
	}
}
