package compliance

import (
	"slices"
	"strconv"
	"strings"

	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// Why implements Kind.
func (k *coverKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	if d.Subject.Kind == inventory.KindSite {
		return k.whySite(v, d, on)
	}
	species, ok := v.Species.Get(d.Subject.ID)
	if !ok {
		return nil
	}
	if species.NoAntivenom != "" {
		reasons = append(reasons, Because("no-antivenom", "species", species.Accepted, "source", species.NoAntivenom, "certainty", species.Certainty.Words()))
	}
	grounds := v.grounds(d.Subject)
	if len(grounds) == 0 && species.NoAntivenom == "" {
		reasons = append(reasons, Because("no-coverage-row", "species", species.Accepted))
	}
	for _, g := range grounds {
		product, _ := v.Products.Get(g.Product)
		if product == nil {
			continue
		}
		if len(useful([]inventory.Ground{g}, k.bases)) == 0 {
			reasons = append(reasons, whyRefused(g, product)...)
			continue
		}
		reasons = append(reasons, k.whyProduct(v, d, g, product, on)...)
	}
	return append(reasons, k.whyTogether(v, d, on)...)
}

// whyRefused tells what each source says of a product that does not count.
func whyRefused(g inventory.Ground, product *inventory.Product) (reasons []Reason) {
	for _, c := range g.Rows {
		reasons = append(reasons, Because("coverage-refused", "product", product.Type, "basis", string(c.Basis), "source", c.Source))
	}
	return reasons
}

func (k *coverKind) whyProduct(v *View, d *Duty, g inventory.Ground, product *inventory.Product, on day.Day) []Reason {
	key := k.scene.stock(g.Product, d.Subject.At)
	stock, planned := v.atHand(key).At(on), g.Vials.At(on)
	var reasons []Reason
	for _, c := range g.Rows {
		n := inventory.LineOf(inventory.Vials{}, c.Vials).At(on)
		reasons = append(reasons, Because("course", "product", product.Type, "basis", string(c.Basis), "full", vials(n.Full), "initial", vials(n.Initial),
			"sure", strconv.Itoa(stock.all().Sure), "maybe", strconv.Itoa(stock.all().Maybe), "source", c.Source, "certainty", c.Certainty.Words()))
	}
	if len(g.Rows) > 1 {
		reasons = append(reasons, Because("sources-differ", "product", product.Type, "full", vials(planned.Full), "initial", vials(planned.Initial)))
	}
	reach := v.reaches(key)
	for _, lot := range v.lotsNear(key) {
		if here := lot.InPlaces(reach).At(on); here > 0 {
			reasons = append(reasons, Because("lot", "lot", lot.Number, "vials", strconv.Itoa(here), "end", lot.LastUsable().String(),
				"usable", strconv.Itoa(lot.Usable(reach).At(on).Sure)))
		}
		if n := lot.Unchecked(reach).At(on); n > 0 {
			reasons = append(reasons, Because("unchecked", "lot", lot.Number, "vials", strconv.Itoa(n)))
		}
		reasons = append(reasons, whySpokenFor(lot, reach, on)...)
	}
	if k.scene.Approved {
		reasons = append(reasons, v.whyApproval(product, key.site, on)...)
	}
	reasons = append(reasons, k.whyAgreements(v, key, on)...)
	return append(reasons, k.whyComing(v, key, on)...)
}

// whySpokenFor tells of the vials of a lot that are promised to others, or that
// others have.
func whySpokenFor(lot *inventory.Lot, reach func(place inventory.ID) bool, on day.Day) (reasons []Reason) {
	for _, p := range lot.Promises {
		if p.On(on) && reach(p.Place) {
			reasons = append(reasons, Because("promised", "lot", lot.Number, "number", strconv.Itoa(p.Number), "vials", strconv.Itoa(p.Vials), "to", p.To))
		}
	}
	for _, n := range lot.Loans {
		if out := lot.Outstanding(n.Number, on); out > 0 {
			reasons = append(reasons, Because("lent", "lot", lot.Number, "number", strconv.Itoa(n.Number), "vials", strconv.Itoa(out), "to", n.Borrower, "day", orUnknown(n.Due)))
		}
	}
	return reasons
}

func (k *coverKind) whyAgreements(v *View, key stockKey, on day.Day) (reasons []Reason) {
	for _, a := range v.agreements[productSite{key.product, key.site}] {
		q := a.Usable(true).At(on)
		reasons = append(reasons, Because("agreement", "number", a.Number, "partner", a.Partner, "sure", strconv.Itoa(q.Sure), "maybe", strconv.Itoa(q.Maybe),
			"minutes", vials(a.Minutes)))
	}
	return reasons
}

// whyComing tells of each order that is open: expected, or overdue and so
// counted nowhere.
func (k *coverKind) whyComing(v *View, key stockKey, on day.Day) (reasons []Reason) {
	reach := v.reaches(key)
	for _, o := range v.orders[key.product] {
		if !reach(o.Place) || o.Closed() || o.Stages[0].On > on {
			continue
		}
		if o.Expected.IsZero() || o.Expected < v.DayOfNow(key.site) {
			reasons = append(reasons, Because("order-overdue", "order", o.Number, "vials", strconv.Itoa(o.Vials), "stage", string(o.Stage().What), "day", orUnknown(o.Expected)))
			continue
		}
		reasons = append(reasons, Because("order-coming", "order", o.Number, "vials", strconv.Itoa(o.Vials), "stage", string(o.Stage().What), "day", o.Expected.String()))
	}
	return reasons
}

// whyTogether tells of the smallest set of victims that cannot all be treated.
func (k *coverKind) whyTogether(v *View, d *Duty, on day.Day) []Reason {
	if k.scene.Victims < 2 {
		return nil
	}
	s := k.stage(v, d.Subject.At)
	scenario, bites := s.On(on, false)
	for n, clash := range scenario.Clashes() {
		if s.Bites[bites[n]] == d.Subject && len(clash.Set) > 1 {
			return []Reason{Because("clash", "victims", v.victims(s, bites, clash.Set), "people", strconv.Itoa(clash.Shortage.People),
				"vials", strconv.Itoa(clash.Shortage.Vials))}
		}
	}
	return []Reason{Because("no-clash", "victims", strconv.Itoa(k.scene.Victims))}
}

// victims names the bites of a set: a species for each, with its site where
// several sites are taken together.
func (v *View) victims(s *Staged, bites []int, set cover.Set) string {
	var names []string
	for _, b := range set {
		names = append(names, v.biteName(s, s.Bites[bites[b]]))
	}
	slices.Sort(names)
	return strings.Join(names, " + ")
}

func (v *View) biteName(s *Staged, holding inventory.Ref) string {
	name := "(species not recorded)"
	if species, ok := v.Species.Get(holding.ID); ok {
		name = species.Accepted
	}
	if len(s.Sites) > 1 {
		name += " at " + v.Site(holding.At).Title
	}
	return name
}

func vials(n int) string {
	if n == 0 {
		return "unknown"
	}
	return strconv.Itoa(n)
}
