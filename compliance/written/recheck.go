package written

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"

	"antidotary/inventory/day"
)

// Rechecked is a pack of which somebody read the text again and found it
// unchanged.
type Rechecked struct {
	Text                 string // of the file: two values of it are new, and nothing else
	WasRead, WasDue, Due day.Day
	Months, Days         int // the span from reading to review; one of them
}

// Recheck sets read_on to today and moves review_by by the same span: the
// same number of months where it was whole months, else the same number of
// days. Every other byte stays.
func Recheck(name, text string, today day.Day) (*Rechecked, error) {
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	out := &Rechecked{Text: text}
	read, err := dated(&doc, "read_on", &out.WasRead)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	due, err := dated(&doc, "review_by", &out.WasDue)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if out.WasDue <= out.WasRead {
		return nil, fmt.Errorf("%s: review_by %s is not after read_on %s: write by hand how long it is good for", name, out.WasDue, out.WasRead)
	}
	if today < out.WasRead {
		return nil, fmt.Errorf("%s: read_on %s is after today, %s", name, out.WasRead, today)
	}
	out.span(today)
	lines := strings.SplitAfter(text, "\n")
	put(lines, read, out.WasRead, today)
	put(lines, due, out.WasDue, out.Due)
	out.Text = strings.Join(lines, "")
	return out, nil
}

func (r *Rechecked) span(today day.Day) {
	for n := 1; r.WasRead.AddMonths(n) <= r.WasDue; n++ {
		if r.WasRead.AddMonths(n) == r.WasDue {
			r.Months, r.Due = n, today.AddMonths(n)
			return
		}
	}
	r.Days = r.WasDue.Sub(r.WasRead)
	r.Due = today.Add(r.Days)
}

// dated finds a day of the outermost mapping.
func dated(doc *yaml.Node, key string, into *day.Day) (*yaml.Node, error) {
	if len(doc.Content) > 0 && doc.Content[0].Kind == yaml.MappingNode {
		root := doc.Content[0].Content
		for i := 0; i+1 < len(root); i += 2 {
			if root[i].Value != key || root[i+1].Kind != yaml.ScalarNode {
				continue
			}
			d, err := day.Parse(root[i+1].Value)
			*into = d
			return root[i+1], err
		}
	}
	return nil, fmt.Errorf("it has no %s", key)
}

// put writes a day over the one that stands at a node. A day has ten bytes
// either way; quotes around it stay.
func put(lines []string, n *yaml.Node, was, is day.Day) {
	line := lines[n.Line-1]
	at := 0 // of the node, in bytes; its column counts characters
	for i := range strings.TrimPrefix(line, "\ufeff") {
		if at++; at == n.Column {
			at = i + len(line) - len(strings.TrimPrefix(line, "\ufeff"))
			break
		}
	}
	found := strings.Index(line[at:], was.String())
	at += found
	lines[n.Line-1] = line[:at] + is.String() + line[at+len(was.String()):]
}
