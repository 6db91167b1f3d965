package ladder

import (
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Ladder is how a house brings people on. It is data: every figure in it is
// the house's own, or cites where it comes from.
type Ladder struct {
	Name    string
	Title   string
	Edition string // to which signatures refer
	// Source is where its figures come from, and how well that was checked.
	Source    string
	Certainty inventory.Certainty

	// SignWithin is for how many days after a session its mentor may sign.
	SignWithin int
	// HoursPerDay caps the hours that count of one day.
	HoursPerDay int
	// HandlingFrom is the lowest task that counts as handling.
	HandlingFrom Level
	// HarmlessAtOnce is how many trainees one mentor may watch at once where
	// all animals are harmless. With venomous ones it is always one.
	HarmlessAtOnce int
	// Untimed says that two sessions of one day without times are not held
	// against each other; else nobody can tell whether they overlapped.
	Untimed bool
	// Review is how long a grant lasts that names no end of its own; zero:
	// until something ends it. FoundingReview is the same for grants that
	// rest on evidence of before.
	Review         day.Span
	FoundingReview day.Span
	// Holding are the roles of which whoever signs must hold the stage
	// himself.
	Holding []string

	// Clear are the roles that end a suspension together.
	Clear []string

	Stages  []Stage // by number, without gaps
	Mentor  Teaching
	Credit  Crediting
	Placing Placing
	Opening Opening
}

// Stage is one rung: what it takes to be trained on it, and to keep it.
type Stage struct {
	Number int
	Name   string
	Entry  Condition // nil: nothing but a signature
	Signs  []string  // roles, each by another person; "mentor" is whoever taught

	// SignOff is what it takes to open a species of this stage; Signed says
	// that a sign-off is needed at all.
	Signed   bool
	SignOff  Condition
	SignedBy []string
	// Task is the highest task on this stage that a sign-off may allow.
	Task Level

	// Handled is within what time one must have handled on the stage, and
	// SpeciesHandled the species. Zero: no matter when.
	Handled        day.Span
	SpeciesHandled day.Span
	// HigherCounts says that handling on a higher stage counts as well.
	HigherCounts bool
	// Refresher is how many clean repetitions under a mentor end a lapse.
	Refresher int
	// SetBackAfter is after how long a lapse the stage is lost; zero: never.
	SetBackAfter day.Span
	// InForce are certificates without which nobody opens on this stage, and
	// Within what must have been done lately.
	InForce []string
	Within  []Recent
}

// Recent is an activity that must lie no longer back than a span.
type Recent struct {
	What   string
	Within day.Span
}

// Teaching is what it takes to be a mentor.
type Teaching struct {
	Entry  Condition
	Signs  []string
	Review day.Span
}

// Crediting is how much of what somebody did elsewhere counts here.
type Crediting struct {
	Percent   int // at most
	Probation int // clean repetitions under a mentor of this house before it counts at all
}

// Opening is what it takes to open an enclosure besides whoever handles.
type Opening struct {
	BackUp      int     // the lowest stage of a back-up
	Below       int     // or so many stages below the animal's, where that is higher
	BelowFrom   int     // and the animal's stage is this or above; 0: not asked
	AloneTo     Level   // up to this task nobody else is needed
	Third       []Level // tasks that need a third person
	ThirdFrom   int     // and the lowest stage from which restraint and packing do; 0: none
	OnePerson   bool    // a house of one: nobody else is asked for
	NeverRefuse []Level // tasks that paperwork never blocks
}

// Stage finds a stage by its number.
func (l *Ladder) Stage(n int) *Stage {
	if n < 0 || n >= len(l.Stages) {
		return nil
	}
	return &l.Stages[n]
}

// Top gives the number of the highest stage.
func (l *Ladder) Top() int { return len(l.Stages) - 1 }
