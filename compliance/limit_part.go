package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// each says as what one animal of a holding counts on each day: for sure, not
// at all, or perhaps, and then for want of what.
func (k *limitKind) each(v *View, d *Duty, holding inventory.Ref, theirs inventory.Tri) day.Line[heads] {
	fixed := partly{is: inventory.Yes}
	fixed.and(theirs, CustodyUnknown)
	fixed.and(k.there(d, holding), SiteUnknown)
	species, known := v.Species.Get(holding.ID)
	if d.paper != nil && len(d.paper.Animals) == 0 {
		listed := inventory.Unknown
		if known {
			listed = d.paper.Lists(species)
		}
		fixed.and(listed, TaxonUnknown)
	}
	if k.without {
		fixed.and(v.lacksAntivenom(holding.ID), CoverageUnknown)
	}
	if fixed.is == inventory.No {
		return day.Constant(heads{})
	}
	return day.Map(v.lawOf(holding.At), func(path string) heads {
		p := fixed
		p.and(k.inArea(d, path), SiteUnknown)
		counts := inventory.Unknown // where even the species is not recorded
		if known {
			counts = inventory.Tri(k.of.Ask(&attributes{path: path, site: v.Site(holding.At), house: v.House(), species: species}).Truth)
		}
		p.and(counts, CountsUnknown)
		return p.head()
	})
}

// partly joins conditions that must all hold, and keeps which of them is not
// known.
type partly struct {
	is    inventory.Tri
	lacks Code
}

func (p *partly) and(is inventory.Tri, lacks Code) {
	if is == inventory.Unknown && p.lacks == "" {
		p.lacks = lacks
	}
	p.is = p.is.And(is)
}

func (p partly) head() heads {
	switch p.is {
	case inventory.Yes:
		return heads{sure: 1, most: 1}
	case inventory.Unknown:
		return heads{most: 1, lacks: p.lacks}
	default:
		return heads{}
	}
}

// there says whether a holding is where the duty counts.
func (k *limitKind) there(d *Duty, holding inventory.Ref) inventory.Tri {
	var sites []inventory.ID
	switch {
	case d.Subject.Kind == inventory.KindSite:
		sites = []inventory.ID{d.Subject.ID}
	case d.Subject.Kind == inventory.KindHolding:
		sites = []inventory.ID{d.Subject.At}
	case d.paper == nil || !k.paper.place || d.paper.AnyPlace || len(d.paper.Animals) > 0:
		return inventory.Yes
	default:
		sites = d.paper.Sites
	}
	switch {
	case len(sites) == 0 || holding.At == inventory.Nowhere: // a paper's place, or the animal's, is not known
		return inventory.Unknown
	default:
		return inventory.Bool(slices.Contains(sites, holding.At))
	}
}

// inArea says whether animals under a law count for the rule: a law limits
// what is held where it is law.
func (k *limitKind) inArea(d *Duty, path string) inventory.Tri {
	switch {
	case d.Rule.Area == "" || d.Subject.Kind == inventory.KindSite || d.Subject.Kind == inventory.KindHolding:
		return inventory.Yes
	case path == "":
		return inventory.Unknown
	default:
		return inventory.Bool(inventory.Within(path, d.Rule.Area))
	}
}

// lacksAntivenom says whether no antivenom exists for a species: yes only
// where a source says so and no product is recorded for it, no only where a
// product is. That nobody has recorded any proves nothing.
func (v *View) lacksAntivenom(species inventory.ID) inventory.Tri {
	useful := slices.ContainsFunc(v.coverage[species], func(c *inventory.Coverage) bool { return c.Basis != inventory.Excluded })
	s, known := v.Species.Get(species)
	switch {
	case useful:
		return inventory.No
	case known && s.NoAntivenom != "":
		return inventory.Yes
	default:
		return inventory.Unknown
	}
}

// lawOf gives the law that a site stands under; none where the site is not
// recorded.
func (v *View) lawOf(site inventory.ID) day.Line[string] {
	if line, known := v.laws[site]; known {
		return line
	}
	return day.Constant("")
}

// sites are those whose lists of animals the number rests on.
func (k *limitKind) sites(v *View, d *Duty) (all []inventory.ID) {
	switch {
	case d.Subject.Kind == inventory.KindSite:
		return []inventory.ID{d.Subject.ID}
	case d.Subject.Kind == inventory.KindHolding:
		return []inventory.ID{d.Subject.At}
	case d.paper != nil && !d.paper.AnyPlace && len(d.paper.Sites) > 0 && len(d.paper.Animals) == 0:
		return distinct(d.paper.Sites)
	}
	for s := range v.Sites.All() {
		law := v.lawOf(s.ID)
		ever := func(path string) bool { return k.inArea(d, path) != inventory.No }
		if _, _, later := law.Next(day.First-1, ever); later || ever(law.First()) {
			all = append(all, s.ID)
		}
	}
	return distinct(all)
}
