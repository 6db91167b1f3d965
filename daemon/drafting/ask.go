package drafting

import (
	"fmt"
	"slices"
	"strings"

	"antidotary/daemon/asking"
	"antidotary/inventory/day"
)

// Answer goes through all questions: of the pack, then of one rule after the
// other. With flags of several rules, the n-th of each flag is the n-th rule's.
// Where it fails it gives what was answered until then, so that nothing that
// somebody typed is lost.
func Answer(from asking.From, today day.Day) (*Answers, error) {
	a := &Answers{}
	pack, rule := Questions(today)
	for _, q := range pack {
		if err := asking.One(from, a, q, 0, copied); err != nil {
			return a, err
		}
	}
	for n := 0; n == 0 || n < len(from.Given["id"]) || len(from.Given["id"]) == 0 && asking.Another(from, "Is there another rule?"); n++ {
		a.Rules = append(a.Rules, Rule{})
		for _, q := range rule {
			if err := unasked(from, a, q, n); err != nil {
				return a, err
			}
			if err := asking.One(from, a, q, n, copied); err != nil {
				return a, err
			}
		}
	}
	return a, nil
}

// unasked refuses a flag of the rule's own kind that nothing was asked for: of
// a mapping that is left out.
func unasked(from asking.From, a *Answers, q Question, n int) error {
	given := from.Given[q.Flag]
	kind := last(a).value("kind")
	if len(given) == 0 || given[min(n, len(given)-1)] == "" || q.When == nil || q.When(a) || kind == "" || !strings.HasPrefix(q.Flag, kind+"-") {
		return nil
	}
	return fmt.Errorf("--%s: says nothing by itself; give the first of what begins like it too: antidotary rules new --help lists them in order", q.Flag)
}

func copied(a Answers) Answers {
	a.Pack, a.Rules = slices.Clone(a.Pack), slices.Clone(a.Rules)
	return a
}
