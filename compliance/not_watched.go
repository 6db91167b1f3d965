package compliance

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// NotWatched declares that a subject is not watched yet: by whom, why and
// until when. It is printed everywhere and never reads as in order.
type NotWatched struct {
	ID      inventory.ID  `json:"id"`
	Subject inventory.Ref `json:"subject"` // a site stands for all that it holds
	By      inventory.ID  `json:"by"`      // person
	Why     string        `json:"why"`
	From    day.Day       `json:"from"`
	Last    day.Day       `json:"last"` // last day not watched
}

// Ref points to the declaration.
func (n NotWatched) Ref() inventory.Ref {
	return inventory.Ref{Kind: inventory.KindNotWatched, ID: n.ID}
}

// Name says what the declaration is about.
func (n NotWatched) Name() string { return "until " + n.Last.String() }

// Check says what is wrong with the record's own fields.
func (n NotWatched) Check() error {
	if n.From.IsZero() || n.Last < n.From {
		return &inventory.FieldError{Field: "last", Problem: "must be a day not before from: nothing stays unwatched for ever"}
	}
	if err := inventory.Given("subject", n.Subject.ID); err != nil {
		return err
	}
	if err := inventory.Given("by", n.By); err != nil {
		return err
	}
	return inventory.RequiredText("why", n.Why)
}
