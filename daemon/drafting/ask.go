package drafting

import (
	"slices"

	"antidotary/daemon/asking"
	"antidotary/inventory/day"
)

// Answer goes through all questions: of the pack, then of one rule after the
// other. With flags of several rules, the n-th of each flag is the n-th rule's.
func Answer(from asking.From, today day.Day) (*Answers, error) {
	a := &Answers{}
	pack, rule := Questions(today)
	for _, q := range pack {
		if err := asking.One(from, a, q, 0, copied); err != nil {
			return nil, err
		}
	}
	for n := 0; n == 0 || n < len(from.Given["id"]) || len(from.Given["id"]) == 0 && asking.Another(from, "Is there another rule?"); n++ {
		a.Rules = append(a.Rules, Rule{})
		for _, q := range rule {
			if err := asking.One(from, a, q, n, copied); err != nil {
				return nil, err
			}
		}
	}
	return a, nil
}

func copied(a Answers) Answers {
	a.Pack, a.Rules = slices.Clone(a.Pack), slices.Clone(a.Rules)
	return a
}
