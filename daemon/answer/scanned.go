package answer

import (
	"fmt"
	"io"

	"antidotary/inventory/day"
	"antidotary/inventory/label"
	"antidotary/notify/words"
)

// Scanned answers what was read from a code and recorded.
type Scanned struct {
	*Recorded
	Code Code `json:"code"`
}

// Code is what a scanned code says.
type Code struct {
	Symbology   string          `json:"symbology,omitempty"` // the kind of code; empty: the scanner did not say
	Elements    []CodeElement   `json:"elements"`
	Product     string          `json:"product,omitempty"` // which has its trade item number; empty: none is recorded
	Lot         string          `json:"lot,omitempty"`
	LotDoubtful bool            `json:"lot_doubtful,omitempty"`
	End         string          `json:"end"` // last good day YYYY-MM-DD, or unknown
	MonthOnly   bool            `json:"month_only,omitempty"`
	Warnings    []label.Warning `json:"warnings"`
	past        bool
}

// CodeElement is one element with what it is.
type CodeElement struct {
	label.Element
	Title string `json:"title"`
}

// CodeOf makes the answer of a label. today is the day at the site.
func CodeOf(l label.Label, warnings []label.Warning, today day.Day) Code {
	c := Code{Symbology: l.SymbologyName(), Lot: l.Lot, LotDoubtful: l.LotDoubtful, End: l.End.String(), MonthOnly: l.MonthOnly,
		Warnings: append([]label.Warning{}, warnings...)}
	for _, e := range l.Elements {
		c.Elements = append(c.Elements, CodeElement{e, e.Title()})
	}
	last, known := l.End.Known()
	c.past = known && last < today
	return c
}

// WriteText prints what was read, and what to look at.
func (c *Code) WriteText(w io.Writer) error {
	out := &printer{w: w}
	kind := c.Symbology
	if kind == "" {
		kind = "a code; the scanner did not say of what kind"
	}
	out.line("Read from %s:", kind)
	for _, e := range c.Elements {
		out.indented("(%s) %s: %s", e.AI, e.Title, e.Value)
	}
	if c.Product != "" {
		out.text("By the records that is " + c.Product + ".")
	}
	end := "The last good day by it: " + c.End
	if c.MonthOnly {
		end += " (it has month and year only)"
	}
	if c.past {
		end += ". THAT DAY HAS PASSED"
	}
	out.line("%s.", end)
	for _, w := range c.Warnings {
		out.text(fmt.Sprintf("Look at the package: %s.", w.Text))
	}
	out.text(words.Caution)
	return out.err
}
