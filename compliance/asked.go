package compliance

import (
	"maps"
	"slices"
)

// Activities lists the words of the activities that rules ask for or about,
// sorted.
func (b *Rulebook) Activities() []string {
	words := make(map[string]bool)
	for _, r := range b.Rules {
		if what := r.Activity(); what != "" {
			words[what] = true
		}
		if k, ok := r.Kind.(tellsOf); ok {
			for _, what := range k.activities() {
				words[what] = true
			}
			delete(words, "")
		}
	}
	return slices.Sorted(maps.Keys(words))
}

// Activity gives the word of the activity that a rule asks for; empty where
// it asks for something else.
func (r *Rule) Activity() string {
	if k, ok := r.Kind.(*recurringKind); ok {
		return k.what
	}
	if k, ok := r.Kind.(tellsOf); ok {
		return k.activities()[0]
	}
	return ""
}

// tellsOf is implemented by kinds that read activities: first comes the one
// that the rule asks for, empty where there is none.
type tellsOf interface{ activities() []string }

// AsksHands says whether the rule asks how many people may open a species: no
// vial changes its answer.
func (r *Rule) AsksHands() bool {
	_, hands := r.Kind.(*authorisedKind)
	return hands
}
