package answer

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
	"antidotary/inventory/reorder"
	"antidotary/notify/words"
)

// Reorder answers what antivenom a site must order, or several that share a
// place, how many packs and by when, so that the planned bites can be treated
// on every day of a stretch, at the least cost. What is ordered already, and
// not overdue, counts.
type Reorder struct {
	Telling
	Format   int            `json:"format"`
	Now      time.Time      `json:"now"`
	Site     string         `json:"site"` // of several, their names joined
	Sites    []string       `json:"sites"`
	KeepIn   []string       `json:"keep_in,omitempty"`         // of several sites: the places that all reach in time, to keep it in
	Others   []string       `json:"not_planned_for,omitempty"` // sites that may need the same vials
	From     day.Day        `json:"from"`
	Until    day.Day        `json:"until"` // the plan holds up to the day before
	Victims  int            `json:"victims"`
	Rule     string         `json:"rule,omitempty"` // whose terms these are; empty: none is loaded, the usual ones
	Counts   string         `json:"counts"`
	Currency string         `json:"currency,omitempty"`
	Budget   int            `json:"budget_per_year,omitempty"` // minor units
	Found    bool           `json:"found"`
	Proven   bool           `json:"proven_least_cost"`
	Cost     int            `json:"cost"`                // minor units
	Unbound  *int           `json:"cost_without_budget"` // where the budget makes the plan dearer, or impossible
	Bound    int            `json:"costs_at_least"`      // no plan costs less
	Stagger  *ReorderSpread `json:"stagger,omitempty"`
	Orders   []ReorderOrder `json:"orders"`
	Gaps     []ReorderGap   `json:"gaps"`
	Next     *ReorderNext   `json:"next_after_plan,omitempty"`
	Unused   []string       `json:"offers_not_used"` // and what they lack
	Apart    []CoverApart   `json:"apart"`
}

// ReorderOrder is an order of the plan.
type ReorderOrder struct {
	OrderBy  day.Day  `json:"order_by"`
	Arrives  day.Day  `json:"arrives"`
	LastGood day.Day  `json:"last_good"` // as the supplier promises
	Product  string   `json:"product"`
	Supplier string   `json:"supplier"`
	Packs    int      `json:"packs"`
	Vials    int      `json:"vials"`
	Cost     int      `json:"cost"`
	Without  []string `json:"without_it"` // who could not all be treated
	From     day.Day  `json:"without_it_from"`
}

// ReorderGap is a set of victims that no order helps in time.
type ReorderGap struct {
	From   day.Day  `json:"from"`
	Last   day.Day  `json:"last"`
	Worst  []string `json:"victims"`
	Mended bool     `json:"mended"` // by an order, after that
}

// ReorderNext is what lapses first after the plan, and by when to order.
type ReorderNext struct {
	On      day.Day  `json:"on"`
	OrderBy day.Day  `json:"order_by,omitzero"`
	Victims []string `json:"victims"`
}

// ReorderTerms say what to plan.
type ReorderTerms struct {
	Sites    []inventory.ID // at least one; several must share a place (PlannedTogether)
	Months   int
	Victims  int // 0: as the rule says
	Budget   int // minor units for each calendar year; 0: none
	Stagger  int // into so many parts, of which one may lapse in a calendar year; 0: not
	Currency string
}

// reordering is the making of a plan.
type reordering struct {
	*Reorder
	view     *compliance.View
	staged   *compliance.Staged
	problem  *reorder.Problem
	supplies []*inventory.Supply // by offer
}

// NewReorder makes the plan by the terms of the rule on cover that binds at the
// sites, from a report that counts what is planned. It refuses offers in
// several currencies, which cannot be added up.
func NewReorder(report *compliance.Report, t ReorderTerms) (*Reorder, error) {
	v := report.View
	from := v.Today(t.Sites[0])
	for _, site := range t.Sites {
		from = min(from, v.Today(site))
	}
	terms := report.CoverTerms(t.Sites[0], from)
	terms.Victims = cmp.Or(t.Victims, terms.Victims)
	r := &reordering{view: v, staged: v.StageAll(terms.Scene, terms.Bases, t.Sites), Reorder: &Reorder{Telling: Telling{!v.House().Mailed}, Format: Format,
		Now: v.Ask.Now.UTC(), From: from, Until: from.AddMonths(t.Months), Victims: terms.Victims, Counts: counting(terms.Scene),
		Currency: t.Currency, Budget: t.Budget, Orders: []ReorderOrder{}, Gaps: []ReorderGap{}, Unused: []string{}, Apart: []CoverApart{}}}
	r.tellSites(terms, from)
	r.problem = purchase(r.staged, r.From, r.Until)
	if err := r.offers(); err != nil {
		return nil, err
	}
	if err := r.problem.Check(); err != nil {
		return nil, fmt.Errorf("state the plan: %w", err)
	}
	r.plan(t.Stagger)
	return r.Reorder, nil
}

