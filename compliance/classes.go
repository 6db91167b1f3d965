package compliance

import "slices"

// Classes lists the classes of paper that the rules ask for, in order. A paper
// of any other class covers nobody and nothing.
func (b *Rulebook) Classes() []string {
	var all []string
	for _, r := range b.Rules {
		if k, ok := r.Kind.(asksPapers); ok {
			all = append(all, k.classes()...)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// asksPapers is implemented by kinds that rest on papers.
type asksPapers interface{ classes() []string }

func (k *permitKind) classes() []string {
	all := []string{k.class}
	for i := range k.requires {
		all = append(all, k.requires[i].paper.class)
	}
	return all
}

func (k *limitKind) classes() []string {
	if k.paper == nil {
		return nil
	}
	return k.paper.classes()
}

func (k *prohibitKind) classes() (all []string) {
	for _, w := range k.unless {
		if w.paper != nil {
			all = append(all, w.paper.classes()...)
		}
	}
	return all
}

func (k *orderKind) classes() []string {
	if f, ok := k.first.(*paperFirst); ok {
		return f.paper.classes()
	}
	return nil
}
