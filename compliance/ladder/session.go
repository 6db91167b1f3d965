package ladder

import (
	"fmt"
	"strings"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Level is how near to the animal a task comes.
type Level int8

// The levels of task, from looking to recapture. Common practice, no source:
// houses draw these lines alike and number them in their own ways.
const (
	Look      Level = iota // from outside
	Closed                 // water and food through a port, the animal locked in its shift box
	Hook                   // hook, shift, bin
	Tube                   // in a tube
	Restrain               // for the vet
	Extract                // venom
	Pack                   // pack and ship
	Recapture              // after an escape
)

// LastLevel is the highest level of task.
const LastLevel = Recapture

var levelNames = [...]string{"look", "closed", "hook", "tube", "restrain", "extract", "pack", "recapture"}

// LevelNames lists the names of all levels, from look to recapture.
func LevelNames() []string { return levelNames[:] }

// String gives the level's name in files and commands.
func (l Level) String() string {
	if l < 0 || int(l) >= len(levelNames) {
		return fmt.Sprintf("level %d", int8(l))
	}
	return levelNames[l]
}

// MarshalText writes the level's name.
func (l Level) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// UnmarshalText reads the level's name.
func (l *Level) UnmarshalText(text []byte) error {
	for i, name := range levelNames {
		if name == string(text) {
			*l = Level(i)
			return nil
		}
	}
	return fmt.Errorf("%q is not a task: write one of %s", text, strings.Join(levelNames[:], ", "))
}

// Results of repetitions, as they stand in Session.Results.
const (
	Clean    = 'c' // done well without help
	Prompted = 'p' // the mentor had to speak
	Stopped  = 's' // the mentor had to stop it
)

// Session is one time of handling: who, watched by whom, with what animals,
// doing what, and how each repetition went. Its benefits count only where it
// is valid; what went wrong in it counts in any case.
type Session struct {
	ID      inventory.ID `json:"id"`
	Trainee inventory.ID `json:"trainee"` // who handled
	// Mentor watched. Zero: nobody did, or it is not known who; Watched tells
	// these apart.
	Mentor  inventory.ID   `json:"mentor,omitzero"`
	Watched inventory.Tri  `json:"watched,omitzero"`
	Site    inventory.ID   `json:"site"` // whose days count
	Species inventory.ID   `json:"species"`
	Animals []inventory.ID `json:"animals,omitempty"` // empty: not known which
	Level   Level          `json:"task"`
	// Results has a letter for each repetition in its order: c clean, p
	// prompted, s stopped. Where the order is not known the worst come last.
	Results string  `json:"results,omitempty"`
	On      day.Day `json:"on"`
	// Begun and Ended are instants in UTC and whole seconds; zero: not known.
	Begun time.Time `json:"begun,omitzero"`
	Ended time.Time `json:"ended,omitzero"`
	// Signed is when the mentor signed for it, in UTC and whole seconds; zero:
	// not signed. A session that nobody watched needs no signature.
	Signed time.Time     `json:"signed,omitzero"`
	Unsafe inventory.Tri `json:"unsafe,omitzero"` // something unsafe was done
	Note   string        `json:"note,omitempty"`
}

// Ref points to the session.
func (s Session) Ref() inventory.Ref { return inventory.Ref{Kind: inventory.KindSession, ID: s.ID} }

// Name says when it was.
func (s Session) Name() string { return "of " + s.On.String() }

// LongestSession is what a session may last: whatever is longer is a slip of
// the pen. Common practice, no source: hours are capped at 8 to 12 a day.
const LongestSession = 16 * time.Hour

// Check says what is wrong with the record's own fields.
func (s Session) Check() error {
	wrong := func(field, format string, args ...any) error {
		return &inventory.FieldError{Field: field, Problem: fmt.Sprintf(format, args...)}
	}
	for _, e := range []error{inventory.Given("trainee", s.Trainee), inventory.Given("site", s.Site), inventory.Given("species", s.Species), inventory.Plain("note", s.Note)} {
		if e != nil {
			return e
		}
	}
	switch {
	case s.On.IsZero():
		return wrong("on", "is not set: write the day of the session")
	case s.Mentor == s.Trainee:
		return wrong("mentor", "must be somebody else than the trainee: nobody signs for himself")
	case s.Mentor != (inventory.ID{}) && s.Watched == inventory.No:
		return wrong("watched", "must not be no where a mentor is named")
	case s.Level < Look || s.Level > LastLevel:
		return wrong("task", "must be one of %s", strings.Join(levelNames[:], ", "))
	case strings.Trim(s.Results, "cps") != "":
		return wrong("results", "%q is not allowed: write a letter for each repetition, c clean, p prompted, s stopped", s.Results)
	case len(s.Results) > 1000:
		return wrong("results", "has %d repetitions; at most 1000 are allowed", len(s.Results))
	case !s.Signed.IsZero() && s.Watched == inventory.No:
		return wrong("signed", "must not be set where nobody watched")
	case !s.Begun.IsZero() && !s.Ended.IsZero() && !s.Begun.Before(s.Ended):
		return wrong("ended", "must be after it began")
	case !s.Begun.IsZero() && !s.Ended.IsZero() && s.Ended.Sub(s.Begun) > LongestSession:
		return wrong("ended", "must be within %d hours of its beginning", int(LongestSession.Hours()))
	}
	return firstOf(s.checkInstant("begun", s.Begun), s.checkInstant("ended", s.Ended), s.checkSigned())
}

// checkInstant refuses an instant that falls on the session's day, or into the
// night after it, in no zone of the world.
func (s Session) checkInstant(field string, at time.Time) error {
	if at.IsZero() {
		return nil
	}
	if err := wholeUTC(field, at); err != nil {
		return err
	}
	first, last := day.StartOf(s.On, time.UTC).Add(-14*time.Hour), day.EndOf(s.On, time.UTC).Add(12*time.Hour)
	if field == "ended" {
		last = last.Add(LongestSession)
	}
	if at.Before(first) || at.After(last) {
		return &inventory.FieldError{Field: field, Problem: fmt.Sprintf("%s is not on %s anywhere", at.Format(time.RFC3339), s.On)}
	}
	return nil
}

func (s Session) checkSigned() error {
	if s.Signed.IsZero() {
		return nil
	}
	if err := wholeUTC("signed", s.Signed); err != nil {
		return err
	}
	if s.Signed.Before(day.StartOf(s.On, time.UTC).Add(-14 * time.Hour)) {
		return &inventory.FieldError{Field: "signed", Problem: "must not be before the session"}
	}
	return nil
}

func wholeUTC(field string, at time.Time) error {
	if at.Location() != time.UTC || at.Nanosecond() != 0 {
		return &inventory.FieldError{Field: field, Problem: "must be in UTC and whole seconds, such as 2026-10-31T20:00:00Z"}
	}
	return nil
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
