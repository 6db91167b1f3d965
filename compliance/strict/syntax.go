package strict

import (
	"bytes"
	"errors"
	"io"
	"regexp"
	"strings"

	"go.yaml.in/yaml/v3"
)

// hints turn what the YAML scanner says into what to do about it.
var hints = []struct{ says, hint string }{
	{"tab character", "a tab in the indentation; indent with spaces"},
	{"mapping values are not allowed", "a second colon where none can be; put a text that holds ': ' in quotes, or begin a new line"},
	{"cannot start any token", "a text begins with a character that YAML keeps for itself; put the text in quotes"},
	{"could not find expected ':'", "a key without its colon; write key: value"},
	{"unexpected end of stream", "a quote is opened and not closed; close it"},
	{"unknown escape character", "an unknown escape in a double-quoted text; use single quotes, or write \\\\ for a backslash"},
	{"unknown anchor", "an alias (*name) is used; write the value out"},
	{"did not find expected ',' or", "a bracket is opened and not closed, or a comma is missing; write [a, b] or {a: b}"},
	{"did not find expected", "a line does not fit those before it; check its indentation and its dash or colon"},
	{"exceeded max depth", "nested far too deep; at most 32 levels are allowed"},
}

var lineOfLibrary = regexp.MustCompile(`^yaml: (?:line \d+: )?`)

// syntax tells a text that is not YAML. The line that the library gives is
// the one on which the surrounding block begins, often the first of the file,
// so the line is searched for here.
func (d *Doc) syntax(data []byte, err error) *Mistake {
	line := brokenLine(data)
	message := "is not well-formed YAML: " + lineOfLibrary.ReplaceAllString(err.Error(), "") + "; correct this line or the one before"
	for _, h := range hints {
		if strings.Contains(err.Error(), h.says) {
			message = h.hint
			break
		}
	}
	if indentedByTab(data, line) {
		message = hints[0].hint
	}
	return &Mistake{Pos: Pos{File: d.file, Line: line}, Message: message}
}

// indentedByTab says whether a line begins with a tab, which the scanner
// often takes for the beginning of a text.
func indentedByTab(data []byte, line int) bool {
	lines := bytes.SplitN(data, []byte("\n"), line+1)
	return line <= len(lines) && bytes.HasPrefix(bytes.TrimLeft(lines[line-1], " "), []byte("\t"))
}

// brokenLine gives the line after the longest beginning of the file that is
// well-formed: where an unclosed quote or bracket opens, or where a line does
// not fit. It halves the file, and because a beginning may also end within a
// text or list of several lines, it looks a little to both sides before it
// concludes that the mistake lies earlier. A text of more lines than that may
// draw the blame to its first line, and so may a file so large that reading
// its beginnings again and again would take seconds.
func brokenLine(data []byte) int {
	const around = 16
	budget := 16 * MaxBytes
	ends := lineEnds(data)
	wellFormedTo := func(n int) bool {
		budget -= ends[n-1]
		return budget > 0 && wellFormed(data[:ends[n-1]])
	}
	sound := 0 // so many lines are well-formed
search:
	for broken := len(ends); sound+1 < broken; {
		middle := (sound + broken) / 2
		for n := middle; n > max(sound, middle-around); n-- {
			if wellFormedTo(n) {
				sound = n
				continue search
			}
		}
		for n := middle + 1; n < min(broken, middle+around); n++ {
			if wellFormedTo(n) {
				sound = n
				continue search
			}
		}
		broken = middle
	}
	return sound + 1
}

// lineEnds gives the offset behind each line.
func lineEnds(data []byte) []int {
	var ends []int
	at := 0
	for line := range bytes.Lines(data) {
		at += len(line)
		ends = append(ends, at)
	}
	return ends
}

func wellFormed(data []byte) bool {
	in := yaml.NewDecoder(bytes.NewReader(data))
	for {
		var n yaml.Node
		if err := in.Decode(&n); err != nil {
			return errors.Is(err, io.EOF)
		}
	}
}
