package inventory

import "fmt"

// Reach says how far a site is from a place: the minutes until vials kept
// there are at hand at the site, fetched by whoever would fetch them.
type Reach struct {
	Site    ID  `json:"site"`
	Minutes int `json:"minutes"` // at least 1
}

// Place is where antivenom is kept: a fridge, a shelf, a go-bag.
type Place struct {
	ID    ID     `json:"id"`
	Site  ID     `json:"site"`
	Title string `json:"name"` // unique per site
	// Min and Max bound what the place holds, in milli-degrees Celsius; both
	// 0 is unknown.
	Min int `json:"min_mc,omitempty"`
	Max int `json:"max_mc,omitempty"`
	// Reach lists the sites that vials kept here can be fetched to, and its
	// own site where that takes time.
	Reach []Reach `json:"reach,omitempty"`
	// Seals are those that its box or door has had, in order; empty: none is
	// recorded.
	Seals []Seal `json:"seals,omitempty"`
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
	if err := firstOf(given("site", p.Site), required("name", p.Title)); err != nil {
		return err
	}
	seen := make(map[ID]bool)
	for _, r := range p.Reach {
		switch {
		case r.Site == (ID{}):
			return &FieldError{Field: "reach", Problem: "must name a site"}
		case r.Minutes < 1:
			return &FieldError{Field: "reach", Problem: fmt.Sprintf("of %d minutes is not allowed: write at least 1, or leave the site out where nobody knows", r.Minutes)}
		case seen[r.Site]:
			return &FieldError{Field: "reach", Problem: "must name each site once"}
		}
		seen[r.Site] = true
	}
	return p.checkSeals()
}

// Minutes gives how long it takes until vials kept here are at hand at a site;
// false where nobody recorded that they can be. At its own site they are at
// hand at once, unless it says otherwise.
func (p Place) Minutes(site ID) (int, bool) {
	for _, r := range p.Reach {
		if r.Site == site {
			return r.Minutes, true
		}
	}
	return 0, site != ID{} && site == p.Site
}
