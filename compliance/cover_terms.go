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

// CoverTerms gives the terms of the rule on cover that binds at a site on a
// day: law before house before guidance, of laws the one of the place nearest to
// the site, and of those alike the one for fewest victims. Where nothing is held
// there on that day, or what speaks says nothing of it, it is the first of the
// rules that are in effect under the site's law; and where there is none: one
// victim, the site's own places, and products that are indicated or were made
// with the species' venom.
func (r *Report) CoverTerms(site inventory.ID, on day.Day) CoverTerms {
	rules := r.coverCounting(site, on)
	if len(rules) == 0 {
		rules = r.coverInEffect(site, on)
	}
	if len(rules) == 0 {
		bases := []inventory.Basis{inventory.Indicated, inventory.Immunogen}
		return CoverTerms{Scene: Scene{Victims: 1, Within: OwnPlaces, Twice: true, bases: "indicated immunogen "}, Bases: bases}
	}
	first := slices.MinFunc(rules, func(a, b *Rule) int {
		return cmp.Or(cmp.Compare(rank(b.Layer), rank(a.Layer)), cmp.Compare(len(b.Area), len(a.Area)),
			cmp.Compare(a.Kind.(*coverKind).scene.Victims, b.Kind.(*coverKind).scene.Victims), cmp.Compare(a.ID, b.ID))
	})
	k := first.Kind.(*coverKind)
	return CoverTerms{k.scene, k.bases, first}
}

// coverCounting gives the rules on cover whose answer for a site, or for a
// species there, counts on a day: none that another law lifts, or that is
// guidance where law or house speaks.
func (r *Report) coverCounting(site inventory.ID, on day.Day) (rules []*Rule) {
	for _, j := range r.Judgements {
		if there := j.Key.Subject.At == site || j.Key.Subject == siteRef(site); !there {
			continue
		}
		for _, rl := range j.Rules {
			if _, ok := rl.Rule.Kind.(*coverKind); ok && !slices.Contains(rules, rl.Rule) && rl.Counted().At(on).Standing != NotApplicable {
				rules = append(rules, rl.Rule)
			}
		}
	}
	return rules
}

// coverInEffect gives the rules on cover that are in effect on a day under the
// law of a site.
func (r *Report) coverInEffect(site inventory.ID, on day.Day) (rules []*Rule) {
	path := ""
	if line, known := r.View.laws[site]; known {
		path = line.At(on)
	}
	for _, rule := range r.View.Book.Rules {
		if _, ok := rule.Kind.(*coverKind); ok && inventory.Within(path, rule.Area) && rule.InEffect().At(on) {
			rules = append(rules, rule)
		}
	}
	return rules
}

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
