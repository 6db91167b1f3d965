package compliance

import (
	"cmp"
	"time"

	"antidotary/inventory"
)

// Key says what a finding is about: who must meet which requirement, for
// which period or event. It never holds a rule's id, so that renaming a rule
// changes no finding.
type Key struct {
	Requirement string
	Subject     inventory.Ref
	Occurrence  string // a period or event; empty for a continuing duty
}

// Compare orders keys.
func (k Key) Compare(o Key) int {
	return cmp.Or(cmp.Compare(k.Requirement, o.Requirement), k.Subject.Compare(o.Subject), cmp.Compare(k.Occurrence, o.Occurrence))
}

// Layer says with what weight a rule speaks.
type Layer string

// The layers. Law is never relaxed by another layer.
const (
	Law      Layer = "law"
	House    Layer = "house"
	Guidance Layer = "guidance"
)

// Severity says how much a finding matters.
type Severity string

// The severities, worst first.
const (
	Critical Severity = "critical" // somebody may be hurt, or is acting unlawfully
	Serious  Severity = "serious"
	Notice   Severity = "notice"
)

// Rank gives 0 for the worst severity.
func (s Severity) Rank() int {
	switch s {
	case Critical:
		return 0
	case Serious:
		return 1
	default:
		return 2
	}
}

// Closing says how an episode ended.
type Closing string

// The ways in which an episode ends.
const (
	Met    Closing = "met"    // done in time
	Late   Closing = "late"   // done, after it had been out of order
	Ceased Closing = "ceased" // the duty itself ended
)

// Finding is one episode of a key: it is open while the law or policy line is
// not in order, or a step lies within its window.
type Finding struct {
	ID       inventory.ID
	Key      Key
	Site     inventory.ID // whose days and offices count; zero: the organisation
	Layer    Layer        // law where the law line is the worse or equal, else house or guidance
	Severity Severity
	Rule     string // the rule that binds
	Verdict  Verdict

	Opened   time.Time
	Lapsed   bool // it has been out of order at some time in this episode
	Missed   bool // its step's act-by day is over
	Worsened int  // how often it became worse since it opened
	// Arm names the run of reminders by the day on which it began: an episode
	// begins one, and so does a new step instance, or a day that moved later by
	// more than 14 days. Naming it by its day keeps the runs of two episodes of
	// one key apart.
	Arm    int
	Closed time.Time // zero while open
	How    Closing
}

// Move says what a transition did to a finding.
type Move string

// The moves.
const (
	Opened   Move = "opened"
	Worse    Move = "worse"
	Changed  Move = "changed"
	Improved Move = "improved"
	Closed   Move = "closed"
)

// Transition is one change of a finding, in the order in which people are
// told of it. Before is nil for a finding that opens.
type Transition struct {
	Move   Move
	Before *Finding
	After  *Finding
}
