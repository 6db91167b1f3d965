package compliance

import (
	"cmp"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// CoverTerms are the terms on which cover is asked for: those of a rule that
// is loaded.
type CoverTerms struct {
	Scene
	Bases []inventory.Basis
	Rule  *Rule // nil: no rule is loaded, these are the usual ones
}

// CoverTerms gives the terms of the rules on cover that are in effect
// somewhere, law before house before guidance, and of one layer by their id.
// Where there is none: one victim, the site's own places, and products that
// are indicated or were made with the species' venom.
func (b *Rulebook) CoverTerms() []CoverTerms {
	var all []CoverTerms
	for _, r := range b.Rules {
		if k, ok := r.Kind.(*coverKind); ok {
			all = append(all, CoverTerms{k.scene, k.bases, r})
		}
	}
	slices.SortFunc(all, func(a, b CoverTerms) int {
		return cmp.Or(cmp.Compare(rankOf(a.Rule.Pack.Layer), rankOf(b.Rule.Pack.Layer)), cmp.Compare(a.Victims, b.Victims), cmp.Compare(a.Rule.ID, b.Rule.ID))
	})
	if len(all) == 0 {
		bases := []inventory.Basis{inventory.Indicated, inventory.Immunogen}
		all = []CoverTerms{{Scene: Scene{Victims: 1, Within: OwnPlaces, Twice: true, bases: "indicated immunogen "}, Bases: bases}}
	}
	return all
}

// rankOf orders the layers by precedence.
func rankOf(l Layer) int { return slices.Index([]Layer{Law, House, Guidance}, l) }

// Apart tells of a species at a site that no scenario can take in.
type Apart struct {
	Holding  inventory.Ref
	State    Code // Uncoverable, Unobtainable, CoverageUnknown, CourseUnknown or StatedIneffective
	Approved bool // by name, where none exists or none can be had
}

// Apart gives the species that are held at a site on a day and that no
// scenario takes in, because nothing treats them, or nobody recorded what does.
func (t CoverTerms) Apart(v *View, site inventory.ID) (out []Apart) {
	on := v.Today(site)
	for _, id := range v.speciesAt[site] {
		holding := inventory.Holding(id, site)
		species, ok := v.Species.Get(id)
		if !ok || species.Venomous == inventory.No || v.counts[holding].At(on) == 0 {
			continue
		}
		grounds := v.grounds(holding)
		accepted := useful(grounds, t.Bases)
		approved := v.decided(HoldWithout, holding).At(on)
		switch {
		case len(accepted) == 0 && species.NoAntivenom != "":
			out = append(out, Apart{holding, Uncoverable, approved})
		case len(grounds) == 0:
			out = append(out, Apart{holding, CoverageUnknown, false})
		case len(accepted) == 0:
			out = append(out, Apart{holding, StatedIneffective, false})
		case !slices.ContainsFunc(accepted, func(g inventory.Ground) bool { return g.Vials.At(on).Full > 0 }):
			out = append(out, Apart{holding, CourseUnknown, false})
		case !slices.ContainsFunc(accepted, func(g inventory.Ground) bool { return !v.offersEnded(g.Product).At(on) }):
			out = append(out, Apart{holding, Unobtainable, approved})
		}
	}
	return out
}

// Species gives the name of a bite: its species, and where several sites are
// taken together its site.
func (s *Staged) Species(v *View, holding inventory.Ref) string { return v.biteName(s, holding) }

// StockDoubts says why what is recorded of a site's stock does not prove that
// nothing is missing in it on a day; nothing where it does.
func (v *View) StockDoubts(site inventory.ID, on day.Day) []Reason {
	return v.whyTopic(TopicStock, site, on)
}
