package label

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
)

// Written gives elements as a scanner sends them, without symbology
// identifier: a separator stands after each whose length is not predefined,
// but not at the end.
func Written(all []Element) string {
	var b strings.Builder
	for i, e := range all {
		b.WriteString(e.AI + e.Value)
		if i < len(all)-1 && !identifiers[e.AI].predefined {
			b.WriteString(Separator)
		}
	}
	return b.String()
}

var bracket = regexp.MustCompile(`\(([0-9]{2,4})\)`)

// Printed reads elements as they are printed below a code, such as
// (17)271200(10)A1: identifiers in parentheses, which the code does not
// carry. Blanks between elements are skipped. The values are not checked. A
// value that has a parenthesis is refused: it cannot be told from an
// identifier.
func Printed(text string) ([]Element, error) {
	marks := bracket.FindAllStringSubmatchIndex(text, -1)
	if len(marks) == 0 || strings.TrimSpace(text[:marks[0][0]]) != "" {
		return nil, errors.New("it does not begin with an application identifier in parentheses, such as (01)")
	}
	var all []Element
	for i, m := range marks {
		end := len(text)
		if i+1 < len(marks) {
			end = marks[i+1][0]
		}
		e := Element{text[m[2]:m[3]], strings.TrimSpace(text[m[1]:end])}
		if strings.ContainsAny(e.Value, "()"+Separator) {
			return nil, fmt.Errorf("(%s): %q has a parenthesis or a separator: what it belongs to cannot be told; record what is printed", e.AI, e.Value)
		}
		if _, known := identifiers[e.AI]; !known {
			return nil, fmt.Errorf("(%s) is no application identifier that is known here; leave it out, or record what is printed", e.AI)
		}
		all = append(all, e)
	}
	return all, nil
}

// ReadPrinted reads a code as it is printed, as Read reads a scan. There the
// parentheses part the elements, so that no lot number takes in what follows.
func ReadPrinted(text string, year int) (Label, []Warning, error) {
	if err := checkYear(year); err != nil {
		return Label{}, nil, err
	}
	all, err := Printed(text)
	if err != nil {
		return Label{}, nil, err
	}
	r := reading{year: year, elements: all, printed: true}
	for _, e := range all {
		if err := r.check(e.AI, e.Value); err != nil {
			return Label{}, nil, err
		}
	}
	return r.label("")
}
