package inventory

import (
	"fmt"

	"antidotary/inventory/day"
)

// Departure says how an animal left the collection.
type Departure string

// The ways in which an animal leaves.
const (
	Died        Departure = "death"
	Transferred Departure = "transfer"
	Lent        Departure = "loan"
	Escaped     Departure = "escape"
	Released    Departure = "release"
)

// Disposition is how, when and whereto an animal left.
type Disposition struct {
	How Departure `json:"how"`
	On  day.Day   `json:"on"` // the animal is not held on this day
	To  string    `json:"to,omitempty"`
}

// Stay is an animal's time in one enclosure, from a day on.
type Stay struct {
	Enclosure ID      `json:"enclosure"`
	From      day.Day `json:"from"`
}

// Origin is where an animal comes from.
type Origin struct {
	Bred    Tri    `json:"captive_bred,omitzero"`
	Country string `json:"country,omitempty"`
	// Region is the jurisdiction path of where the animal's line comes from,
	// from the country down, such as in/tn: venom differs by it. Empty: unknown.
	Region string `json:"region,omitempty"`
}

// Animal is one accession of the collection.
type Animal struct {
	ID         ID           `json:"id"`
	Accession  string       `json:"accession"` // unique per organisation
	Species    ID           `json:"species"`
	ReceivedAs string       `json:"received_as,omitempty"` // the name on the papers it came with
	Owner      string       `json:"owner,omitempty"`       // title
	Custodian  Ref          `json:"custodian,omitzero"`    // who keeps it: a person or the organisation
	Origin     Origin       `json:"origin,omitzero"`
	Born       day.Day      `json:"born,omitzero"`
	Arrived    day.Day      `json:"arrived,omitzero"` // unset: unknown
	From       string       `json:"from,omitempty"`
	Left       *Disposition `json:"left,omitempty"`
	Stays      []Stay       `json:"stays,omitempty"` // ascending by day
}

// Ref points to the animal.
func (a Animal) Ref() Ref { return Ref{Kind: KindAnimal, ID: a.ID} }

// Name gives the accession number.
func (a Animal) Name() string { return a.Accession }

// Check says what is wrong with the record's own fields.
func (a Animal) Check() error {
	if err := required("accession", a.Accession); err != nil {
		return err
	}
	if err := given("species", a.Species); err != nil {
		return err
	}
	if a.Origin.Region != "" {
		if err := CheckJurisdiction("origin.region", a.Origin.Region); err != nil {
			return err
		}
	}
	if a.Left != nil {
		if err := a.Left.check(a.Arrived); err != nil {
			return err
		}
	}
	for i, s := range a.Stays {
		if s.From.IsZero() || i > 0 && s.From < a.Stays[i-1].From {
			return &FieldError{Field: "stays", Problem: "must have days, in ascending order"}
		}
		if a.Left != nil && s.From > a.Left.On {
			return &FieldError{Field: "stays", Problem: fmt.Sprintf("must not begin after the animal left on %s", a.Left.On)}
		}
	}
	return nil
}

func (d Disposition) check(arrived day.Day) error {
	if err := oneOf("left.how", d.How, Died, Transferred, Lent, Escaped, Released); err != nil {
		return err
	}
	if d.On.IsZero() || d.On < arrived {
		return &FieldError{Field: "left.on", Problem: fmt.Sprintf("must be a day not before the arrival %s", arrived)}
	}
	return nil
}
