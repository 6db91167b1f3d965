package strict

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Pos is a place in a file. Line and Column count from 1, columns in
// characters; a Column of 0 means that only the line is known, and a Line of
// 0 that only the file is.
type Pos struct {
	File         string
	Line, Column int
}

// String gives file:line:column, without the parts that are not known.
func (p Pos) String() string {
	switch {
	case p.Line == 0:
		return p.File
	case p.Column == 0:
		return fmt.Sprintf("%s:%d", p.File, p.Line)
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
}

// Mistake is one thing wrong in a file.
type Mistake struct {
	Pos     Pos
	Field   string // path of keys such as rules[2].params.lead; empty for the file as a whole
	Message string // "what is wrong; what is allowed"
}

// Error gives "file:line:column: field: what is wrong; what is allowed".
func (m *Mistake) Error() string {
	if m.Field == "" {
		return m.Pos.String() + ": " + m.Message
	}
	return m.Pos.String() + ": " + m.Field + ": " + m.Message
}

// Errors are the mistakes of a file, sorted by position.
type Errors []*Mistake

// Error gives one mistake a line.
func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i, m := range e {
		lines[i] = m.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives each mistake to errors.Is and errors.As.
func (e Errors) Unwrap() []error {
	all := make([]error, len(e))
	for i, m := range e {
		all[i] = m
	}
	return all
}

// sorted orders by place, and leaves mistakes of one place as they were found.
func (e Errors) sorted() Errors {
	out := slices.Clone(e)
	slices.SortStableFunc(out, func(a, b *Mistake) int {
		return cmp.Or(cmp.Compare(a.Pos.Line, b.Pos.Line), cmp.Compare(a.Pos.Column, b.Pos.Column))
	})
	return out
}

// quoted shows a text of the file in a message, cut so that a hostile file
// cannot fill the log.
func quoted(s string) string {
	const most = 60
	if runes := []rune(s); len(runes) > most {
		s = string(runes[:most]) + "..."
	}
	return fmt.Sprintf("%q", s)
}

// choices lists what is allowed in a sentence.
func choices(allowed []string) string {
	if len(allowed) == 0 {
		return "nothing"
	}
	return strings.Join(allowed, ", ")
}
