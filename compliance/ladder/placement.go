package ladder

import (
	"fmt"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Placement puts a species, or a single animal, on another stage than its
// hazards do, from a day on. Upward whoever decides is heard: it is the
// cautious side. Downward only the head of collection is.
type Placement struct {
	ID      inventory.ID  `json:"id"`
	Subject inventory.Ref `json:"subject"` // a species or an animal
	Stage   int           `json:"stage"`
	On      day.Day       `json:"on"`             // first day
	Until   day.End       `json:"until,omitzero"` // last day; never: for good; unknown: upward for good, downward not sure
	By      inventory.ID  `json:"by"`             // who decided
	Reason  string        `json:"reason"`
}

// Ref points to the placement.
func (p Placement) Ref() inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPlacement, ID: p.ID}
}

// Name says where it places.
func (p Placement) Name() string { return fmt.Sprintf("on stage %d from %s", p.Stage, p.On) }

// Check says what is wrong with the record's own fields.
func (p Placement) Check() error {
	if p.Subject.Kind != inventory.KindSpecies && p.Subject.Kind != inventory.KindAnimal {
		return &inventory.FieldError{Field: "subject", Problem: "must be a species or an animal"}
	}
	if p.Stage < 1 || p.Stage > TopStage {
		return &inventory.FieldError{Field: "stage", Problem: fmt.Sprintf("must be 1 to %d", TopStage)}
	}
	if p.On.IsZero() {
		return &inventory.FieldError{Field: "on", Problem: "is not set: write the day from which it counts"}
	}
	if last, known := p.Until.Known(); known && last < p.On {
		return &inventory.FieldError{Field: "until", Problem: fmt.Sprintf("must not be before %s, the day from which it counts", p.On)}
	}
	return firstOf(inventory.Given("subject", p.Subject.ID), inventory.Given("by", p.By), inventory.RequiredText("reason", p.Reason))
}
