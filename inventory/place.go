package inventory

// Place is where antivenom is kept: a fridge, a shelf, a go-bag.
type Place struct {
	ID    ID     `json:"id"`
	Site  ID     `json:"site"`
	Title string `json:"name"` // unique per site
	// Min and Max bound what the place holds, in milli-degrees Celsius; both
	// 0 is unknown.
	Min int `json:"min_mc,omitempty"`
	Max int `json:"max_mc,omitempty"`
}

// Ref points to the place.
func (p Place) Ref() Ref { return Ref{Kind: KindPlace, ID: p.ID} }

// Name gives the place's name.
func (p Place) Name() string { return p.Title }

// Check says what is wrong with the record's own fields.
func (p Place) Check() error {
	if p.Min > p.Max {
		return &FieldError{Field: "min_mc", Problem: "must not be above max_mc"}
	}
	if err := given("site", p.Site); err != nil {
		return err
	}
	return required("name", p.Title)
}
