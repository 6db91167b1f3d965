package compliance

import "antidotary/inventory"

// Authority issues and decides papers. Its calendar says on which days its
// office is open, its zone where its deadlines end.
type Authority struct {
	ID       inventory.ID `json:"id"`
	Title    string       `json:"name"`
	Zone     string       `json:"zone"`
	Calendar string       `json:"calendar,omitempty"` // of package day's holiday data; empty: weekends only
	// PostDays is how many working days a letter to it takes.
	PostDays int `json:"post_days,omitempty"`
}

// Ref points to the authority.
func (a Authority) Ref() inventory.Ref {
	return inventory.Ref{Kind: inventory.KindAuthority, ID: a.ID}
}

// Name gives the authority's name.
func (a Authority) Name() string { return a.Title }

// Check says what is wrong with the record's own fields.
func (a Authority) Check() error {
	if a.PostDays < 0 || a.PostDays > 60 {
		return &inventory.FieldError{Field: "post_days", Problem: "must be 0 to 60 working days"}
	}
	if err := inventory.CheckZone("zone", a.Zone); err != nil {
		return err
	}
	return inventory.RequiredText("name", a.Title)
}
