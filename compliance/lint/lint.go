// Package lint finds what an administrator got wrong in rule packs, beyond
// what the strict reader refuses: rules that can never apply, that shadow each
// other, that nobody has read again, that ask for a paper that nobody has.
//
// A mistake is something that cannot be meant; a note is something that may
// be. The order in which it looks: each file by the strict reader; what each
// pack says of itself; rules beside the rules of all packs; scopes by
// themselves, over every value that an attribute can have; and rules beside
// what is recorded. Files that are there for comparison alone are not told of.
package lint

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"antidotary/compliance"
	"antidotary/compliance/strict"
	"antidotary/compliance/written"
	"antidotary/inventory/day"
)

// Finding is one thing to say about a file.
type Finding struct {
	Pos     strict.Pos
	Field   string // such as scope; empty: the file or rule as a whole
	Message string // what is wrong; what to do
	Note    bool   // it may be meant
}

// String gives file:line:column: field: message.
func (f Finding) String() string {
	text := f.Pos.String() + ": "
	if f.Note {
		text += "note: "
	}
	if f.Field != "" {
		text += f.Field + ": "
	}
	return text + f.Message
}

// File is a pack's text.
type File struct {
	Name  string // as it is told
	Text  string
	Asked bool // else it is there for comparison
}

// House is records to hold rules against.
type House struct {
	Name     string // the records, the demo house
	Demo     bool
	Snapshot *compliance.Snapshot
}

// Input is what is looked at.
type Input struct {
	Files    []File
	Today    day.Day
	Holidays *day.Holidays
	Houses   []House
}

// pack is a file that the strict reader takes.
type pack struct {
	*compliance.Pack
	file  *written.File
	asked bool
}

// rule is a rule with its text.
type rule struct {
	*compliance.Rule
	text *written.Rule
	kind string
	pack *pack
}

type linter struct {
	Input
	packs    []*pack
	rules    []*rule
	findings []Finding
	views    map[string]*compliance.View // by house
}

// Check gives all findings, sorted by place.
func Check(in Input) []Finding {
	l := &linter{Input: in, views: make(map[string]*compliance.View)}
	for _, f := range in.Files {
		l.read(f)
	}
	for _, p := range l.packs {
		if p.asked {
			l.said(p)
			l.tested(p)
		}
	}
	l.together()
	l.rings()
	for _, r := range l.rules {
		if r.pack.asked {
			l.cited(r)
			l.words(r)
			l.scoped(r)
			l.recorded(r)
		}
	}
	slices.SortStableFunc(l.findings, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(a.Pos.File, b.Pos.File), cmp.Compare(a.Pos.Line, b.Pos.Line), cmp.Compare(a.Pos.Column, b.Pos.Column))
	})
	return l.findings
}

// read takes a file in, or tells why the strict reader refuses it.
func (l *linter) read(f File) {
	p, err := compliance.ReadPack(f.Name, []byte(f.Text))
	if err != nil {
		var mistakes strict.Errors
		if !f.Asked || !errors.As(err, &mistakes) {
			return
		}
		for _, m := range mistakes {
			l.findings = append(l.findings, Finding{Pos: m.Pos, Field: m.Field, Message: m.Message})
		}
		return
	}
	file, err := written.Read(f.Name, f.Text)
	if err != nil { // the strict reader took it
		return
	}
	out := &pack{p, file, f.Asked}
	l.packs = append(l.packs, out)
	for i, r := range p.Rules { // both are as the file gives them
		text := file.Rules[i]
		l.rules = append(l.rules, &rule{r, text, text.Value("kind"), out})
	}
}

func (l *linter) tell(note bool, at strict.Pos, field, format string, args ...any) {
	f := Finding{at, field, fmt.Sprintf(format, args...), note}
	if !slices.Contains(l.findings, f) {
		l.findings = append(l.findings, f)
	}
}

// mistake tells what cannot be meant, at a field of a rule.
func (l *linter) mistake(r *rule, field, format string, args ...any) {
	l.tell(false, r.text.Pos(field), r.ID+" "+field, format, args...)
}

// note tells what may be meant, at a field of a rule.
func (l *linter) note(r *rule, field, format string, args ...any) {
	l.tell(true, r.text.Pos(field), r.ID+" "+field, format, args...)
}
