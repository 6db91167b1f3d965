package compliance

import (
	"cmp"
	"slices"
	"strconv"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Why implements Kind: what is held, what is planned, what is allowed and
// what is left, and when that will not be enough.
func (k *limitKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	for _, c := range k.counts(v, d) {
		h := c.heads.At(on)
		counted := "animals"
		if k.species {
			counted = "species"
		}
		allowed, headroom := strconv.Itoa(c.most), strconv.Itoa(max(0, c.most-h.most))
		if k.numbers {
			reasons = append(reasons, Because("limit-paper", "taxon", c.taxon, "held", h.words(), "allowed", allowed, "headroom", headroom))
		} else {
			reasons = append(reasons, Because("limit-count", "counted", counted, "held", h.words(), "allowed", allowed, "headroom", headroom))
		}
		if h.most > h.sure {
			reasons = append(reasons, Because("limit-doubt", "perhaps", strconv.Itoa(h.most-h.sure), "lacks", string(h.lacks)))
		}
	}
	reasons = append(reasons, k.whyPlanned(v, d, on)...)
	if breaks, _, ok := k.plain(v, d).Next(on, func(next *Verdict) bool { return next.Standing > InOrder }); ok {
		reasons = append(reasons, Because("limit-breaks", "day", breaks.String()))
	}
	if d.paper != nil && !k.during.IsZero() {
		reasons = append(reasons, Because("limit-during", "paper", d.paper.Number, "lasts", k.during.String(), "start", orUnknown(d.paper.Start())))
	}
	for _, site := range k.sites(v, d) {
		list := Duty{Rule: d.Rule, Applies: day.Constant(inventory.Yes), Sites: day.Constant(site), Topic: TopicAnimals}
		reasons = append(reasons, v.whyList(&list, on)...)
	}
	return reasons
}

// whyPlanned tells of the arrivals and litters that count already or will.
func (k *limitKind) whyPlanned(v *View, d *Duty, on day.Day) (reasons []Reason) {
	var plans []*inventory.Planned
	for p := range v.Planned.All() {
		if burden(p) && k.meets(v, d, p) {
			plans = append(plans, p)
		}
	}
	slices.SortFunc(plans, func(a, b *inventory.Planned) int {
		return cmp.Or(cmp.Compare(a.On, b.On), slices.Compare(a.ID[:], b.ID[:]))
	})
	for _, p := range plans {
		name := "(species not recorded)"
		if s, ok := v.Species.Get(p.Species); ok {
			name = s.Accepted
		}
		what := "arrival"
		if p.Kind == inventory.PlanLitter {
			what = "litter"
		}
		reasons = append(reasons, Because("limit-planned", "what", what, "number", strconv.Itoa(p.Count), "species", name, "day", p.On.String()))
	}
	return reasons
}

// meets says whether what is planned is part of what the duty counts.
func (k *limitKind) meets(v *View, d *Duty, p *inventory.Planned) bool {
	if d.paper != nil && len(d.paper.Animals) > 0 {
		return false
	}
	return k.each(v, d, inventory.Holding(p.Species, p.Site), inventory.Yes).At(p.On) != heads{}
}

// words gives the number, or its bounds.
func (h heads) words() string {
	if h.sure == h.most {
		return strconv.Itoa(h.sure)
	}
	return strconv.Itoa(h.sure) + " to " + strconv.Itoa(h.most)
}
