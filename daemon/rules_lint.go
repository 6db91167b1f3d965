package daemon

import (
	"context"
	"fmt"
	"io"
	"time"

	"antidotary/compliance/lint"
	"antidotary/compliance/strict"
	"antidotary/daemon/answer"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// LintAnswer tells mistakes and notes of rule packs.
type LintAnswer struct {
	answer.Telling
	Format   int           `json:"format"`
	Files    []string      `json:"files"`
	Beside   []string      `json:"beside"` // held beside the records of these
	Unread   string        `json:"records_unread,omitempty"`
	Mistakes int           `json:"mistakes"`
	Notes    int           `json:"notes"`
	Findings []LintFinding `json:"findings"`
}

// LintFinding is one thing to say about a file.
type LintFinding struct {
	File    string `json:"file"`
	Line    int    `json:"line"`
	Column  int    `json:"column"`
	Field   string `json:"field,omitempty"`
	Note    bool   `json:"note"`
	Message string `json:"message"`
	text    string
}

// LintRules looks for mistakes in packs: in files and folders, or in all that
// are loaded.
func LintRules(ctx context.Context, opt Options, paths []string) (*LintAnswer, error) {
	opt.settle()
	asked, beside, err := opt.askedFiles(paths)
	if err != nil {
		return nil, err
	}
	holidays, err := holidaysOf(opt.Config)
	if err != nil {
		return nil, err
	}
	in := lint.Input{Today: day.In(opt.Clock(), time.UTC), Holidays: holidays}
	out := &LintAnswer{Format: answer.Format, Files: []string{}, Beside: []string{}, Findings: []LintFinding{}}
	if in.Houses, out.Unread, err = opt.recordedHouses(ctx, holidays); err != nil {
		return nil, err
	}
	for _, h := range in.Houses {
		out.Beside = append(out.Beside, h.Name)
	}
	for _, f := range asked {
		out.Files = append(out.Files, f.name)
		in.Files = append(in.Files, lint.File{Name: f.name, Text: f.text, Asked: true})
	}
	for _, f := range beside {
		in.Files = append(in.Files, lint.File{Name: f.name, Text: f.text})
	}
	for _, f := range lint.Check(in) {
		out.add(f)
	}
	return out, nil
}

func (l *LintAnswer) add(f lint.Finding) {
	if f.Note {
		l.Notes++
	} else {
		l.Mistakes++
	}
	pos := strict.Pos{File: f.Pos.File, Line: f.Pos.Line, Column: f.Pos.Column}
	l.Findings = append(l.Findings, LintFinding{pos.File, pos.Line, pos.Column, f.Field, f.Note, f.Message, f.String()})
}

// WriteText prints a line for each finding, mistakes first.
func (l *LintAnswer) WriteText(w io.Writer) error {
	for _, notes := range []bool{false, true} {
		for _, f := range l.Findings {
			if f.Note == notes {
				if _, err := fmt.Fprintln(w, f.text); err != nil {
					return err
				}
			}
		}
	}
	text := fmt.Sprintf("%s, %s in %s, beside %s.", words.Count(l.Mistakes, "mistake"), words.Count(l.Notes, "note"), words.Count(len(l.Files), "pack"), words.Few(l.Beside, 3))
	if l.Mistakes == 0 && l.Notes > 0 {
		text += " A note may be as it is meant."
	}
	if l.Unread != "" {
		text += " The records could not be read: " + l.Unread
	}
	_, err := fmt.Fprint(w, words.Wrapped(text, 88))
	return err
}
