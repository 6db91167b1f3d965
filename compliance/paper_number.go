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

// above says whether more animals are held than a line of a paper allows.
type above struct {
	sure, maybe bool
	lacks       Code // what is not known where it is only maybe
}

// counted is what a line of a paper is used for on each day. Heads change with
// every animal that comes or goes; whether they are above the number seldom
// does, and that is all that most duties ask.
type counted struct {
	heads day.Line[heads]
	above day.Line[above]
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
		more := k.countUnder(v, p, i).above
		if more.Always(above{}) {
			continue
		}
		line = day.Combine(line, more, func(verdict *Verdict, is above) *Verdict {
			switch {
			case verdict.Standing == NotApplicable || verdict.Standing == OutOfOrder:
				return verdict
			case is.sure:
				return v.in.Of(Verdict{Standing: OutOfOrder, State: OverNumber, Cause: p.Ref(),
					Step: Step{Do: ReduceNumber, Instance: p.Ref(), Owner: d.Rule.Owner}})
			case is.maybe && verdict.Standing == InOrder:
				return v.in.Of(Verdict{Standing: CannotTell, State: is.lacks, Cause: p.Ref(),
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
	var lines []day.Line[heads]
	if k.holder && p.Holder.Kind == inventory.KindPerson {
		lines = k.headsAmong(lines, v, p, g, v.keptBy(p.Holder), inventory.Yes)
		lines = k.headsAmong(lines, v, p, g, v.keptBy(inventory.Ref{}), inventory.Unknown)
	} else {
		lines = k.headsAmong(lines, v, p, g, v.counts, inventory.Yes)
	}
	n := counted{heads: sumHeads(lines)}
	n.above = day.Map(n.heads, func(h heads) above {
		switch {
		case h.sure > g.Max:
			return above{sure: true}
		case h.most > g.Max:
			return above{maybe: true, lacks: h.lacks}
		default:
			return above{}
		}
	})
	v.papers.numbers[key] = n
	return n
}

// sumHeads halves the list before it adds, because a sum has a change for
// nearly every change of its parts: adding one line after another would copy
// the first a thousand times.
func sumHeads(lines []day.Line[heads]) day.Line[heads] {
	switch half := len(lines) / 2; len(lines) {
	case 0:
		return day.Constant(heads{})
	case 1:
		return lines[0]
	default:
		return day.Combine(sumHeads(lines[:half]), sumHeads(lines[half:]), heads.plus)
	}
}

// headsAmong adds to lines what a line of a paper is used for in each of some
// holdings; theirs says whether these are in the holder's hands.
func (k *permitKind) headsAmong(lines []day.Line[heads], v *View, p *Permit, g *Grant, counts map[inventory.Ref]day.Line[int], theirs inventory.Tri) []day.Line[heads] {
	add := func(holding inventory.Ref) {
		animals, held := counts[holding]
		one := k.headOf(v, p, g, holding, theirs)
		if !held || one.most == 0 {
			return
		}
		lines = append(lines, day.Map(animals, func(n int) heads {
			if n == 0 {
				return heads{}
			}
			return heads{one.sure * n, one.most * n, one.lacks}
		}))
	}
	if p.AnyPlace || len(p.Sites) == 0 {
		for holding := range counts {
			add(holding)
		}
		return lines
	}
	sites := append([]inventory.ID{inventory.Nowhere}, p.Sites...)
	slices.SortFunc(sites, func(a, b inventory.ID) int { return slices.Compare(a[:], b[:]) })
	for _, site := range slices.Compact(sites) {
		for _, species := range v.speciesAt[site] {
			add(inventory.Holding(species, site))
		}
	}
	return lines
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
