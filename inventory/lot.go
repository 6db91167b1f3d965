package inventory

import (
	"antidotary/inventory/day"
)

// Movement adds vials to an account of the house, a lot at a place in a
// condition, or takes them away, from a day on. It is one side of a double
// entry; the reason names the other (Reason.Against).
type Movement struct {
	On        day.Day   `json:"on"`
	Place     ID        `json:"place"`
	Vials     int       `json:"vials"` // negative: taken away
	Reason    Reason    `json:"reason"`
	Condition Condition `json:"condition,omitempty"` // empty: unknown
	// Loan is the number of the loan that lent or returned vials belong to; 0:
	// its terms are not recorded.
	Loan int `json:"loan,omitempty"`
	// By did it, Witness watched, persons both. Unwitnessed says why nobody
	// did. All are empty where the house did not ask.
	By          ID     `json:"by,omitzero"`
	Witness     ID     `json:"witness,omitzero"`
	Unwitnessed string `json:"unwitnessed,omitempty"`
	Note        string `json:"note,omitempty"` // why discarded
}

// Extension is a regulator's word that one very lot may be used beyond its
// label, from the day of the notice on.
type Extension struct {
	Noticed   day.Day `json:"noticed"`
	Until     day.Day `json:"until"` // last usable day
	Reference string  `json:"reference"`
}

// Hold takes a lot out of use: all of it (a recall) or what is at one place (a
// warm fridge).
type Hold struct {
	From     day.Day `json:"from"`
	Released day.Day `json:"released,omitzero"` // usable again from this day; unset: still held
	Place    ID      `json:"place,omitzero"`    // zero: the whole lot, wherever it is
	Why      string  `json:"why"`
}

// On says whether the hold counts on a day. Where it begins and is released
// on one day, it counts that day.
func (h Hold) On(d day.Day) bool {
	return d == h.From || d > h.From && (h.Released.IsZero() || d < h.Released)
}

// Lot is a batch of one product as the house holds it.
type Lot struct {
	ID      ID     `json:"id"`
	Product ID     `json:"product"`
	Number  string `json:"number"` // unique per product
	// Labelled is the last usable day on the label; a label with month and
	// year only means the last day of that month (USP <7>). MonthOnly keeps
	// that it was so.
	Labelled   day.End     `json:"labelled,omitzero"`
	MonthOnly  bool        `json:"month_only,omitempty"`
	Extensions []Extension `json:"extensions,omitempty"`
	Holds      []Hold      `json:"holds,omitempty"`
	Promises   []Promise   `json:"promises,omitempty"`
	Loans      []Loan      `json:"loans,omitempty"`
	Movements  []Movement  `json:"movements,omitempty"`
}

// Ref points to the lot.
func (l Lot) Ref() Ref { return Ref{Kind: KindLot, ID: l.ID} }

// Name gives the lot number.
func (l Lot) Name() string { return l.Number }

// Check says what is wrong with the record's own fields.
func (l Lot) Check() error {
	if err := given("product", l.Product); err != nil {
		return err
	}
	if err := required("number", l.Number); err != nil {
		return err
	}
	if l.Labelled.Kind == day.Never {
		return &FieldError{Field: "labelled", Problem: "never is not allowed: antivenom has an expiry; leave it out if it is unknown"}
	}
	for _, h := range l.Holds {
		if h.From.IsZero() || !h.Released.IsZero() && h.Released < h.From {
			return &FieldError{Field: "holds", Problem: "must have a first day, and a release not before it"}
		}
	}
	for _, e := range l.Extensions {
		if e.Noticed.IsZero() || e.Until < e.Noticed {
			return &FieldError{Field: "extensions", Problem: "must have the day of the notice, and an end not before it"}
		}
		if err := required("extensions.reference", e.Reference); err != nil {
			return err
		}
	}
	for i, p := range l.Promises {
		if err := p.check(i + 1); err != nil {
			return err
		}
	}
	for i, n := range l.Loans {
		if err := n.check(i + 1); err != nil {
			return err
		}
	}
	return l.checkBook()
}