// tellSites says for which sites the plan is.
func (r *reordering) tellSites(terms compliance.CoverTerms, on day.Day) {
	for _, site := range r.staged.Sites {
		r.Sites = append(r.Sites, r.view.Site(site).Title)
		at := coverAt(r.view, terms, site, nil, on)
		r.Apart, r.Rule = append(r.Apart, at.Apart...), at.Rule
	}
	r.Site = strings.Join(r.Sites, ", ")
	for _, site := range r.staged.Others(r.view) {
		r.Others = append(r.Others, r.view.Site(site).Title)
	}
	if len(r.Sites) == 1 {
		return
	}
	for _, place := range r.staged.Shared(r.view) {
		r.KeepIn = append(r.KeepIn, r.view.NameOf(place.Ref()))
	}
}

// PlannedTogether says why no one plan can be made for some sites, by the
// rules on cover that bind there today: nil where one can.
func PlannedTogether(report *compliance.Report, sites []inventory.ID) error {
	v := report.View
	if len(sites) == 0 {
		return errors.New("no site is recorded")
	}
	terms := report.CoverTerms(sites[0], v.Today(sites[0]))
	differs := slices.ContainsFunc(sites, func(site inventory.ID) bool { return report.CoverTerms(site, v.Today(site)).Scene != terms.Scene })
	switch {
	case len(sites) == 1:
		return nil
	case differs:
		return fmt.Errorf("name the site: there are %d, and each needs its own plan, for their rules on cover differ", len(sites))
	case len(sites) > cover.MostSites:
		return fmt.Errorf("name the sites: there are %d, and a plan is for %d at most", len(sites), cover.MostSites)
	case terms.Within == compliance.OwnPlaces:
		return fmt.Errorf("name the site: there are %d, and each needs its own plan, for only vials in a site's own places count", len(sites))
	case len(v.StageAll(terms.Scene, terms.Bases, sites).Shared(v)) == 0:
		return fmt.Errorf("name the site, or those that share a place: no place is recorded as %d minutes away at most from all of the %d", terms.Within, len(sites))
	}
	return nil
}

// offers takes in what suppliers offer, and says of the rest what it lacks.
func (r *reordering) offers() error {
	for s := range r.view.Supplies.All() {
		product := slices.Index(r.staged.Products, s.Product)
		if product < 0 {
			continue
		}
		name := r.view.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: s.Product}) + " from " + s.Supplier
		lead, known := s.Lead(false)
		if lacks := lacking(s, known, r.From); lacks != "" {
			r.Unused = append(r.Unused, name+": "+lacks)
			continue
		}
		if r.Currency == "" {
			r.Currency = s.Currency
		}
		if s.Currency != r.Currency {
			return fmt.Errorf("%s is in %s, and others are in %s: record offers in one currency, for they cannot be added up", name, s.Currency, r.Currency)
		}
		r.supplies = append(r.supplies, s)
		r.problem.Offers = append(r.problem.Offers, reorder.Offer{Product: product, Pack: s.PackSize, Least: s.MinPacks, Price: int64(s.PackPrice), Fee: int64(s.OrderFee), Lead: lead, Life: s.Life})
	}
	slices.Sort(r.Unused)
	return nil
}

// lacking says why an offer cannot be planned with.
func lacking(s *inventory.Supply, lead bool, today day.Day) string {
	var lacks []string
	for _, l := range []struct {
		known bool
		name  string
	}{{s.PackSize > 0, "pack size"}, {s.PackPrice > 0, "price"}, {lead, "lead (or the days of its import paper)"}, {s.Life > 0, "life on arrival"}} {
		if !l.known {
			lacks = append(lacks, l.name)
		}
	}
	switch {
	case s.Offered().At(today) == inventory.No:
		return "it is not offered today"
	case len(lacks) > 0:
		return "not recorded: " + strings.Join(lacks, ", ")
	}
	return ""
}

// plan makes the plan and tells it.
func (r *reordering) plan(parts int) {
	if parts > 0 {
		r.problem.StaggerBy(parts)
	}
	free := r.problem.Make()
	plan := free
	if r.Budget > 0 {
		for year, _, _ := r.From.Date(); day.Of(year, time.January, 1) < r.Until; year++ {
			r.problem.Budgets = append(r.problem.Budgets, reorder.Budget{From: day.Of(year, time.January, 1), Most: int64(r.Budget)})
		}
		plan = r.problem.Make()
		if cost := int(free.Cost); !plan.Found || plan.Cost != free.Cost || plan.Over > free.Over {
			r.Unbound = &cost
		}
	}
	r.Found, r.Proven, r.Cost, r.Bound = plan.Found, plan.Proven, int(plan.Cost), int(plan.Bound)
	if parts > 0 {
		r.spread(parts, plan)
	}
	for i, o := range plan.Orders {
		offer, supply := r.problem.Offers[o.Offer], r.supplies[o.Offer]
		without := r.problem.Without(plan, i)
		r.Orders = append(r.Orders, ReorderOrder{OrderBy: o.OrderBy, Arrives: o.Arrives, LastGood: o.Ends - 1, Supplier: supply.Supplier,
			Product: r.view.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: supply.Product}), Packs: o.Packs, Vials: o.Packs * offer.Pack, Cost: int(o.Cost),
			Without: r.names(without.Period, without.Set), From: without.On})
	}
	for _, g := range plan.Gaps {
		r.Gaps = append(r.Gaps, ReorderGap{From: g.From, Last: g.Until - 1, Worst: r.names(g.Period, g.Set), Mended: g.Offered})
	}
	if plan.Found {
		if next, by := r.problem.After(plan, 5*365); !next.On.IsZero() {
			r.Next = &ReorderNext{next.On, by, r.names(next.Period, next.Set)}
		}
	}
}

