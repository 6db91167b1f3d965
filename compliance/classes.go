package compliance

import "slices"

// Classes lists the classes of paper that the rules ask for, in order. A paper
// of any other class covers nobody and nothing.
func (b *Rulebook) Classes() []string {
	var all []string
	for _, r := range b.Rules {
		if k, ok := r.Kind.(*permitKind); ok {
			all = append(all, k.class)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}
