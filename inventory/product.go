package inventory

import (
	"fmt"
	"slices"

	"antidotary/inventory/label"
)

// Product is an antivenom by its nonproprietary type. Vial counts are
// planning figures; the treating clinician, the poison centre and the label
// decide.
type Product struct {
	ID   ID     `json:"id"`
	Type string `json:"type"` // unique: nonproprietary name, host and fragment
	Form string `json:"form,omitempty"`
	// StoreMin and StoreMax bound the labelled storage range in milli-degrees
	// Celsius; both 0 is unknown.
	StoreMin int `json:"store_min_mc,omitempty"`
	StoreMax int `json:"store_max_mc,omitempty"`
	PackSize int `json:"pack_size,omitempty"` // vials per pack, 0 unknown
	// LeadDays is how long a supplier needs from order to arrival, in
	// calendar days, 0 unknown.
	LeadDays int `json:"lead_days,omitempty"`
	// Approval is the class of paper under which the product may be held or
	// used, where it is not registered; NoPaperNeeded where it needs none; empty:
	// nobody has recorded it.
	Approval string `json:"approval,omitempty"`
	// GTINs are the trade item numbers on its packages, each of 14 digits, by
	// which a scanned code finds it. A single pack and a case have different
	// ones. No two products have one in common.
	GTINs     []string  `json:"gtins,omitempty"`
	Source    string    `json:"source,omitempty"`
	Certainty Certainty `json:"certainty,omitempty"`
}

// NoPaperNeeded is the Approval of a product that may be held and used without
// a paper of its own.
const NoPaperNeeded = "none-needed"

// Ref points to the product.
func (p Product) Ref() Ref { return Ref{Kind: KindProduct, ID: p.ID} }

// Name gives the nonproprietary type.
func (p Product) Name() string { return p.Type }

// Check says what is wrong with the record's own fields.
func (p Product) Check() error {
	if p.StoreMin > p.StoreMax {
		return &FieldError{Field: "store_min_mc", Problem: "must not be above store_max_mc"}
	}
	if p.PackSize < 0 || p.LeadDays < 0 {
		return &FieldError{Field: "pack_size, lead_days", Problem: "must not be negative; 0 is unknown"}
	}
	if err := required("type", p.Type); err != nil {
		return err
	}
	if err := optionalWord("approval", p.Approval); err != nil {
		return err
	}
	if err := p.checkGTINs(); err != nil {
		return err
	}
	return p.Certainty.Check()
}

func (p Product) checkGTINs() error {
	for i, gtin := range p.GTINs {
		padded, err := label.TradeItem(gtin)
		if err != nil {
			return &FieldError{Field: "gtins", Problem: err.Error()}
		}
		if padded != gtin {
			return &FieldError{Field: "gtins", Problem: fmt.Sprintf("%q must have 14 digits: write %s", gtin, padded)}
		}
		if slices.Contains(p.GTINs[:i], gtin) {
			return &FieldError{Field: "gtins", Problem: gtin + " is there twice"}
		}
	}
	return nil
}
