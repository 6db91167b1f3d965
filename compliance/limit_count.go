package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// limitCount is one number that must not be exceeded: how many count on each
// day, and how many are allowed.
type limitCount struct {
	heads day.Line[heads]
	most  int
	taxon string // of a paper's own number: what it is for
}

// counts gives the numbers that a duty is about: one, or one for each line of
// the paper that sets a number.
func (k *limitKind) counts(v *View, d *Duty) (all []limitCount) {
	if !k.numbers {
		return []limitCount{{heads: k.total(v, d), most: k.most}}
	}
	for i, g := range d.paper.Grants {
		if g.Max > 0 {
			all = append(all, limitCount{k.paper.countUnder(v, d.paper, i).heads, g.Max, g.Taxon})
		}
	}
	return all
}

// total adds up the animals of every holding that may count; or the species
// of which there are any.
func (k *limitKind) total(v *View, d *Duty) day.Line[heads] {
	var lines []day.Line[heads]
	bySpecies := make(map[inventory.ID]int) // where in lines a species is
	for _, part := range k.parts(v, d) {
		line := day.Combine(part.each, part.animals, func(one heads, n int) heads {
			if n == 0 || one.most == 0 {
				return heads{}
			}
			return heads{one.sure * n, one.most * n, one.lacks}
		})
		if line.Always(heads{}) {
			continue
		}
		if !k.species {
			lines = append(lines, line)
			continue
		}
		line = day.Map(line, func(h heads) heads { return heads{min(h.sure, 1), min(h.most, 1), h.lacks} })
		if i, known := bySpecies[part.holding.ID]; known {
			lines[i] = day.Combine(lines[i], line, either)
			continue
		}
		bySpecies[part.holding.ID] = len(lines)
		lines = append(lines, line)
	}
	return sumHeads(lines)
}

// either counts a species once, wherever it is held.
func either(a, b heads) heads {
	both := a.plus(b)
	h := heads{max(a.sure, b.sure), max(a.most, b.most), both.lacks}
	if h.sure == h.most {
		h.lacks = ""
	}
	return h
}

// limitPart is a holding as far as it may count: how many animals it has on
// each day, and as what each of them counts.
type limitPart struct {
	holding inventory.Ref
	animals day.Line[int]
	each    day.Line[heads]
}

// parts finds the holdings of which animals may count, in a fixed order.
func (k *limitKind) parts(v *View, d *Duty) (all []limitPart) {
	add := func(counts map[inventory.Ref]day.Line[int], theirs inventory.Tri, refs []inventory.Ref) {
		for _, holding := range refs {
			animals, held := counts[holding]
			if !held {
				continue
			}
			if each := k.each(v, d, holding, theirs); !each.Always(heads{}) {
				all = append(all, limitPart{holding, animals, each})
			}
		}
	}
	holder := d.Subject
	switch {
	case d.paper != nil && len(d.paper.Animals) > 0:
		named := v.countNamed(d.paper)
		add(named, inventory.Yes, sortedRefs(named))
		return all
	case d.paper != nil && k.paper.holder:
		holder = d.paper.Holder
	}
	refs := k.holdings(v, d)
	if holder.Kind == inventory.KindPerson {
		add(v.keptBy(holder), inventory.Yes, refs)
		add(v.keptBy(inventory.Ref{}), inventory.Unknown, refs)
		return all
	}
	add(v.counts, inventory.Yes, refs)
	return all
}

// countNamed counts the animals that a paper names.
func (v *View) countNamed(p *Permit) map[inventory.Ref]day.Line[int] {
	steps := make(map[inventory.Ref][]countStep)
	for _, id := range p.Animals {
		if a := v.stayOf[id]; a != nil {
			countStay(steps, a.Species, a.sites)
		}
	}
	return countLines(steps)
}

// distinct gives identifiers in order, each once.
func distinct(ids []inventory.ID) []inventory.ID {
	ids = slices.Clone(ids)
	slices.SortFunc(ids, func(a, b inventory.ID) int { return slices.Compare(a[:], b[:]) })
	return slices.Compact(ids)
}

func sortedRefs(counts map[inventory.Ref]day.Line[int]) []inventory.Ref {
	refs := make([]inventory.Ref, 0, len(counts))
	for ref := range counts {
		refs = append(refs, ref)
	}
	slices.SortFunc(refs, inventory.Ref.Compare)
	return refs
}

// holdings are those at the duty's sites, and those of which nobody knows
// where they are.
func (k *limitKind) holdings(v *View, d *Duty) (refs []inventory.Ref) {
	at := func(site inventory.ID) {
		for _, species := range v.speciesAt[site] {
			refs = append(refs, inventory.Holding(species, site))
		}
	}
	switch {
	case d.Subject.Kind == inventory.KindHolding:
		return []inventory.Ref{d.Subject, inventory.Holding(d.Subject.ID, inventory.Nowhere)}
	case d.Subject.Kind == inventory.KindSite:
		at(d.Subject.ID)
		at(inventory.Nowhere)
	case d.paper != nil && k.paper.place && !d.paper.AnyPlace && len(d.paper.Sites) > 0:
		for _, site := range distinct(d.paper.Sites) {
			at(site)
		}
		at(inventory.Nowhere)
	default:
		return v.holdings
	}
	return refs
}
