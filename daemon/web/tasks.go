package web

import (
	"cmp"
	"fmt"
	"slices"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// mostEntries is how many entries of a part are shown, and mostNames how many
// names of an entry: a network with thousands of findings has a page that can
// be read and sent. What is left out is counted.
const (
	mostEntries = 25
	mostNames   = 12
)

// Part is what needs doing within one stretch of days.
type Part struct {
	ID, Title, Empty string
	Duties           int     // all of them
	Entries          []Entry // the first
	More             int     // duties that are in no entry here
}

// Entry is duties that have rule, cause, state and step in common.
type Entry struct {
	notify.Item        // the first
	Duties      int    // all of them
	Names       []Name // the first subjects, each once
	MoreNames   int
	When        string // by when it must be done
	Who         string // the role, and who holds it there
}

// Name is a subject with the page that explains it.
type Name struct{ Name, Subject string }

// Holders says who holds a role at a site, by the site's title; empty title:
// anywhere.
type Holders func(role compliance.Role, site string) []string

// The parts, in the order in which a reader needs them.
const (
	overdue = iota
	atOnce
	thisWeek
	later
	untold
)

// Tasks sorts what needs somebody by the day by which they must act; what
// cannot be told comes last, whatever its day.
func Tasks(check *answer.Check, holders Holders) []Part {
	parts := []Part{
		overdue:  {ID: "overdue", Title: "Overdue", Empty: "Nothing is overdue."},
		atOnce:   {ID: "at-once", Title: "At once or today", Empty: "Nothing is to be done at once."},
		thisWeek: {ID: "week", Title: "Within seven days", Empty: "Nothing more within seven days."},
		later:    {ID: "later", Title: "Later", Empty: "Nothing to begin on yet."},
		untold:   {ID: "cannot-tell", Title: "Cannot be told", Empty: "Everything that is watched can be told."},
	}
	lists := make([][]notify.Item, len(parts))
	for _, it := range check.Items {
		i := partOf(&it, check.AsOf)
		lists[i] = append(lists[i], it)
	}
	for i, list := range lists {
		parts[i].fill(list, check.AsOf, holders)
	}
	return parts
}

func partOf(it *notify.Item, today day.Day) int {
	switch {
	case it.Standing == compliance.CannotTell:
		return untold
	case it.Step == nil || it.Step.By.IsZero():
		return atOnce
	case it.Step.Missed:
		return overdue
	case it.Step.By <= today:
		return atOnce
	case it.Step.By <= today.Add(7):
		return thisWeek
	default:
		return later
	}
}

func (p *Part) fill(list []notify.Item, today day.Day, holders Holders) {
	slices.SortStableFunc(list, func(a, b notify.Item) int {
		return cmp.Or(cmp.Compare(byDay(&a), byDay(&b)), cmp.Compare(a.Severity.Rank(), b.Severity.Rank()))
	})
	p.Duties = len(list)
	for _, g := range notify.Groups(list) {
		if len(p.Entries) == mostEntries {
			p.More += g.Count
			continue
		}
		p.Entries = append(p.Entries, entryOf(&g, today, holders))
	}
}

// byDay is the day by which something must be done; at once comes first.
func byDay(it *notify.Item) day.Day {
	if it.Step == nil {
		return 0
	}
	return it.Step.By
}

func entryOf(g *notify.Group, today day.Day, holders Holders) Entry {
	e := Entry{Item: g.Item, Duties: g.Count, When: "at once"}
	e.Names, e.MoreNames = namesOf(g.Members)
	if g.Step != nil {
		e.When = g.Step.When(today)
		e.Who = words.Role(g.Step.Owner) + ": " + heldBy(holders(g.Step.Owner, g.Site))
	}
	return e
}

// mostHolders is how many names of people are shown for a role.
const mostHolders = 3

func heldBy(names []string) string {
	switch n := len(names); {
	case n == 0:
		return "nobody holds this role there"
	case n > mostHolders:
		return join(names[:mostHolders]) + fmt.Sprintf(" and %d more", n-mostHolders)
	default:
		return join(names)
	}
}

func join(names []string) (text string) {
	for i, name := range names {
		if i > 0 {
			text += ", "
		}
		text += name
	}
	return text
}

func namesOf(items []notify.Item) (names []Name, more int) {
	seen := make(map[Name]bool)
	for _, it := range items {
		n := Name{it.Name, it.Subject}
		if it.Occurrence != "" {
			n.Name += " for " + it.Occurrence
		}
		switch {
		case seen[n]:
		case len(names) == mostNames:
			more++
		default:
			names = append(names, n)
		}
		seen[n] = true
	}
	return names, more
}

// Reason says in a sentence why somebody is needed.
func (e *Entry) Reason() string {
	text := words.Capital(e.StateWords)
	if text == "" {
		text = words.Capital(words.Standing(e.Standing))
	}
	if e.Cause != "" && e.Cause != e.Name && e.State != compliance.NotWatchedYet {
		text += " (" + e.Cause + ")"
	}
	return text + "."
}

// Do says what is to be done.
func (e *Entry) Do() string {
	if e.Step == nil {
		return "See to it"
	}
	return words.Capital(e.Step.Words)
}
