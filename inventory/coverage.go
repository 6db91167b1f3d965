package inventory

// Basis says on what ground a product is taken to work against a species.
type Basis string

// The grounds, strongest first. Excluded is the opposite of a ground: the
// source says that the product does not work.
const (
	Indicated    Basis = "indicated"    // the label's indication
	Immunogen    Basis = "immunogen"    // the species' venom was used to make it
	Paraspecific Basis = "paraspecific" // published effect beyond the label
	Excluded     Basis = "excluded"     // stated not to work
)

// Vials are planning figures per bite, for one victim: 0 is unknown.
type Vials struct {
	Initial int `json:"initial,omitempty"`
	Full    int `json:"full,omitempty"`
	Worst   int `json:"worst,omitempty"`
}

// Coverage says what one product is good for against one species, by one
// source, with how many vials. Of several sources each has a row of its own:
// Planning joins them.
type Coverage struct {
	ID      ID `json:"id"`
	Product ID `json:"product"`
	Species ID `json:"species"`
	// Locality is the jurisdiction path of the animals' origin for which the
	// row holds, such as in/tn; empty: for every origin.
	Locality  string         `json:"locality,omitempty"`
	Basis     Basis          `json:"basis"`
	Vials     []Dated[Vials] `json:"vials,omitempty"`
	Source    string         `json:"source"`
	Certainty Certainty      `json:"certainty"`
}

// Ref points to the coverage row.
func (c Coverage) Ref() Ref { return Ref{Kind: KindCoverage, ID: c.ID} }

// Name gives the ground; a coverage row has no name of its own.
func (c Coverage) Name() string { return string(c.Basis) + " by " + c.Source }

// Check says what is wrong with the record's own fields.
func (c Coverage) Check() error {
	if err := given("product", c.Product); err != nil {
		return err
	}
	if err := given("species", c.Species); err != nil {
		return err
	}
	if err := oneOf("basis", c.Basis, Indicated, Immunogen, Paraspecific, Excluded); err != nil {
		return err
	}
	if c.Locality != "" {
		if err := CheckJurisdiction("locality", c.Locality); err != nil {
			return err
		}
	}
	for _, v := range c.Vials {
		n := v.Value
		if n.Initial < 0 || n.Full < 0 || n.Worst < 0 || n.Full > 0 && n.Initial > n.Full {
			return &FieldError{Field: "vials", Problem: "must not be negative, and initial not above full"}
		}
	}
	if err := required("source", c.Source); err != nil {
		return err
	}
	return c.Certainty.Check()
}

// HoldsFor says whether the row holds for an animal whose line comes from a
// region (Origin.Region). A region that is unknown, or wider than the row's
// locality, may lie in it.
func (c Coverage) HoldsFor(region string) Tri {
	switch {
	case c.Locality == "":
		return Yes
	case region == "" || region != c.Locality && Within(c.Locality, region):
		return Unknown
	}
	return Bool(Within(region, c.Locality))
}
