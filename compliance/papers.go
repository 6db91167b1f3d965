package compliance

import (
	"cmp"
	"slices"

	"antidotary/inventory"
)

// paperIndex finds papers by what rules ask for.
type paperIndex struct {
	at         map[classSite][]*Permit     // papers that name a site
	anywhere   map[string][]*Permit        // of a class, for any place or for a place not known
	held       map[inventory.Ref][]*Permit // by person; under zero those whose holder is not recorded
	successors map[inventory.ID][]*Permit  // papers that follow a paper
	asked      map[*Permit]struct{}        // papers that some duty of today or later rests on
	states     map[paperKey]Line           // of papers that many animals share
	numbers    map[grantKey]counted
}

type classSite struct {
	class string
	site  inventory.ID
}

type paperKey struct {
	kind  *permitKind
	paper inventory.ID
}

func indexPapers(s *Snapshot) paperIndex {
	x := paperIndex{
		at:         make(map[classSite][]*Permit),
		anywhere:   make(map[string][]*Permit),
		held:       make(map[inventory.Ref][]*Permit),
		successors: make(map[inventory.ID][]*Permit),
		asked:      make(map[*Permit]struct{}, s.Permits.Len()),
		states:     make(map[paperKey]Line),
		numbers:    make(map[grantKey]counted),
	}
	for p := range s.Permits.All() {
		x.add(p)
	}
	for _, list := range x.at {
		newestFirst(list)
	}
	for _, list := range x.anywhere {
		newestFirst(list)
	}
	for _, list := range x.held {
		newestFirst(list)
	}
	return x
}

func (x *paperIndex) add(p *Permit) {
	if p.Renews != (inventory.ID{}) {
		x.successors[p.Renews] = append(x.successors[p.Renews], p)
	}
	if p.Holder.Kind == inventory.KindPerson || p.Holder.IsZero() {
		x.held[p.Holder] = append(x.held[p.Holder], p)
	}
	switch {
	case len(p.Animals) > 0:
	case p.AnyPlace || len(p.Sites) == 0:
		x.anywhere[p.Class] = append(x.anywhere[p.Class], p)
	default:
		for _, site := range p.Sites {
			k := classSite{p.Class, site}
			x.at[k] = append(x.at[k], p)
		}
	}
}

// newestFirst puts the paper that began last first, so that of several lapsed
// papers the last one is told of.
func newestFirst(list []*Permit) {
	slices.SortFunc(list, func(a, b *Permit) int {
		return cmp.Or(cmp.Compare(b.Start(), a.Start()), slices.Compare(a.ID[:], b.ID[:]))
	})
}

// candidates are the papers of a class that could stand for a duty's subject
// at a site.
func (x *paperIndex) candidates(class string, d *Duty, site inventory.ID) []*Permit {
	var all []*Permit
	if d.animal != nil {
		all = appendClass(all, d.animal.named, class)
	}
	if d.Subject.Kind == inventory.KindPerson {
		all = appendClass(all, x.held[d.Subject], class)
		all = appendClass(all, x.held[inventory.Ref{}], class)
	} else {
		all = append(all, x.at[classSite{class, site}]...)
		all = append(all, x.anywhere[class]...)
	}
	if len(all) > 1 {
		newestFirst(all)
	}
	return all
}

func appendClass(to, list []*Permit, class string) []*Permit {
	for _, p := range list {
		if p.Class == class {
			to = append(to, p)
		}
	}
	return to
}
