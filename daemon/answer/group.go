package answer

import (
	"fmt"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// width is the longest line of an answer.
const width = 88

// group prints one entry.
func (p *printer) group(number int, g notify.Group, today day.Day) {
	p.text(fmt.Sprintf("%d. %s, %s: %s", number, strings.ToUpper(words.Standing(g.Standing)), words.Layer(g.Layer), g.Title))
	p.field("what", g.Names+": "+g.StateWords)
	if g.Cause != "" && g.Cause != g.Name {
		p.field("because of", g.Cause)
	}
	if g.Step != nil {
		p.field("to do", words.Capital(g.Step.Words)+", "+g.Step.When(today)+" ("+words.Role(g.Step.Owner)+")"+g.Step.Recorded())
	}
	if g.Standing != compliance.InOrder {
		p.field("if not", g.Consequence)
	}
	for _, reason := range g.Reasons[:min(4, len(g.Reasons))] {
		p.field("fact", reason)
	}
	if more := len(g.Reasons) - 4; more > 0 {
		p.field("", fmt.Sprintf("more facts (%d): antidotary explain shows them", more))
	}
	p.field("rule", fmt.Sprintf("%s: %s (%s)", g.Rule, g.Citation, g.Certainty))
}

// field prints a labelled text, wrapped.
func (p *printer) field(label, text string) { p.write(words.Labelled(label, text, width)) }

// text prints a paragraph, wrapped.
func (p *printer) text(text string) { p.write(words.Wrapped(text, width)) }

// indented prints a paragraph below another, wrapped and set in.
func (p *printer) indented(format string, args ...any) {
	for line := range strings.Lines(words.Wrapped(fmt.Sprintf(format, args...), width-2)) {
		p.write("  " + line)
	}
}

func (p *printer) write(text string) { p.line("%s", strings.TrimSuffix(text, "\n")) }
