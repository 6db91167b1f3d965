package inventory

import (
	"fmt"

	"antidotary/inventory/day"
)

// PlanKind says what is going to happen.
type PlanKind string

// The planned events. Arrivals, litters and people leaving are burdens and
// always count; animals leaving and vials arriving are gains and count only
// under the assumption that plans come true.
const (
	PlanArrival PlanKind = "animals-arrive"
	PlanLitter  PlanKind = "litter"
	PlanLeaving PlanKind = "animal-leaves"
	PlanVials   PlanKind = "vials-arrive"
	PlanPerson  PlanKind = "person-leaves"
)

// Planned is an event that is expected on a day.
type Planned struct {
	ID      ID       `json:"id"`
	Kind    PlanKind `json:"kind"`
	On      day.Day  `json:"on"`
	Site    ID       `json:"site,omitzero"`    // arrival, litter, vials
	Species ID       `json:"species,omitzero"` // arrival, litter
	Product ID       `json:"product,omitzero"` // vials
	Subject Ref      `json:"subject,omitzero"` // the animal or person that leaves
	Count   int      `json:"count,omitempty"`  // animals or vials
	Until   day.End  `json:"until,omitzero"`   // label end of the vials
	Note    string   `json:"note,omitempty"`
	// Cancelled is the day on which the plan was dropped, or came true and
	// was recorded as a fact.
	Cancelled day.Day `json:"cancelled,omitzero"`
}

// Ref points to the planned event.
func (p Planned) Ref() Ref { return Ref{Kind: KindPlanned, ID: p.ID} }

// Name says what is planned and when.
func (p Planned) Name() string { return string(p.Kind) + " on " + p.On.String() }

// Check says what is wrong with the record's own fields.
func (p Planned) Check() error {
	if p.On.IsZero() {
		return &FieldError{Field: "on", Problem: "is not set: write the expected day"}
	}
	switch p.Kind {
	case PlanArrival, PlanLitter:
		return firstOf(given("site", p.Site), given("species", p.Species), positive("count", p.Count))
	case PlanVials:
		if last, known := p.Until.Known(); known && last < p.On {
			return &FieldError{Field: "until", Problem: fmt.Sprintf("must not be before %s, the day on which the vials arrive", p.On)}
		}
		return firstOf(given("site", p.Site), given("product", p.Product), positive("count", p.Count))
	case PlanLeaving, PlanPerson:
		return given("subject", p.Subject.ID)
	}
	return oneOf("kind", p.Kind, PlanArrival, PlanLitter, PlanLeaving, PlanVials, PlanPerson)
}

func positive(field string, n int) error {
	if n > 0 {
		return nil
	}
	return &FieldError{Field: field, Problem: "must be at least 1"}
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
