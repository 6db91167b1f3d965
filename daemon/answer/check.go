package answer

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// Check answers what is out of order, what cannot be told, and what somebody
// must do soon.
type Check struct {
	Format     int           `json:"format"`
	Now        time.Time     `json:"now"`
	AsOf       day.Day       `json:"as_of"` // at the house; each site counts its own day
	Items      []notify.Item `json:"items"`
	NotWatched []NotWatched  `json:"not_watched"`
	Counts     Counts        `json:"counts"`
	NobodyTold bool          `json:"nobody_told"`         // the house sends no mail
	MailHeld   string        `json:"mail_held,omitempty"` // why no mail leaves until it is released
	Known      *Known        `json:"known,omitempty"`     // unset: as known now
}

// NotWatched is a subject that is declared not watched yet.
type NotWatched struct {
	Name string  `json:"name"`
	By   string  `json:"by"`
	Why  string  `json:"why"`
	Last day.Day `json:"last"`
}

// Counts says what was looked at.
type Counts struct {
	Animals int `json:"animals"`
	Permits int `json:"permits"`
	Lots    int `json:"lots"`
	People  int `json:"people"`
	Rules   int `json:"rules"`
	Duties  int `json:"duties"`
	InOrder int `json:"in_order"`
	Unknown int `json:"cannot_tell"`
	OutOf   int `json:"out_of_order"`
	DueSoon int `json:"due_soon"`
	NotHere int `json:"not_applicable"`
}

// NewCheck makes the answer from a report.
func NewCheck(r *compliance.Report) *Check {
	v := r.View
	c := &Check{Format: Format, Now: v.Ask.Now.UTC(), AsOf: v.Today(inventory.ID{}), NobodyTold: !v.House().Mailed, MailHeld: v.Pulse.MailHeld,
		Items: []notify.Item{}, NotWatched: []NotWatched{},
		Counts: Counts{Animals: v.Animals.Len(), Permits: v.Permits.Len(), Lots: v.Lots.Len(), People: v.People.Len(),
			Rules: len(v.Book.Rules), Duties: len(r.Judgements)}}
	for _, j := range r.Judgements {
		f, needed := r.Finding(j)
		c.Counts.add(f.Verdict.Standing, needed)
		if needed {
			c.Items = append(c.Items, notify.Describe(r, f))
		}
	}
	notify.Sort(c.Items)
	for n := range v.NotWatched.All() {
		if today := v.Today(n.Subject.At); n.From <= today && today <= n.Last {
			by := v.NameOf(inventory.Ref{Kind: inventory.KindPerson, ID: n.By})
			c.NotWatched = append(c.NotWatched, NotWatched{v.NameOf(n.Subject), by, n.Why, n.Last})
		}
	}
	slices.SortFunc(c.NotWatched, func(a, b NotWatched) int { return cmp.Compare(a.Name, b.Name) })
	return c
}

func (c *Counts) add(s compliance.Standing, needed bool) {
	switch {
	case s == compliance.OutOfOrder:
		c.OutOf++
	case s == compliance.CannotTell:
		c.Unknown++
	case needed:
		c.DueSoon++
		c.InOrder++
	case s == compliance.InOrder:
		c.InOrder++
	default:
		c.NotHere++
	}
}

// Worst gives the worst standing of all duties; of a past instant of which
// something is not known any more, cannot tell at best.
func (c *Check) Worst() compliance.Standing {
	switch {
	case c.Counts.OutOf > 0:
		return compliance.OutOfOrder
	case c.Counts.Unknown > 0 || c.Known.unsure():
		return compliance.CannotTell
	default:
		return compliance.InOrder
	}
}

// WriteText prints the answer for a terminal. Items with one cause, state and
// step are one entry that names them all.
func (c *Check) WriteText(w io.Writer) error {
	out := &printer{w: w}
	out.line("As of %s (each site counts its own day):", words.Day(c.AsOf))
	out.line("  %d out of order, %d cannot be told, %d in order of which %d need somebody soon.",
		c.Counts.OutOf, c.Counts.Unknown, c.Counts.InOrder, c.Counts.DueSoon)
	if c.NobodyTold {
		out.line("  " + words.NobodyTold)
	}
	if c.MailHeld != "" {
		out.line("  MAIL IS HELD, AND NOBODY IS BEING TOLD: %s. Look at antidotary outbox.", c.MailHeld)
	}
	if c.Known != nil {
		out.known(c.Known)
	}
	for i, group := range c.Groups() {
		out.line("")
		out.group(i+1, group, c.AsOf)
	}
	if len(c.NotWatched) > 0 {
		out.line("")
		out.line("Not watched yet:")
		for _, n := range c.NotWatched {
			out.indented("%s, until %s, says %s: %s", n.Name, words.Day(n.Last), n.By, n.Why)
		}
	}
	if c.Known != nil {
		out.told(c.Known)
	}
	out.line("")
	out.line("Checked %d animals, %d papers, %d lots and %d people against %d rules: %d duties.",
		c.Counts.Animals, c.Counts.Permits, c.Counts.Lots, c.Counts.People, c.Counts.Rules, c.Counts.Duties)
	out.text(words.Caution)
	return out.err
}

// Groups merges the items by cause.
func (c *Check) Groups() []notify.Group { return notify.Groups(c.Items) }

type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}
