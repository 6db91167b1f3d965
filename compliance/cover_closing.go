package compliance

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
	"antidotary/inventory/reorder"
)

// Purchase is so many vials of a product.
type Purchase struct {
	Product inventory.ID
	Vials   int
}

// Closing gives the fewest vials with which everybody who may be bitten at the
// scene's own site on a day could be treated, by what is there for sure; nothing
// where none are missing, or where no number is proven to be the least.
func (s *Staged) Closing(on day.Day) []Purchase {
	scenario, _ := s.On(on, false)
	return s.closing(on, scenario, ownBites(scenario.Bites))
}

// closingTogether is Closing for the species that have a full course alone.
// What other sites need of the same vials no purchase for this one tells.
func (s *Staged) closingTogether(on day.Day) []Purchase {
	if len(s.Sites) > 1 {
		return nil
	}
	scenario, _ := s.On(on, false)
	var bites []cover.Bite
	for n, clash := range scenario.Clashes() {
		if len(clash.Set) != 1 {
			bites = append(bites, scenario.Bites[n])
		}
	}
	return s.closing(on, scenario, bites)
}

// ownBites keeps the bites of the scene's own site.
func ownBites(bites []cover.Bite) (out []cover.Bite) {
	for _, b := range bites {
		if b.Site == 0 {
			out = append(out, b)
		}
	}
	return out
}

// closing is a plan for one day, where each vial costs one.
func (s *Staged) closing(on day.Day, scenario cover.Scenario, bites []cover.Bite) (out []Purchase) {
	p := reorder.Problem{From: on, Until: on + 1, Calendar: day.WeekendsOnly(), Stock: make([]day.Line[int], len(s.Products)),
		Periods: []reorder.Period{{From: on, Victims: scenario.Victims, Persons: scenario.Persons, Bites: bites}}}
	stock := make([]int, len(s.Products))
	for _, pool := range scenario.Pools {
		if pool.Reached&1 == 1 {
			stock[pool.Product] += pool.Vials
		}
	}
	for product, n := range stock {
		p.Stock[product] = day.Constant(n)
		p.Offers = append(p.Offers, reorder.Offer{Product: product, Pack: 1, Price: 1, Life: 1})
	}
	if p.Check() != nil {
		return nil
	}
	plan := p.Make()
	if !plan.Found || !plan.Proven {
		return nil
	}
	for _, o := range plan.Orders {
		out = append(out, Purchase{s.Products[p.Offers[o.Offer].Product], o.Packs})
	}
	return out
}

// purchase names what is to be bought.
func (v *View) purchase(all []Purchase) string {
	var names []string
	for _, p := range slices.SortedFunc(slices.Values(all), func(a, b Purchase) int {
		return cmp.Compare(v.NameOf(productRef(a.Product)), v.NameOf(productRef(b.Product)))
	}) {
		names = append(names, fmt.Sprintf("%d of %s", p.Vials, v.NameOf(productRef(p.Product))))
	}
	return strings.Join(names, ", ")
}

func productRef(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindProduct, ID: id}
}
