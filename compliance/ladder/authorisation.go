package ladder

import (
	"fmt"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// What an authorisation is about.
type What string

// What may be granted, and what takes it away. A grant counts from its
// signature; what takes away bites from its day on.
const (
	StageGrant   What = "stage"      // may be trained on, up to the stage
	SpeciesGrant What = "species"    // may open: the species sign-off
	MentorGrant  What = "mentor"     // may teach, up to the stage
	Suspension   What = "suspension" // from all venomous work, until its end or a clearance
	Clearance    What = "clearance"  // ends the suspensions before it
	SetBack      What = "set-back"   // down to the stage, or one species withdrawn
)

// Whats lists everything that an authorisation may be about.
var Whats = []What{StageGrant, SpeciesGrant, MentorGrant, Suspension, Clearance, SetBack}

// Grants says whether it gives something.
func (w What) Grants() bool { return w == StageGrant || w == SpeciesGrant || w == MentorGrant }

// Adverse says whether it takes something away.
func (w What) Adverse() bool { return w == Suspension || w == SetBack }

// TopStage is the highest stage that a ladder may have.
const TopStage = 20

// Authorisation is an act by which somebody's standing on the ladder changes:
// a stage granted, a species signed off, a suspension. Nothing in it tells why
// in medical words: the watch needs what follows, never a diagnosis.
type Authorisation struct {
	ID     inventory.ID `json:"id"`
	Person inventory.ID `json:"person"`
	What   What         `json:"what"`
	// Stage is granted, taught up to, or set back to.
	Stage   int          `json:"stage,omitempty"`
	Species inventory.ID `json:"species,omitzero"` // signed off, or withdrawn by a set-back
	Level   Level        `json:"task,omitempty"`   // the highest task that a species sign-off allows
	On      day.Day      `json:"on"`
	// At is the instant of it, in UTC and whole seconds; zero: only the day is
	// known. It tells what came first on one day.
	At time.Time `json:"at,omitzero"`
	// Mentor vouches for what was learnt; Signers sign, each for a role. None
	// of them is the person, and the mentor is none of the signers.
	Mentor  inventory.ID   `json:"mentor,omitzero"`
	Signers []inventory.ID `json:"signers,omitempty"`
	// Criteria is the edition of the ladder that the signature refers to.
	Criteria string `json:"criteria,omitempty"`
	// Founding cites the evidence on which a grant rests that was given
	// before this house had a ladder. It is not asked whether the ladder's
	// conditions were met; its review is due by Until.
	Founding string `json:"founding,omitempty"`
	// Until is the last good day of a grant, or of a suspension that ends by
	// itself. Never: until something ends it; unknown: a suspension goes on, a
	// grant is reviewed as the ladder says.
	Until  day.End `json:"until,omitzero"`
	Reason string  `json:"reason,omitempty"`
}

// Ref points to the authorisation.
func (a Authorisation) Ref() inventory.Ref {
	return inventory.Ref{Kind: inventory.KindAuthorisation, ID: a.ID}
}

// Name says what it is and when.
func (a Authorisation) Name() string {
	if a.Stage > 0 {
		return fmt.Sprintf("%s %d of %s", a.What, a.Stage, a.On)
	}
	return fmt.Sprintf("%s of %s", a.What, a.On)
}

// Check says what is wrong with the record's own fields.
func (a Authorisation) Check() error {
	wrong := func(field, format string, args ...any) error {
		return &inventory.FieldError{Field: field, Problem: fmt.Sprintf(format, args...)}
	}
	if err := firstOf(inventory.Given("person", a.Person), inventory.OneOf("what", a.What, Whats...),
		inventory.Plain("founding", a.Founding), inventory.Plain("reason", a.Reason), inventory.Plain("criteria", a.Criteria)); err != nil {
		return err
	}
	ofSpecies := a.Species != (inventory.ID{})
	switch {
	case a.On.IsZero():
		return wrong("on", "is not set: write the day from which it counts")
	case a.Stage < 0 || a.Stage > TopStage:
		return wrong("stage", "must be 0 to %d", TopStage)
	case a.What == SpeciesGrant && !ofSpecies:
		return wrong("species", "is not set: write which species is signed off")
	case ofSpecies && a.What != SpeciesGrant && a.What != SetBack:
		return wrong("species", "must not be set with what: %s; a sign-off and a set-back may name one", a.What)
	case ofSpecies && a.Stage != 0:
		return wrong("stage", "must not be set where a species is named")
	case a.Level != 0 && a.What != SpeciesGrant:
		return wrong("task", "must not be set with what: %s; only a sign-off of a species allows tasks", a.What)
	case a.What == SpeciesGrant && (a.Level < Closed || a.Level > LastLevel):
		return wrong("task", "is not set: write the highest task that the sign-off allows")
	case a.Founding != "" && !a.What.Grants():
		return wrong("founding", "must not be set with what: %s; only a grant rests on evidence", a.What)
	case a.Reason == "" && a.What.Adverse():
		return wrong("reason", "is empty: say what happened or who decided, without medical words")
	}
	if last, known := a.Until.Known(); known && last < a.On {
		return wrong("until", "must not be before %s, the day from which it counts", a.On)
	}
	return firstOf(a.checkSigners(), a.checkInstant())
}

// checkSigners: nobody signs for himself, and the mentor and whoever signs are
// two people.
func (a Authorisation) checkSigners() error {
	seen := map[inventory.ID]bool{a.Person: true, a.Mentor: true}
	if a.Mentor == a.Person {
		return &inventory.FieldError{Field: "mentor", Problem: "must be somebody else than the person: nobody signs for himself"}
	}
	for _, signer := range a.Signers {
		switch {
		case signer == (inventory.ID{}):
			return &inventory.FieldError{Field: "signers", Problem: "must name people that are recorded"}
		case signer == a.Person && !a.What.Adverse(): // somebody may stand down himself
			return &inventory.FieldError{Field: "signers", Problem: "must be others than the person: nobody signs for himself"}
		case signer == a.Mentor:
			return &inventory.FieldError{Field: "signers", Problem: "must be others than the mentor: who taught does not sign alone"}
		case seen[signer] && signer != a.Person:
			return &inventory.FieldError{Field: "signers", Problem: "must name each person once"}
		}
		seen[signer] = true
	}
	return nil
}

func (a Authorisation) checkInstant() error {
	if a.At.IsZero() {
		return nil
	}
	if err := wholeUTC("at", a.At); err != nil {
		return err
	}
	if a.At.Before(day.StartOf(a.On, time.UTC).Add(-14*time.Hour)) || !a.At.Before(day.EndOf(a.On, time.UTC).Add(12*time.Hour)) {
		return &inventory.FieldError{Field: "at", Problem: fmt.Sprintf("%s is not on %s anywhere", a.At.Format(time.RFC3339), a.On)}
	}
	return nil
}
