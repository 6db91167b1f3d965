package compliance

import (
	"fmt"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Office is a role that a person holds at a site from a day on.
type Office struct {
	Role Role         `json:"role"`
	Site inventory.ID `json:"site,omitzero"` // zero: at every site
	From day.Day      `json:"from,omitzero"`
	Last day.Day      `json:"last,omitzero"` // last day in the role; unset: still
}

// Holds says whether the office is held on a day.
func (o Office) Holds(d day.Day) bool {
	return o.From <= d && (o.Last.IsZero() || d <= o.Last)
}

// Absence is a time in which somebody is not at work. Why is nobody's business
// here, and kept nowhere.
type Absence struct {
	From day.Day `json:"from"`          // first day away
	Last day.Day `json:"last,omitzero"` // last day away; unset: not known when back
}

// Person is somebody who works in the house.
type Person struct {
	ID      inventory.ID `json:"id"`
	Called  string       `json:"name"`
	Email   string       `json:"email,omitempty"` // empty: cannot be mailed
	Site    inventory.ID `json:"site,omitzero"`   // where the person's days end
	Offices []Office     `json:"offices,omitempty"`
	Joined  day.Day      `json:"joined,omitzero"`
	Leaves  day.Day      `json:"leaves,omitzero"` // first day no longer here
	Born    day.Day      `json:"born,omitzero"`
	// Away lists absences, one after the other.
	Away []Absence `json:"away,omitempty"`
}

// Ref points to the person.
func (p Person) Ref() inventory.Ref { return inventory.Ref{Kind: inventory.KindPerson, ID: p.ID} }

// Name gives the person's name or staff number.
func (p Person) Name() string { return p.Called }

// Check says what is wrong with the record's own fields.
func (p Person) Check() error {
	for _, o := range p.Offices {
		if err := o.Role.Check("offices.role"); err != nil {
			return err
		}
	}
	if err := inventory.Plain("email", p.Email); err != nil {
		return err
	}
	if !p.Born.IsZero() && !p.Joined.IsZero() && p.Born >= p.Joined {
		return &inventory.FieldError{Field: "born", Problem: fmt.Sprintf("must be before %s, the day of joining", p.Joined)}
	}
	if err := p.checkAway(); err != nil {
		return err
	}
	return inventory.RequiredText("name", p.Called)
}

func (p Person) checkAway() error {
	wrong := func(format string, args ...any) error {
		return &inventory.FieldError{Field: "away", Problem: fmt.Sprintf(format, args...)}
	}
	for i, a := range p.Away {
		switch {
		case a.From.IsZero():
			return wrong("has no first day: write it")
		case !a.Last.IsZero() && a.Last < a.From:
			return wrong("must not end on %s, before it begins on %s", a.Last, a.From)
		case i > 0 && (p.Away[i-1].Last.IsZero() || p.Away[i-1].Last >= a.From):
			return wrong("must follow one another: that from %s is not over on %s", p.Away[i-1].From, a.From)
		}
	}
	return nil
}

// AwayOn says whether the person is away on a day. An absence without an end
// goes on.
func (p Person) AwayOn(d day.Day) bool {
	for _, a := range p.Away {
		if a.From <= d && (a.Last.IsZero() || d <= a.Last) {
			return true
		}
	}
	return false
}

// Here says whether the person works in the house on a day.
func (p Person) Here(d day.Day) bool {
	return p.Joined <= d && (p.Leaves.IsZero() || d < p.Leaves)
}

// Has says whether the person holds a role at a site on a day.
func (p Person) Has(role Role, site inventory.ID, d day.Day) bool {
	if !p.Here(d) {
		return false
	}
	for _, o := range p.Offices {
		if o.Role == role && o.Holds(d) && (o.Site == inventory.ID{} || o.Site == site) {
			return true
		}
	}
	return false
}

// HasAnywhere says whether the person holds a role at any site on a day.
func (p Person) HasAnywhere(role Role, d day.Day) bool {
	if !p.Here(d) {
		return false
	}
	for _, o := range p.Offices {
		if o.Role == role && o.Holds(d) {
			return true
		}
	}
	return false
}
