package compliance

import (
	"maps"
	"slices"
)

// Activities lists the words of the activities that rules ask for, sorted.
func (b *Rulebook) Activities() []string {
	words := make(map[string]bool)
	for _, r := range b.Rules {
		if what := r.Activity(); what != "" {
			words[what] = true
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
	return ""
}
