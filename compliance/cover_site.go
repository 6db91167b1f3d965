package compliance

import (
	"slices"
	"strconv"
	"strings"

	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// judgeSite answers for all species of a site at once: on each day the worst of
// what is short where several are bitten, though not for one victim alone. So a
// site has one entry, whichever of its species share too few vials.
//
// A species that is short even alone is another rule's, and left out. One of
// which that cannot be told leaves the site at cannot tell: whether it is short
// together cannot be told either.
func (k *coverKind) judgeSite(v *View, d *Duty) Line {
	all := day.Constant(notApplicable)
	for _, species := range v.speciesAt[d.Subject.ID] {
		of := *d
		of.Subject = inventory.Holding(species, d.Subject.ID)
		line := day.Combine(k.ofSite(v, &of), v.counts[of.Subject], func(verdict *Verdict, held int) *Verdict {
			if held == 0 {
				return notApplicable
			}
			return verdict
		})
		all = anded(all, line, worseOfEquals)
	}
	return day.Map(all, func(verdict *Verdict) *Verdict { return v.in.Of(k.forSite(d, *verdict)) })
}

// ofSite is what one species of a site adds to the site's line.
func (k *coverKind) ofSite(v *View, d *Duty) Line {
	species, ok := v.Species.Get(d.Subject.ID)
	if !ok {
		return day.Constant(v.in.Of(k.unknown(d)))
	}
	grounds := v.grounds(d.Subject)
	accepted := useful(grounds, k.bases)
	switch {
	case species.Venomous == inventory.No:
		return day.Constant(notApplicable)
	case len(accepted) > 0:
	case len(grounds) == 0 && species.NoAntivenom == "":
		return day.Constant(v.in.Of(k.unknown(d)))
	default:
		return day.Constant(notApplicable)
	}
	alone := k.alone(v, d, accepted)
	line := day.Combine(k.beyondOne(v, d, alone, accepted), alone, func(verdict, alone *Verdict) *Verdict {
		if alone.Standing == CannotTell {
			return alone
		}
		return verdict
	})
	return k.withOrders(v, d, line, accepted)
}

// forSite makes a species' verdict the site's: it is the stock as a whole that
// is enough or too small, and what is done about it is done for the site.
func (k *coverKind) forSite(d *Duty, verdict Verdict) Verdict {
	if verdict.State == Covered {
		verdict.State, verdict.Cause = CoveredTogether, d.Subject
	}
	switch verdict.Step.Do {
	case ReplaceAntivenom, OrderAntivenom, ChaseOrder, SignAgreement, ConfirmAgreement:
		verdict.Step.Instance = d.Subject
	}
	return verdict
}

// whySite names the worst set of victims that only together cannot be treated,
// what is there against it, what would close it, and the species that are left
// to the rule for one victim.
func (k *coverKind) whySite(v *View, d *Duty, on day.Day) (reasons []Reason) {
	s := k.stage(v, d.Subject.ID)
	scenario, bites := s.On(on, false)
	worst := together(&scenario)
	if len(worst.Set) == 0 {
		reasons = append(reasons, Because("no-clash-at-site", "victims", strconv.Itoa(k.scene.Victims)))
	} else {
		reasons = append(reasons, Because("clash", "victims", v.victims(s, bites, worst.Set), "people", strconv.Itoa(worst.Shortage.People),
			"vials", strconv.Itoa(worst.Shortage.Vials)))
		if closing := s.closingTogether(on); len(closing) > 0 {
			reasons = append(reasons, Because("closing", "products", v.purchase(closing)))
		}
		reasons = append(reasons, k.whySet(v, d, s, bites, worst.Set, on)...)
	}
	if left := k.leftToOne(v, d, on); len(left) > 0 {
		reasons = append(reasons, Because("left-to-one", "species", strings.Join(left, ", ")))
	}
	return reasons
}

// together gives the worst clash of the scene's own site that takes more than
// one victim.
func together(scenario *cover.Scenario) (worst cover.Clash) {
	for n, clash := range scenario.Clashes() {
		if scenario.Bites[n].Site == 0 && len(clash.Set) > 1 && clash.Shortage.Above(worst.Shortage) {
			worst = clash
		}
	}
	return worst
}

// whySet tells of the products against a set of victims: the course of each
// species, the stock, and what is coming.
func (k *coverKind) whySet(v *View, d *Duty, s *Staged, bites []int, set cover.Set, on day.Day) (reasons []Reason) {
	var told, products []inventory.ID
	for _, b := range set {
		holding := s.Bites[bites[b]]
		if slices.Contains(told, holding.ID) {
			continue
		}
		told = append(told, holding.ID)
		for _, g := range useful(v.grounds(holding), k.bases) {
			product, ok := v.Products.Get(g.Product)
			if !ok {
				continue
			}
			key := k.scene.stock(g.Product, d.Subject.ID)
			n, stock := g.Vials.At(on), v.atHand(key).At(on).all()
			reasons = append(reasons, Because("course-of", "species", v.biteName(s, holding), "product", product.Type, "full", vials(n.Full),
				"sure", strconv.Itoa(stock.Sure), "maybe", strconv.Itoa(stock.Maybe), "source", sources(g)))
			if !slices.Contains(products, g.Product) {
				if k.scene.Approved {
					reasons = append(reasons, v.whyApproval(product, key.site, on)...)
				}
				products = append(products, g.Product)
			}
		}
	}
	for _, product := range products {
		reasons = append(reasons, k.whyComing(v, k.scene.stock(product, d.Subject.ID), on)...)
	}
	return reasons
}

// leftToOne names the species that are held on a day and have no full course
// for sure even for one victim.
func (k *coverKind) leftToOne(v *View, d *Duty, on day.Day) (names []string) {
	for _, id := range v.speciesAt[d.Subject.ID] {
		of := *d
		of.Subject = inventory.Holding(id, d.Subject.ID)
		species, ok := v.Species.Get(id)
		if v.counts[of.Subject].At(on) == 0 || ok && species.Venomous == inventory.No {
			continue
		}
		if !ok || k.alone(v, &of, useful(v.grounds(of.Subject), k.bases)).At(on).Standing != InOrder {
			names = append(names, v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: id}))
		}
	}
	slices.Sort(names)
	return names
}
