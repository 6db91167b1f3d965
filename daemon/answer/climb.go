package answer

import (
	"io"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Climb answers for one person: every session and every act, whether it
// counts, and why not. It is for the person and the lead.
type Climb struct {
	Telling
	Format   int            `json:"format"`
	Now      time.Time      `json:"now"`
	Person   LadderPerson   `json:"person"`
	On       day.Day        `json:"on"`
	Sessions []ClimbSession `json:"sessions"`
	Acts     []ClimbAct     `json:"acts"`
	// Counted and Not are how many sessions count, and how many do not or may
	// not.
	Counted int `json:"counted"`
	Not     int `json:"not_counted"`
}

// ClimbSession is one session.
type ClimbSession struct {
	On      day.Day       `json:"on"`
	Mentor  string        `json:"mentor,omitempty"`
	Species string        `json:"species"`
	Task    string        `json:"task"`
	Counts  inventory.Tri `json:"counts"`
	From    day.Day       `json:"from,omitzero"`
	Why     string        `json:"why"`
}

// ClimbAct is a grant, or what took one away.
type ClimbAct struct {
	What  string        `json:"what"`
	Holds inventory.Tri `json:"holds"`
	Why   string        `json:"why"`
}

// NewClimb makes the answer; ok false: there is no ladder where the person
// works.
func NewClimb(r *compliance.Report, p *compliance.Person) (*Climb, bool) {
	v := r.View
	s := v.Standings(p.Site)
	if s == nil {
		return nil, false
	}
	on := v.Today(p.Site)
	c := &Climb{Telling: Telling{!v.House().Mailed}, Format: Format, Now: v.Ask.Now.UTC(), On: on, Person: personOn(s, p, on), Sessions: []ClimbSession{}, Acts: []ClimbAct{}}
	for _, x := range s.Sessions(p.ID) {
		one := ClimbSession{On: x.On, Mentor: personName(v, x.Mentor), Species: v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: x.Species}),
			Task: x.Level.String(), Counts: x.Counted(), From: x.From, Why: words.SessionStatus(x.Worst)}
		if one.Counts == inventory.Yes {
			c.Counted++
		} else {
			c.Not++
		}
		c.Sessions = append(c.Sessions, one)
	}
	for _, x := range s.Acts(p.ID) {
		c.Acts = append(c.Acts, ClimbAct{actName(v, x.Authorisation), x.Held(), words.Granted(x.Worst)})
	}
	return c, true
}

func actName(v *compliance.View, a *ladder.Authorisation) string {
	name := a.Name()
	if a.Species != (inventory.ID{}) {
		name += ", " + v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: a.Species})
	}
	return name
}

// WriteText writes the answer for a terminal.
func (c *Climb) WriteText(w io.Writer) error {
	p := &printer{w: w}
	p.line("%s, %s: %s", c.Person.Name, words.Day(c.On), c.Person.words())
	for _, a := range c.Acts {
		p.indented("%s: %s", a.What, a.Why)
	}
	p.line("Sessions: %d count, %d do not", c.Counted, c.Not)
	for _, s := range c.Sessions {
		if s.Counts == inventory.Yes {
			continue
		}
		text := s.Why
		if s.Counts == inventory.Unknown {
			text = "cannot tell: " + text
		}
		p.indented("%s, %s, %s: %s", words.Day(s.On), s.Species, s.Task, text)
	}
	p.text("What went wrong in a session counts in any case. " + words.Caution)
	return p.err
}
