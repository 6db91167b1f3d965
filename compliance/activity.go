package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Activity is something that was done and that a rule asks for every so
// often: a drill, a count, an inspection, a certificate earned, a report sent.
type Activity struct {
	ID      inventory.ID  `json:"id"`
	What    string        `json:"what"`    // the word that rules ask for: drill.escape
	Subject inventory.Ref `json:"subject"` // a site, person, place or the organisation
	On      day.Day       `json:"on"`
	By      inventory.ID  `json:"by,omitzero"` // the person who did or led it
	// Passed says whether it counts: a failed inspection was held, but not
	// passed. Unknown does not count, and does not count as failed either.
	Passed inventory.Tri `json:"passed,omitzero"`
	// Until is the last good day of a certificate; unknown where it is not
	// one.
	Until day.End `json:"until,omitzero"`
	// Year is the year that a yearly report is for; 0 where it is not one.
	Year int    `json:"year,omitempty"`
	Note string `json:"note,omitempty"`
}

// Ref points to the activity.
func (a Activity) Ref() inventory.Ref {
	return inventory.Ref{Kind: inventory.KindActivity, ID: a.ID}
}

// Name says what was done and when.
func (a Activity) Name() string { return a.What + " on " + a.On.String() }

// Check says what is wrong with the record's own fields.
func (a Activity) Check() error {
	if err := CheckClass("what", a.What); err != nil {
		return err
	}
	if a.On.IsZero() {
		return &inventory.FieldError{Field: "on", Problem: "is not set: write the day on which it was done"}
	}
	return inventory.Given("subject", a.Subject.ID)
}
