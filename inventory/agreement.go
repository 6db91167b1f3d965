package inventory

import (
	"fmt"

	"antidotary/inventory/day"
)

// Confirmation is a partner's word on a day that so many vials are there for
// the house.
type Confirmation struct {
	On    day.Day `json:"on"`
	By    ID      `json:"by,omitzero"` // the person of the house who asked; zero: unknown
	Vials int     `json:"vials"`       // 0: none are there
}

// Agreement is a paper that the house and a partner have signed: the partner
// hands out antivenom for a site. Nothing that somebody else holds counts
// without one. It is no directory of who has what.
type Agreement struct {
	ID      ID     `json:"id"`
	Number  string `json:"number"` // of the paper; unique per product and site
	Partner string `json:"partner"`
	Site    ID     `json:"site"` // the site that is served
	Product ID     `json:"product"`
	Minutes int    `json:"minutes,omitempty"` // from the call until the vials are at the site; 0: unknown
	// Access is when vials can be had: any-time, or hours of the week (see
	// CheckAccess). Empty is unknown, which counts as not at any time.
	Access    string  `json:"access,omitempty"`
	Signed    day.Day `json:"signed"` // first day of the agreement
	Until     day.End `json:"until,omitzero"`
	Ended     day.Day `json:"ended,omitzero"`       // given notice before: it holds no longer from this day
	FreshDays int     `json:"fresh_days,omitempty"` // for how many days a confirmation lasts; 0: unknown, none does
	// Confirmations are what the partner said, ascending by day.
	Confirmations []Confirmation `json:"confirmations,omitempty"`
	Note          string         `json:"note,omitempty"`
}

// Ref points to the agreement.
func (a Agreement) Ref() Ref { return Ref{Kind: KindAgreement, ID: a.ID} }

// Name gives the number of the paper.
func (a Agreement) Name() string { return a.Number }

// Check says what is wrong with the record's own fields.
func (a Agreement) Check() error {
	if err := firstOf(required("number", a.Number), required("partner", a.Partner), given("site", a.Site), given("product", a.Product),
		notNegative("minutes", a.Minutes), notNegative("fresh_days", a.FreshDays), CheckAccess("access", a.Access)); err != nil {
		return err
	}
	if a.Signed.IsZero() {
		return &FieldError{Field: "signed", Problem: "is not set: write the day on which it was signed"}
	}
	if last, known := a.Until.Known(); known && last < a.Signed {
		return &FieldError{Field: "until", Problem: fmt.Sprintf("must not be before %s, the day on which it was signed", a.Signed)}
	}
	if !a.Ended.IsZero() && a.Ended < a.Signed {
		return &FieldError{Field: "ended", Problem: fmt.Sprintf("must not be before %s, the day on which it was signed", a.Signed)}
	}
	for i, c := range a.Confirmations {
		if c.On.IsZero() || i > 0 && c.On < a.Confirmations[i-1].On {
			return &FieldError{Field: "confirmations", Problem: "must have days, in ascending order"}
		}
		if c.Vials < 0 {
			return &FieldError{Field: "confirmations", Problem: "must not have less than no vials"}
		}
	}
	return nil
}

// InForce gives the days on which the agreement holds, from its signature to
// its last day. Where its end is not known it may or may not hold.
func (a Agreement) InForce() day.Line[Tri] {
	b := day.NewBuilder(No)
	b.Add(a.Signed, Unknown)
	if !a.Until.IsZero() {
		b.Add(a.Signed, Yes)
	}
	ends := a.Ended
	if last, known := a.Until.Known(); known && (ends.IsZero() || last < ends) {
		ends = last + 1
	}
	if !ends.IsZero() {
		b.Add(ends, No)
	}
	return b.Line()
}

// told is what the newest confirmation says on a day.
type told struct {
	vials int
	fresh bool
}

// Usable gives the vials that may be had under the agreement on each day:
// those of the newest confirmation, for sure while the agreement is in force
// and the confirmation fresh; else, where it may be in force or the
// confirmation is stale, at most. With anyTimeOnly, vials that cannot be had
// at any time are not sure either.
func (a Agreement) Usable(anyTimeOnly bool) day.Line[Quantity] {
	sure := a.Access == AnyTime || !anyTimeOnly
	return day.Combine(a.InForce(), a.said(), func(holds Tri, t told) Quantity {
		switch {
		case holds == No:
			return Quantity{}
		case holds == Yes && t.fresh && sure:
			return Quantity{t.vials, t.vials}
		default:
			return Quantity{0, t.vials}
		}
	})
}

// said is the newest confirmation on each day, and whether it is fresh: on its
// own day and for FreshDays after.
func (a Agreement) said() day.Line[told] {
	b := day.NewBuilder(told{})
	for i, c := range a.Confirmations {
		stale := c.On
		if a.FreshDays > 0 {
			b.Add(c.On, told{c.Vials, true})
			stale = c.On.Add(a.FreshDays) + 1
		}
		if i+1 == len(a.Confirmations) || stale < a.Confirmations[i+1].On {
			b.Add(stale, told{c.Vials, false})
		}
	}
	return b.Line()
}
