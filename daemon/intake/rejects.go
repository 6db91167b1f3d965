package intake

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"path"
	"strings"
)

// rejectsMark is what the name of a rejects file has in it.
const rejectsMark = ".rejects"

// Rejects gives the refused rows of a table as CSV: each as it was, and why.
// Formulas are escaped. It is nil where no row was refused.
func (p *Plan) Rejects(t *Table) ([]byte, error) {
	var rows [][]string
	for _, e := range p.Entries {
		if e.Table != t || e.Fate != Refused {
			continue
		}
		row := make([]string, len(t.Columns), len(t.Columns)+1)
		for i := range row {
			row[i] = Escaped(e.Row.cell(i))
		}
		var why []string
		for _, m := range e.Mistakes {
			why = append(why, m.Error())
		}
		rows = append(rows, append(row, Escaped(strings.Join(why, " | "))))
	}
	if rows == nil {
		return nil, nil
	}
	head := make([]string, len(t.Columns), len(t.Columns)+1)
	for i, c := range t.Columns {
		head[i] = Escaped(c.Title)
	}
	for i, c := range t.Columns { // reasons of an earlier import make room for the new ones
		if folded(c.Title) == folded(refusedBecause) {
			head[i] = ""
			for _, row := range rows {
				row[i] = ""
			}
		}
	}
	rows = append([][]string{append(head, refusedBecause)}, rows...)
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		return nil, fmt.Errorf("write the refused rows: %w", err)
	}
	return b.Bytes(), nil
}

// RejectsName gives what a file of refused rows is called, without .csv: next
// to house.xlsx, house.animals.rejects.
func (t *Table) RejectsName() string {
	base := strings.TrimSuffix(t.File, path.Ext(t.File))
	if i := strings.Index(base, rejectsMark); i > 0 {
		base = base[:i]
	}
	if t.Sheet.Name != "" {
		base += "." + strings.Map(func(r rune) rune {
			if strings.ContainsRune(`/\:*?"<>|`, r) {
				return '-'
			}
			return r
		}, t.Sheet.Name)
	}
	return base + rejectsMark
}
