package inventory

import (
	"fmt"

	"antidotary/inventory/day"
)

// Supply is one supplier's offer of a product: in what packs, at what price,
// and how long it takes. Money is in minor units of Currency (pence, cents;
// whole yen). Days are calendar days.
type Supply struct {
	ID       ID     `json:"id"`
	Product  ID     `json:"product"`
	Supplier string `json:"supplier"`
	PackSize int    `json:"pack_size,omitempty"` // vials in a pack; 0: unknown
	MinPacks int    `json:"min_packs,omitempty"` // least packs of one order; 0: unknown
	// PackPrice and OrderFee are what a pack and, whatever its size, an order
	// cost. A price of 0 is unknown; a fee of 0 is none that is known of.
	PackPrice int    `json:"pack_price,omitempty"`
	OrderFee  int    `json:"order_fee,omitempty"`
	Currency  string `json:"currency,omitempty"` // ISO 4217; empty where no money is given
	// LeadDays is how long it takes from the order until the vials are at the
	// door; 0: unknown.
	LeadDays int `json:"lead_days,omitempty"`
	// Paper is the class of the import paper that an order needs, and PaperDays
	// how long getting it takes where none is in force, 0 unknown. Without a
	// class and days no paper is known to be needed.
	Paper     string `json:"paper,omitempty"`
	PaperDays int    `json:"paper_days,omitempty"`
	// CustomsDays and CheckDays come on top of the lead: at customs, and at
	// the house until the vials are checked. 0: none beyond the lead is known.
	CustomsDays int `json:"customs_days,omitempty"`
	CheckDays   int `json:"check_days,omitempty"`
	// Life is for how many days the supplier promises that vials stay in date
	// from the day on which they arrive; 0: unknown.
	Life      int       `json:"life_days,omitempty"`
	From      day.Day   `json:"from,omitzero"`  // first day of the offer; unset: unknown, it counts since ever
	Until     day.End   `json:"until,omitzero"` // last day of the offer
	Source    string    `json:"source,omitempty"`
	Certainty Certainty `json:"certainty,omitempty"`
}

// Ref points to the supply.
func (s Supply) Ref() Ref { return Ref{Kind: KindSupply, ID: s.ID} }

// Name gives who supplies.
func (s Supply) Name() string { return s.Supplier }

// Check says what is wrong with the record's own fields.
func (s Supply) Check() error {
	if err := firstOf(given("product", s.Product), required("supplier", s.Supplier),
		notNegative("pack_size", s.PackSize), notNegative("min_packs", s.MinPacks),
		notNegative("pack_price", s.PackPrice), notNegative("order_fee", s.OrderFee),
		notNegative("lead_days", s.LeadDays), notNegative("paper_days", s.PaperDays),
		notNegative("customs_days", s.CustomsDays), notNegative("check_days", s.CheckDays),
		notNegative("life_days", s.Life), optionalWord("paper", s.Paper)); err != nil {
		return err
	}
	if s.Currency != "" || s.PackPrice > 0 || s.OrderFee > 0 {
		if err := CheckCurrency("currency", s.Currency); err != nil {
			return err
		}
	}
	if last, known := s.Until.Known(); known && last < s.From {
		return &FieldError{Field: "until", Problem: fmt.Sprintf("must not be before %s, the first day of the offer", s.From)}
	}
	return s.Certainty.Check()
}

// Lead gives the calendar days from the order until the vials are checked and
// at hand: the supplier's lead, the import paper where one is needed and none
// is in force, customs and checking. Where the lead or the paper's days are
// not known, neither is the sum: then days is only a lower bound.
func (s Supply) Lead(paperInForce bool) (days int, known bool) {
	days, known = s.LeadDays+s.CustomsDays+s.CheckDays, s.LeadDays > 0
	if paperInForce {
		return days, known
	}
	if s.Paper != "" && s.PaperDays == 0 {
		known = false
	}
	return days + s.PaperDays, known
}

// Offered gives the days on which the supplier can be ordered from by this
// offer. From the first day of an offer whose end nobody recorded it is not
// known.
func (s Supply) Offered() day.Line[Tri] {
	on := Yes
	if s.Until.IsZero() {
		on = Unknown
	}
	b := day.NewBuilder(on)
	if !s.From.IsZero() {
		b = day.NewBuilder(No)
		b.Add(s.From, on)
	}
	if last, known := s.Until.Known(); known {
		b.Add(last+1, No)
	}
	return b.Line()
}
