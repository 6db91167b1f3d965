package compliance

import (
	"fmt"
	"strings"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Activity is something that was done, or that happened, and that a rule asks
// about: a drill, a count, an inspection, a certificate earned, a report sent;
// an escape or a bite; an authority told of it; a label read.
type Activity struct {
	ID      inventory.ID  `json:"id"`
	What    string        `json:"what"`    // the word that rules ask for: drill.escape
	Subject inventory.Ref `json:"subject"` // a site, person, place, animal, paper or the organisation
	On      day.Day       `json:"on"`      // where it was done
	// At is the instant of it, in UTC and whole seconds; zero: only the day is
	// known.
	At time.Time    `json:"at,omitzero"`
	By inventory.ID `json:"by,omitzero"` // the person who did or led it
	// Passed says whether it counts: a failed inspection was held, but not
	// passed. Unknown does not count, and does not count as failed either.
	Passed inventory.Tri `json:"passed,omitzero"`
	// Until is the last good day of a certificate; unknown where it is not
	// one.
	Until day.End `json:"until,omitzero"`
	// Year is the year that a yearly report is for; 0 where it is not one.
	Year int `json:"year,omitempty"`
	// Fields is what a label or a document was found to carry, in the words of
	// the rule that asks for it; empty: nobody wrote down what.
	Fields []string `json:"fields,omitempty"`
	// Witness watched whoever did it; Unwitnessed says why nobody did. Both
	// are empty where the house did not ask.
	Witness     inventory.ID `json:"witness,omitzero"`
	Unwitnessed string       `json:"unwitnessed,omitempty"`
	Note        string       `json:"note,omitempty"`
}

// OpeningEmergency is the word for an enclosure that was opened in an
// emergency, whatever the records said.
const OpeningEmergency = "opening.emergency"

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
	if a.What == OpeningEmergency && strings.TrimSpace(a.Note) == "" {
		return &inventory.FieldError{Field: "note", Problem: "is empty: say what happened, and what was done"}
	}
	if err := a.checkInstant(); err != nil {
		return err
	}
	if a.Witness != (inventory.ID{}) && a.Witness == a.By {
		return &inventory.FieldError{Field: "witness", Problem: "must be somebody else than whoever did it: nobody witnesses himself"}
	}
	if err := inventory.Plain("unwitnessed", a.Unwitnessed); err != nil {
		return err
	}
	seen := make(map[string]bool)
	for _, field := range a.Fields {
		if err := CheckClass("fields", field); err != nil {
			return err
		}
		if seen[field] {
			return &inventory.FieldError{Field: "fields", Problem: fmt.Sprintf("%q stands twice; once is allowed", field)}
		}
		seen[field] = true
	}
	return inventory.Given("subject", a.Subject.ID)
}

// checkInstant refuses an instant that falls on the record's day in no zone of
// the world: those reach from 12 hours behind UTC to 14 hours before it.
func (a Activity) checkInstant() error {
	switch {
	case a.At.IsZero():
		return nil
	case a.At.Location() != time.UTC || a.At.Nanosecond() != 0:
		return &inventory.FieldError{Field: "at", Problem: "must be in UTC and whole seconds, such as 2026-10-31T20:00:00Z"}
	case a.At.Before(day.StartOf(a.On, time.UTC).Add(-14*time.Hour)) || !a.At.Before(day.EndOf(a.On, time.UTC).Add(12*time.Hour)):
		return &inventory.FieldError{Field: "at", Problem: fmt.Sprintf("%s is not on %s anywhere", a.At.Format(time.RFC3339), a.On)}
	}
	return nil
}
