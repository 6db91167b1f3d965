package ladder

import (
	"fmt"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Proof is what shows that work was done elsewhere.
type Proof string

// The proofs.
const (
	Log             Proof = "log"
	Reference       Proof = "reference"
	Exam            Proof = "exam"
	CertificateOfIt Proof = "certificate"
)

// Proofs lists every proof.
var Proofs = []Proof{Log, Reference, Exam, CertificateOfIt}

// Credit is work that somebody did elsewhere before, as far as the house takes
// it for its own. A newcomer's habits are learnt again here: the ladder says
// how much of it may count, and after how many repetitions under a mentor of
// this house.
type Credit struct {
	ID     inventory.ID `json:"id"`
	Person inventory.ID `json:"person"`
	Where  string       `json:"where"` // the house or place, in words
	Proof  Proof        `json:"proof"`
	// Taxon is the family, genus or species that was worked with. A credit
	// for a family says nothing of another.
	Taxon       string         `json:"taxon"`
	First       day.Day        `json:"first"` // of the work
	Last        day.Day        `json:"last"`
	Hours       int            `json:"hours,omitempty"`
	Repetitions int            `json:"repetitions,omitempty"`
	Days        int            `json:"days,omitempty"`
	Percent     int            `json:"percent"` // of it that the house takes over
	On          day.Day        `json:"on"`      // when the house decided it
	Signers     []inventory.ID `json:"signers,omitempty"`
	Note        string         `json:"note,omitempty"`
}

// Ref points to the credit.
func (c Credit) Ref() inventory.Ref { return inventory.Ref{Kind: inventory.KindCredit, ID: c.ID} }

// Name says where the work was done.
func (c Credit) Name() string { return "for work at " + c.Where }

// Check says what is wrong with the record's own fields.
func (c Credit) Check() error {
	wrong := func(field, format string, args ...any) error {
		return &inventory.FieldError{Field: field, Problem: fmt.Sprintf(format, args...)}
	}
	if err := firstOf(inventory.Given("person", c.Person), inventory.RequiredText("where", c.Where), inventory.OneOf("proof", c.Proof, Proofs...),
		inventory.RequiredText("taxon", c.Taxon), inventory.Plain("note", c.Note)); err != nil {
		return err
	}
	switch {
	case c.First.IsZero() || c.Last.IsZero() || c.Last < c.First:
		return wrong("last", "must be a day, and not before first")
	case c.On.IsZero():
		return wrong("on", "is not set: write the day on which the house decided it")
	case c.Last > c.On:
		return wrong("last", "must not be after %s, the day on which the house decided it", c.On)
	case c.Percent < 0 || c.Percent > 100:
		return wrong("percent", "must be 0 to 100")
	case c.Hours < 0 || c.Repetitions < 0 || c.Days < 0:
		return wrong("hours", "must not be negative; nor repetitions, nor days")
	case c.Days > int(c.Last-c.First)+1:
		return wrong("days", "must not be more than there are from first to last")
	case c.Hours > 24*(int(c.Last-c.First)+1):
		return wrong("hours", "must not be more than there are from first to last")
	}
	for _, signer := range c.Signers {
		if signer == c.Person {
			return wrong("signers", "must be others than the person: nobody signs for himself")
		}
	}
	return nil
}
