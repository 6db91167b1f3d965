package compliance

import (
	"maps"
	"slices"
)

// Activities lists the words of the activities that rules ask for, sorted.
func (b *Rulebook) Activities() []string {
	words := make(map[string]bool)
	for _, r := range b.Rules {
		if k, ok := r.Kind.(*recurringKind); ok {
			words[k.what] = true
		}
	}
	return slices.Sorted(maps.Keys(words))
}