// names gives the species of a set of a period's bites.
func (r *reordering) names(period int, set cover.Set) (out []string) {
	_, bites := r.staged.On(r.problem.Periods[period].From, false)
	for _, b := range set {
		out = append(out, r.staged.Species(r.view, r.staged.Bites[bites[b]]))
	}
	return out
}

// WriteText writes the plan for a terminal.
func (r *Reorder) WriteText(w io.Writer) error {
	p := &printer{w: w}
	p.line("%s: antivenom from %s to %s, for %s", r.Site, words.Day(r.From), words.Day(r.Until-1), words.Count(r.Victims, "victim"))
	p.field("counted", r.Counts+", "+byRule(r.Rule)+"; with what is ordered and not overdue")
	if len(r.KeepIn) > 0 {
		p.field("keep in", "what is ordered counts only in a place that all of these sites reach in time: "+strings.Join(r.KeepIn, ", "))
	}
	if len(r.Others) > 0 {
		p.field("not for", strings.Join(r.Others, ", ")+", which may need the same vials")
	}
	r.result(p)
	if r.Stagger != nil && r.Found {
		r.Stagger.write(p, r)
	}
	for _, o := range r.Orders {
		p.field(o.OrderBy.String(), fmt.Sprintf("order by this day: %s of %s (%s) from %s, %s; to be there on %s, good until %s. Without it, from %s: %s.",
			words.Count(o.Packs, "pack"), o.Product, words.Count(o.Vials, "vial"), o.Supplier, r.money(o.Cost), words.Day(o.Arrives), words.Day(o.LastGood),
			words.Day(o.From), strings.Join(o.Without, " + ")))
	}
	for _, g := range r.Gaps {
		p.field("gap", r.gap(g))
	}
	if r.Next != nil {
		p.field("after it", r.next())
	}
	for _, u := range r.Unused {
		p.field("not used", u)
	}
	for _, a := range r.Apart {
		p.field("apart", a.Species+": "+a.Words)
	}
	p.line("")
	p.text("Prices and leads are what is recorded; ask before ordering. " + words.Caution)
	return p.err
}

func (r *Reorder) result(p *printer) {
	switch {
	case !r.Found && r.Unbound != nil:
		p.field("no plan", fmt.Sprintf("keeps within %s a year; without that bound it costs %s", r.money(r.Budget), r.money(*r.Unbound)))
		return
	case !r.Found:
		p.field("no plan", "was found")
		return
	case len(r.Orders) == 0 && len(r.Gaps) == 0:
		p.field("nothing", "need be ordered")
		return
	}
	proof := "proven to be the least cost"
	if !r.Proven {
		proof = "not proven to be the least: no plan costs less than " + r.money(r.Bound)
	}
	if r.Stagger != nil {
		proof = r.Stagger.proof(r)
	}
	p.field("cost", r.money(r.Cost)+", "+proof)
	if r.Unbound != nil {
		p.field("budget", fmt.Sprintf("%s a year binds: without it the cost is %s", r.money(r.Budget), r.money(*r.Unbound)))
	}
}

func (r *Reorder) money(minor int) string {
	if r.Currency == "" {
		return "nothing"
	}
	return inventory.ShowMoney(minor, r.Currency)
}

func (r *Reorder) gap(g ReorderGap) string {
	text := fmt.Sprintf("from %s to %s no order helps %s", words.Day(g.From), words.Day(g.Last), strings.Join(g.Worst, " + "))
	if g.Mended {
		return text + ": keep these enclosures shut; then what is ordered is there"
	}
	return text + ": keep these enclosures shut; nobody offers what would help in time, as far as is recorded"
}

func (r *Reorder) next() string {
	text := fmt.Sprintf("on %s %s can no longer be treated", words.Day(r.Next.On), strings.Join(r.Next.Victims, " + "))
	if r.Next.OrderBy.IsZero() {
		return text
	}
	return text + "; order by " + words.Day(r.Next.OrderBy)
}
