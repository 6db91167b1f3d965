package words

import (
	"fmt"
	"strings"
)

// Labelled writes a text behind its label, wrapped to a width, with the
// following lines set below the text's beginning. It ends with a line break.
func Labelled(label, text string, width int) string {
	return wrapped(fmt.Sprintf("%12s  ", label), 14, text, width)
}

// Wrapped writes a paragraph, wrapped to a width. It ends with a line break.
func Wrapped(text string, width int) string { return wrapped("", 0, text, width) }

func wrapped(head string, indent int, text string, width int) string {
	var b strings.Builder
	b.WriteString(head)
	n := len(head)
	for i, word := range strings.Fields(text) {
		switch {
		case i == 0:
		case n+1+len(word) > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			n = indent
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += len(word)
	}
	b.WriteByte('\n')
	return b.String()
}

// Caution goes below whatever somebody might lean on.
const Caution = "No medical or legal advice: vials are planning figures with a source. The treating clinician, the poison centre, " +
	"the product label, the authority and local law decide. This is not a bite alarm, a fridge alarm or a head count."
