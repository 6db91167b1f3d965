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
	"antidotary/notify/words"
)

// Check answers what is out of order, what cannot be told, and what somebody
// must do soon.
type Check struct {
	Format     int          `json:"format"`
	Now        time.Time    `json:"now"`
	AsOf       day.Day      `json:"as_of"` // at the house; each site counts its own day
	Items      []Item       `json:"items"`
	NotWatched []NotWatched `json:"not_watched"`
	Counts     Counts       `json:"counts"`
	NobodyTold bool         `json:"nobody_told"` // the house sends no mail
	Mailless   []string     `json:"roles_nobody_reachable,omitempty"`
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
	c := &Check{Format: Format, Now: v.Ask.Now.UTC(), AsOf: v.Today(inventory.ID{}), NobodyTold: !v.House().Mailed,
		Items: []Item{}, NotWatched: []NotWatched{},
		Counts: Counts{Animals: v.Animals.Len(), Permits: v.Permits.Len(), Lots: v.Lots.Len(), People: v.People.Len(),
			Rules: len(v.Book.Rules), Duties: len(r.Judgements)}}
	for _, j := range r.Judgements {
		f, needed := r.Finding(j)
		c.Counts.add(f.Verdict.Standing, needed)
		if needed {
			c.Items = append(c.Items, itemOf(r, j, f, v.Today(f.Site)))
		}
	}
	slices.SortFunc(c.Items, compareItems)
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

// compareItems: worst standing first, then law, then severity, then the day,
// where at once comes first, then the name.
func compareItems(a, b Item) int {
	return cmp.Or(
		cmp.Compare(b.Standing, a.Standing),
		cmp.Compare(a.Severity.Rank(), b.Severity.Rank()),
		cmp.Compare(byOf(a), byOf(b)),
		cmp.Compare(a.Name, b.Name),
		cmp.Compare(a.Requirement, b.Requirement),
		cmp.Compare(a.Occurrence, b.Occurrence),
	)
}

func byOf(it Item) day.Day {
	if it.Step == nil {
		return day.Last
	}
	return it.Step.By
}

// Worst gives the worst standing of all duties.
func (c *Check) Worst() compliance.Standing {
	switch {
	case c.Counts.OutOf > 0:
		return compliance.OutOfOrder
	case c.Counts.Unknown > 0:
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
		out.line("  This house sends no mail: NOBODY IS BEING TOLD of anything below.")
	}
	for i, group := range c.Groups() {
		out.line("")
		out.group(i+1, group, c.AsOf)
	}
	if len(c.NotWatched) > 0 {
		out.line("")
		out.line("Not watched yet:")
		for _, n := range c.NotWatched {
			out.line("  %s, until %s, says %s: %s", n.Name, words.Day(n.Last), n.By, n.Why)
		}
	}
	out.line("")
	out.line("Checked %d animals, %d papers, %d lots and %d people against %d rules: %d duties.",
		c.Counts.Animals, c.Counts.Permits, c.Counts.Lots, c.Counts.People, c.Counts.Rules, c.Counts.Duties)
	out.line("%s", Caution)
	return out.err
}

// Caution goes below every answer that somebody might lean on.
const Caution = `No medical or legal advice: vials are planning figures with a source. The treating
clinician, the poison centre, the product label, the authority and local law
decide. This is not a bite alarm, a fridge alarm or a head count.`

// Group is items that share rule, cause, state and step.
type Group struct {
	Item         // the first
	Names string // of all
}

// Groups merges the items by cause, in the order of their first members.
func (c *Check) Groups() []Group {
	var out []Group
	for _, items := range grouped(c.Items) {
		out = append(out, Group{items[0], names(items)})
	}
	return out
}

func grouped(items []Item) [][]Item {
	type same struct {
		rule, cause string
		state       compliance.Code
		step        Step
		alone       string
	}
	at := make(map[same]int)
	var out [][]Item
	for _, it := range items {
		k := same{rule: it.Rule, cause: it.Cause, state: it.State}
		if it.Step != nil {
			k.step = *it.Step
		}
		if it.Cause == "" {
			k.alone = it.Subject + it.Occurrence
		}
		i, known := at[k]
		if !known {
			i = len(out)
			at[k] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], it)
	}
	return out
}

type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}
