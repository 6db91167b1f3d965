package answer

import (
	"fmt"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// group prints one entry.
func (p *printer) group(number int, it Group, today day.Day) {
	p.line("%2d. %s, %s: %s", number, strings.ToUpper(words.Standing(it.Standing)), it.Layer, it.Title)
	p.field("what", it.Names+": "+it.StateWords)
	if it.Cause != "" && it.Cause != it.Name {
		p.field("because of", it.Cause)
	}
	if it.Step != nil {
		p.field("to do", capital(it.Step.Words)+", "+when(it.Step, today)+" ("+words.Role(it.Step.Owner)+")")
	}
	if it.Standing != compliance.InOrder {
		p.field("if not", it.Consequence)
	}
	for _, reason := range it.Reasons[:min(4, len(it.Reasons))] {
		p.field("fact", reason)
	}
	if more := len(it.Reasons) - 4; more > 0 {
		p.field("", fmt.Sprintf("and %d more facts: antidotary explain shows them", more))
	}
	p.field("rule", fmt.Sprintf("%s: %s (%s)", it.Rule, it.Citation, it.Certainty))
}

func when(s *Step, today day.Day) string {
	if s.By.IsZero() {
		return "at once"
	}
	text := "by " + words.Day(s.By) + ", " + words.Relative(s.By, today)
	if s.Missed {
		text = "should have been done by " + words.Day(s.By) + ", " + words.Relative(s.By, today)
	}
	if !s.Legal.IsZero() && s.Legal != s.By {
		text += "; last day by the rule itself " + words.Day(s.Legal)
	}
	if s.Provisional {
		text += "; provisional: holidays of that year are not known"
	}
	return text
}

// names lists at most twelve names, each once.
func names(items []Item) string {
	var list []string
	seen := make(map[string]bool)
	for _, it := range items {
		name := it.Name
		if it.Occurrence != "" {
			name += " for " + it.Occurrence
		}
		if !seen[name] {
			seen[name] = true
			list = append(list, name)
		}
	}
	if more := len(list) - 12; more > 0 {
		return strings.Join(list[:12], ", ") + fmt.Sprintf(" and %d more", more)
	}
	return strings.Join(list, ", ")
}

const width = 88

// field prints a labelled text, wrapped.
func (p *printer) field(label, text string) {
	const indent = 17
	line := fmt.Sprintf("%15s  ", label)
	n := indent
	for i, word := range strings.Fields(text) {
		if i > 0 && n+1+len(word) > width {
			p.line("%s", line)
			line, n = strings.Repeat(" ", indent)+word, indent+len(word)
			continue
		}
		if i > 0 {
			line += " "
			n++
		}
		line += word
		n += len(word)
	}
	p.line("%s", line)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
