package compliance

import (
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

// Person is somebody who works in the house.
type Person struct {
	ID      inventory.ID `json:"id"`
	Called  string       `json:"name"`
	Email   string       `json:"email,omitempty"` // empty: cannot be mailed
	Site    inventory.ID `json:"site,omitzero"`   // where the person's days end
	Offices []Office     `json:"offices,omitempty"`
	Joined  day.Day      `json:"joined,omitzero"`
	Leaves  day.Day      `json:"leaves,omitzero"` // first day no longer here
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
	return inventory.RequiredText("name", p.Called)
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
