package daemon

import (
	"fmt"
	"io"
	"strings"

	"antidotary/daemon/answer"
	"antidotary/daemon/intake"
)

// ImportAnswer says what an import did, or would do.
type ImportAnswer struct {
	Format int `json:"format"`
	answer.Telling
	Lists    []ImportedList   `json:"lists"`
	Made     []ImportedRecord `json:"made"`    // new records that rows refer to
	Changes  []ImportedChange `json:"changes"` // recorded before, and now different
	NotRead  []intake.Note    `json:"not_read"`
	Assumed  []string         `json:"assumed"`
	Refused  []string         `json:"refused"` // place: field: what is wrong; what is allowed
	Unread   int              `json:"unread"`  // lists that could not be read at all
	Recorded int              `json:"recorded"`
	Position int64            `json:"position,omitempty"` // of the journal
	Rejects  []string         `json:"rejects"`            // files of refused rows
	Mapping  string           `json:"mapping,omitempty"`  // the file that was written
	// Sessions says which handling sessions of the lists count; nil: there
	// are none.
	Sessions *answer.TakenSessions `json:"sessions,omitempty"`

	exported bool // the lists are those of an export, which say themselves what is confirmed
}

// ImportedList counts the rows of one list.
type ImportedList struct {
	List    string `json:"list"`
	Source  string `json:"source"`
	New     int    `json:"new"`
	Changed int    `json:"changed"`
	Same    int    `json:"same"`
	Refused int    `json:"refused"`
}

// ImportedRecord is a record that rows refer to.
type ImportedRecord struct {
	Kind string `json:"kind"`
	Name string `json:"name"`
}

// ImportedChange is what a row changes of a record.
type ImportedChange struct {
	List  string              `json:"list"`
	Name  string              `json:"name"`
	Diffs []intake.Difference `json:"differences"`
}

// shownAtMost is how many mistakes or changes are printed; the rest is
// counted.
const shownAtMost = 50

// RowsRefused counts the rows that were refused.
func (a *ImportAnswer) RowsRefused() (n int) {
	for _, l := range a.Lists {
		n += l.Refused
	}
	return n
}

// WriteText prints the answer for a terminal.
func (a *ImportAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	for _, l := range a.Lists {
		fmt.Fprintf(&b, "%-8s %d new, %d changed, %d the same, %d refused   (%s)\n", l.List, l.New, l.Changed, l.Same, l.Refused, l.Source)
	}
	a.writeMade(&b)
	a.writeChanges(&b)
	if len(a.NotRead) > 0 {
		b.WriteString("\nNot read:\n")
		for _, n := range a.NotRead {
			fmt.Fprintf(&b, "  %s: %s\n", n.What, n.Why)
		}
	}
	if len(a.Assumed) > 0 {
		b.WriteString("\nTaken for granted:\n")
		for _, s := range a.Assumed {
			fmt.Fprintf(&b, "  %s\n", s)
		}
	}
	a.writeRefused(&b)
	if err := a.Sessions.WriteText(&b); err != nil {
		return err
	}
	a.writeEnd(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func (a *ImportAnswer) writeMade(b *strings.Builder) {
	kinds := make(map[string]int)
	var order []string
	for _, r := range a.Made {
		if kinds[r.Kind]++; kinds[r.Kind] == 1 {
			order = append(order, r.Kind)
		}
	}
	if len(order) == 0 {
		return
	}
	b.WriteString("\nNew beside them, everything else about them unknown:\n")
	for _, kind := range order {
		fmt.Fprintf(b, "  %s: %d (", kind, kinds[kind])
		const few = 6
		n := 0
		for _, r := range a.Made {
			if r.Kind != kind {
				continue
			}
			if n++; n > few {
				b.WriteString(", ...")
				break
			}
			if n > 1 {
				b.WriteString(", ")
			}
			b.WriteString(r.Name)
		}
		b.WriteString(")\n")
	}
}

func (a *ImportAnswer) writeChanges(b *strings.Builder) {
	if len(a.Changes) == 0 {
		return
	}
	b.WriteString("\nChanged:\n")
	for i, c := range a.Changes {
		if i == shownAtMost {
			fmt.Fprintf(b, "  and %d more\n", len(a.Changes)-i)
			break
		}
		fmt.Fprintf(b, "  %s, %s\n", c.Name, c.List)
		for _, d := range c.Diffs {
			old := d.Old
			if old == "" {
				old = "(unknown)"
			}
			fmt.Fprintf(b, "      %s: %s -> %s\n", d.Field, old, d.New)
		}
	}
}

func (a *ImportAnswer) writeRefused(b *strings.Builder) {
	if len(a.Refused) == 0 {
		return
	}
	fmt.Fprintf(b, "\nRefused: %d rows, for %d reasons:\n", a.RowsRefused(), len(a.Refused))
	for i, m := range a.Refused {
		if i == shownAtMost {
			fmt.Fprintf(b, "  and %d more\n", len(a.Refused)-i)
			break
		}
		fmt.Fprintf(b, "  %s\n", m)
	}
}

func (a *ImportAnswer) writeEnd(b *strings.Builder) {
	b.WriteString("\n")
	for _, file := range a.Rejects {
		fmt.Fprintf(b, "The refused rows are in %s: correct them there, and import that file.\n", file)
	}
	if a.Mapping != "" {
		fmt.Fprintf(b, "The mapping is in %s: give it with --map.\n", a.Mapping)
	}
	if a.Recorded > 0 {
		fmt.Fprintf(b, "Recorded: %d records, as one change. The journal is at %d.\n", a.Recorded, a.Position)
	} else {
		b.WriteString("Nothing was recorded.\n")
	}
	if !a.exported {
		b.WriteString("These lists are not confirmed: nothing is known of what is missing from them.\n")
	}
}
