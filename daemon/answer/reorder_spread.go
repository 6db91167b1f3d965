package answer

import (
	"fmt"

	"antidotary/inventory"
	"antidotary/inventory/reorder"
	"antidotary/notify/words"
)

// ReorderSpread is how far a plan keeps what lapses in one calendar year to a
// part of what the planned victims may need.
type ReorderSpread struct {
	Parts int  `json:"parts"`
	Held  bool `json:"held"` // no order goes beyond it
	// Over is by how many vials the orders go beyond it; no plan goes less than
	// Least beyond it.
	Over  int `json:"vials_beyond"`
	Least int `json:"vials_beyond_at_least"`
	// Without is what the plan would cost without staggering, where that
	// differs.
	Without *int           `json:"cost_without_stagger"`
	Beyond  []ReorderLapse `json:"beyond"`
}

// ReorderLapse is more vials of a product than may have their last good day in
// a calendar year.
type ReorderLapse struct {
	Product string `json:"product"`
	Year    int    `json:"year"`
	Vials   int    `json:"vials"`
	Ordered int    `json:"of_these_ordered"` // by the plan; the others are in stock
	Most    int    `json:"may_lapse"`
}

// spread tells how far a plan is staggered.
func (r *reordering) spread(parts int, plan *reorder.Plan) {
	s := &ReorderSpread{Parts: parts, Held: plan.Found && plan.Over == 0, Over: plan.Over, Least: plan.LeastOver, Beyond: []ReorderLapse{}}
	r.Stagger = s
	if !plan.Found {
		return
	}
	for _, l := range r.problem.Lapsing(plan.Orders) {
		product := inventory.Ref{Kind: inventory.KindProduct, ID: r.staged.Products[l.Product]}
		s.Beyond = append(s.Beyond, ReorderLapse{r.view.NameOf(product), l.Year, l.Vials, l.Ordered, l.Most})
	}
	free := *r.problem
	free.Stagger = nil
	if cost := int(free.Make().Cost); cost != r.Cost {
		s.Without = &cost
	}
}

// proof says what is proven of the plan.
func (s *ReorderSpread) proof(r *Reorder) string {
	switch {
	case r.Proven && s.Held:
		return "proven to be the least cost with staggering"
	case r.Proven:
		return "proven to be the least cost of the plans that come nearest to staggering"
	case s.Over > s.Least && s.Least == 0:
		return "not proven to come nearest to staggering; no plan costs less than " + r.money(r.Bound)
	case s.Over > s.Least:
		return fmt.Sprintf("not proven to come nearest to staggering: no plan goes less than %s beyond it", words.Count(s.Least, "vial"))
	default:
		return "not proven to be the least: no plan that is staggered as far costs less than " + r.money(r.Bound)
	}
}

func (s *ReorderSpread) write(p *printer, r *Reorder) {
	text := fmt.Sprintf("of each product at most one part in %d of what the planned victims may need lapses in a calendar year: ", s.Parts)
	if s.Held {
		text += "held by every order"
	} else {
		text += fmt.Sprintf("CANNOT BE HELD, by %s of the orders", words.Count(s.Over, "vial"))
	}
	if s.Without != nil {
		text += "; without staggering the cost is " + r.money(*s.Without)
	}
	p.field("staggered", text)
	for _, l := range s.Beyond {
		p.field("lapse", fmt.Sprintf("%s of %s in %d, where %d may: %d in stock and %d of the orders", words.Count(l.Vials, "vial"), l.Product, l.Year, l.Most, l.Vials-l.Ordered, l.Ordered))
	}
}
