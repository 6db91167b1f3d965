package inventory

// Organisation is the house that keeps the collection. All records belong to
// one.
type Organisation struct {
	ID    ID     `json:"id"`
	Title string `json:"name"`
	// Mailed says whether the house sends mail at all. In a house without
	// mail every page says that nobody is being told.
	Mailed bool `json:"mailed"`
	// Victims is how many people bitten at once the house plans for, at
	// least 1.
	Victims int `json:"victims"`
}

// Ref points to the organisation.
func (o Organisation) Ref() Ref { return Ref{Kind: KindOrganisation, ID: o.ID} }

// Name gives the organisation's name.
func (o Organisation) Name() string { return o.Title }

// Check says what is wrong with the record's own fields.
func (o Organisation) Check() error {
	if o.Victims < 1 || o.Victims > 9 {
		return &FieldError{Field: "victims", Problem: "must be 1 to 9: the number of people bitten at once that the house plans for"}
	}
	return required("name", o.Title)
}
