package inventory

import (
	"antidotary/inventory/day"
)

// Reason says why vials moved.
type Reason string

// The reasons for a movement.
const (
	Received  Reason = "received"
	Counted   Reason = "count-adjusted"
	Used      Reason = "used"
	Discarded Reason = "discarded"
	LentOut   Reason = "lent"
	Returned  Reason = "returned"
	Moved     Reason = "moved"
)

// Movement adds vials to a place, or takes them away, from a day on.
type Movement struct {
	On     day.Day `json:"on"`
	Place  ID      `json:"place"`
	Vials  int     `json:"vials"` // negative: taken away
	Reason Reason  `json:"reason"`
	Note   string  `json:"note,omitempty"` // to whom lent, why discarded
}

// Extension is a regulator's word that one very lot may be used beyond its
// label, from the day of the notice on.
type Extension struct {
	Noticed   day.Day `json:"noticed"`
	Until     day.Day `json:"until"` // last usable day
	Reference string  `json:"reference"`
}

// Hold takes a lot out of use: recall, quarantine, a temperature excursion.
type Hold struct {
	From     day.Day `json:"from"`
	Released day.Day `json:"released,omitzero"` // usable again from this day; unset: still held
	Why      string  `json:"why"`
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
	return l.checkMovements()
}

func (l Lot) checkMovements() error {
	left := make(map[ID]int)
	for i, m := range l.Movements {
		if m.On.IsZero() || i > 0 && m.On < l.Movements[i-1].On {
			return &FieldError{Field: "movements", Problem: "must have days, in ascending order"}
		}
		if err := oneOf("movements.reason", m.Reason, Received, Counted, Used, Discarded, LentOut, Returned, Moved); err != nil {
			return err
		}
		left[m.Place] += m.Vials
		if left[m.Place] < 0 {
			return &FieldError{Field: "movements", Problem: "take more vials from a place than are there on " + m.On.String()}
		}
	}
	return nil
}
