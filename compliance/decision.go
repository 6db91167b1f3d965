package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Ruling is what the house decided.
type Ruling string

// The rulings. Those about papers, lots and holdings end a reminder lawfully;
// none makes anything lawful.
const (
	// WillNotRenew: a paper is left to end; what it allows must end too.
	WillNotRenew Ruling = "will-not-renew"
	// RunDown: a holding's antivenom (or one lot) is not reordered; the
	// species must leave before cover ends.
	RunDown Ruling = "run-down"
	// HoldWithout: a species for which no antivenom exists is held all the
	// same, known and approved.
	HoldWithout Ruling = "hold-without-antivenom"
	// WorksAlone: one person runs a site, and what elsewhere needs a witness
	// is done there without one. It ends no reminder.
	WorksAlone Ruling = "works-alone"
)

// Decision is a ruling about a subject, by a named person, with its reason
// and consequence.
type Decision struct {
	ID          inventory.ID  `json:"id"`
	Ruling      Ruling        `json:"ruling"`
	Subject     inventory.Ref `json:"subject"` // a permit, a lot or a holding; of works-alone a site
	By          inventory.ID  `json:"by"`      // person
	On          day.Day       `json:"on"`      // counts from this day
	Last        day.Day       `json:"last,omitzero"`
	Why         string        `json:"why"`
	Consequence string        `json:"consequence"`
}

// Ref points to the decision.
func (d Decision) Ref() inventory.Ref {
	return inventory.Ref{Kind: inventory.KindDecision, ID: d.ID}
}

// Name says what was decided and when.
func (d Decision) Name() string { return string(d.Ruling) + " of " + d.On.String() }

// Check says what is wrong with the record's own fields.
func (d Decision) Check() error {
	if err := inventory.OneOf("ruling", d.Ruling, WillNotRenew, RunDown, HoldWithout, WorksAlone); err != nil {
		return err
	}
	if d.On.IsZero() || !d.Last.IsZero() && d.Last < d.On {
		return &inventory.FieldError{Field: "on", Problem: "must be set, and last not before it"}
	}
	if err := inventory.Given("subject", d.Subject.ID); err != nil {
		return err
	}
	if d.Ruling == WorksAlone && d.Subject.Kind != inventory.KindSite {
		return &inventory.FieldError{Field: "subject", Problem: "must be a site: works-alone says that one person runs it"}
	}
	if err := inventory.Given("by", d.By); err != nil {
		return err
	}
	if err := inventory.RequiredText("why", d.Why); err != nil {
		return err
	}
	return inventory.RequiredText("consequence", d.Consequence)
}

// Line says on which days the decision counts.
func (d *Decision) Line() day.Line[bool] {
	b := day.NewBuilder(false)
	b.Add(d.On, true)
	if !d.Last.IsZero() {
		b.Add(d.Last+1, false)
	}
	return b.Line()
}
