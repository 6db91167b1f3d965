package intake

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// headerWithin is in how many rows from the top a header row is looked for.
// (Common practice, no source: titles above it take a few.)
const headerWithin = 30

// readCSV reads a file whose cells are parted by comma, semicolon or tab: by
// whichever the header row makes most sense.
func readCSV(file string, data []byte) (*Sheet, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if err := readable(file, data); err != nil {
		return nil, err
	}
	var best rune
	bestKnown, bestWidth := -1, -1
	var first error
	begins := lineStarts(data)
	for _, comma := range ",;\t" {
		sheet, err := parted(file, data, begins, comma, headerWithin)
		if err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		if known, width := promise(sheet); known > bestKnown || known == bestKnown && width > bestWidth {
			best, bestKnown, bestWidth = comma, known, width
		}
	}
	if best == 0 {
		return nil, first
	}
	return parted(file, data, begins, best, len(data))
}

func readable(file string, data []byte) error {
	line, column := 1, 1
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && size == 1 || r == 0 {
			return Mistake{Position{file, "", line, column}, "", fmt.Sprintf("byte %#02x is no text in UTF-8; save the file as CSV in UTF-8", data[i])}
		}
		i += size
		column++
		if r == '\n' {
			line, column = line+1, 1
		}
	}
	return nil
}

// promise says how many known columns the best header row has, and how wide
// the widest row is.
func promise(s *Sheet) (known, width int) {
	if _, _, says := marked(s); says != nil {
		known = len(wholeLists) // more than one cell means that it was parted rightly
	}
	for _, r := range s.Rows[:min(headerWithin, len(s.Rows))] {
		for _, l := range Lists {
			known = max(known, len(l.columns(r)))
		}
		width = max(width, len(r.Cells))
	}
	return known, width
}

// parted reads at most so many rows.
func parted(file string, data []byte, begins []int, comma rune, rows int) (*Sheet, error) {
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma, in.FieldsPerRecord = comma, -1
	s := &Sheet{File: file}
	for len(s.Rows) < rows {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			return s, nil
		}
		if wrong := new(csv.ParseError); errors.As(err, &wrong) {
			return nil, Mistake{Position{file, "", wrong.Line, wrong.Column}, "", wrong.Err.Error() + `; a quoted cell is allowed, with each quote in it doubled`}
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", file, err)
		}
		row := Row{Cells: make([]Cell, len(record))}
		for i, text := range record {
			line, column := in.FieldPos(i)
			start := begins[line-1]
			row.Cells[i] = Cell{unescaped(text), line, utf8.RuneCount(data[start:start+column-1]) + 1}
		}
		row.Line = row.Cells[0].Line
		s.Rows = append(s.Rows, row)
	}
	return s, nil
}

func lineStarts(data []byte) []int {
	starts := []int{0}
	for i, b := range data {
		if b == '\n' {
			starts = append(starts, i+1)
		}
	}
	return starts
}
