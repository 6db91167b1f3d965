package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// heads is how many animals a line of a paper is used for: for sure, and at
// most, because of some it is not known whether they count.
type heads struct {
	sure, most int
	lacks      Code // what is not known where most is above sure
}

func (h heads) plus(o heads) heads {
	if h.lacks == "" || o.lacks != "" && o.lacks < h.lacks { // in whatever order they are added
		h.lacks = o.lacks
	}
	h.sure += o.sure
	h.most += o.most
	return h
}

// counted is how many animals a line of a paper is used for on each day, and
// at most on any.
type counted struct {
	day.Line[heads]
	peak int
}

// grantKey names one line of a paper as one rule reads it.
type grantKey struct {
	kind  *permitKind
	paper inventory.ID
	line  int
}

// withinNumber turns in order into out of order on days on which more animals
// are held than the paper allows (50 CFR 13.42: strictly construed as to
// numbers and kinds), and into cannot tell where there may be more.
func (k *permitKind) withinNumber(v *View, d *Duty, p *Permit, line Line) Line {
	if d.animal == nil || d.animal.species == nil {
		return line
	}
	for i := range p.Grants {
		g := &p.Grants[i]
		if g.Max == 0 || g.Covers(d.animal.species) != inventory.Yes {
			continue
		}
		n := k.countUnder(v, p, i)
		if n.peak <= g.Max {
			continue
		}
		line = day.Combine(line, n.Line, func(verdict *Verdict, n heads) *Verdict {
			switch {
			case verdict.Standing == NotApplicable || verdict.Standing == OutOfOrder:
				return verdict
			case n.sure > g.Max:
				return v.in.Of(Verdict{Standing: OutOfOrder, State: OverNumber, Cause: p.Ref(),
					Step: Step{Do: ReduceNumber, Instance: p.Ref(), Owner: d.Rule.Owner}})
			case n.most > g.Max && verdict.Standing == InOrder:
				return v.in.Of(Verdict{Standing: CannotTell, State: n.lacks, Cause: p.Ref(),
					Step: Step{Do: CompleteRecord, Instance: p.Ref(), Owner: d.Rule.Owner}})
			default:
				return verdict
			}
		})
	}
	return line
}

// countUnder counts the animals that a line of a paper is used for: all of
// the listed species at the paper's sites, or everywhere where it is for any
// place; under a person's paper only those in that person's hands, where the
// holder matters.
func (k *permitKind) countUnder(v *View, p *Permit, line int) counted {
	key := grantKey{k, p.ID, line}
	if n, known := v.papers.numbers[key]; known {
		return n
	}
	g := &p.Grants[line]
	total := day.Constant(heads{})
	if k.holder && p.Holder.Kind == inventory.KindPerson {
		total = k.addHeads(v, p, g, total, v.keptBy(p.Holder), inventory.Yes)
		total = k.addHeads(v, p, g, total, v.keptBy(inventory.Ref{}), inventory.Unknown)
	} else {
		total = k.addHeads(v, p, g, total, v.counts, inventory.Yes)
	}
	n := counted{total, total.First().most}
	for _, h := range total.Changes() {
		n.peak = max(n.peak, h.most)
	}
	v.papers.numbers[key] = n
	return n
}

// addHeads adds what a line of a paper is used for among some holdings;
// theirs says whether these are in the holder's hands.
func (k *permitKind) addHeads(v *View, p *Permit, g *Grant, total day.Line[heads], counts map[inventory.Ref]day.Line[int], theirs inventory.Tri) day.Line[heads] {
	add := func(holding inventory.Ref) {
		counted, held := counts[holding]
		one := k.headOf(v, p, g, holding, theirs)
		if !held || one.most == 0 {
			return
		}
		total = day.Combine(total, counted, func(sum heads, n int) heads {
			if n == 0 {
				return sum
			}
			return sum.plus(heads{one.sure * n, one.most * n, one.lacks})
		})
	}
	if p.AnyPlace || len(p.Sites) == 0 {
		for holding := range counts {
			add(holding)
		}
		return total
	}
	sites := append([]inventory.ID{inventory.Nowhere}, p.Sites...)
	slices.SortFunc(sites, func(a, b inventory.ID) int { return slices.Compare(a[:], b[:]) })
	for _, site := range slices.Compact(sites) {
		for _, species := range v.speciesAt[site] {
			add(inventory.Holding(species, site))
		}
	}
	return total
}

// headOf says as what one animal of a holding counts under a line of a paper.
func (k *permitKind) headOf(v *View, p *Permit, g *Grant, holding inventory.Ref, theirs inventory.Tri) heads {
	there, listed := inventory.Yes, inventory.Unknown
	switch {
	case p.AnyPlace || !k.place && len(p.Sites) == 0:
	case holding.At == inventory.Nowhere:
		there = inventory.Unknown
	default:
		there = placed(p, holding.At)
	}
	if s, ok := v.Species.Get(holding.ID); ok {
		listed = g.Covers(s)
	}
	switch all := listed.And(there).And(theirs); {
	case all == inventory.No:
		return heads{}
	case all == inventory.Yes:
		return heads{sure: 1, most: 1}
	case listed == inventory.Unknown:
		return heads{most: 1, lacks: TaxonUnknown}
	case there == inventory.Unknown:
		return heads{most: 1, lacks: SiteUnknown}
	default:
		return heads{most: 1, lacks: HolderUnknown}
	}
}
