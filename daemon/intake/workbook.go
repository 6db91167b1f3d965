package intake

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// most is how large an unpacked workbook may be: far beyond a house's own, and
// small enough to refuse a file made to fill the memory.
const most = 512 << 20

// readWorkbook reads every sheet that is not hidden.
func readWorkbook(file string, data []byte) (sheets []*Sheet, notes []Note, err error) {
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: most})
	if err != nil {
		return nil, nil, fmt.Errorf("read %s: %w: save it as .xlsx without a password", file, err)
	}
	defer f.Close()
	book := &workbook{File: f, file: file, formats: make(map[int]dateParts)}
	props, err := f.GetWorkbookProps()
	if err != nil {
		return nil, nil, fmt.Errorf("read %s: %w", file, err)
	}
	book.since1904 = props.Date1904 != nil && *props.Date1904
	for _, name := range f.GetSheetList() {
		if visible, err := f.GetSheetVisible(name); err == nil && !visible {
			notes = append(notes, Note{file + ":" + name, "the sheet is hidden; show it to have it read"})
			continue
		}
		sheet, err := book.sheet(name)
		if err != nil {
			return nil, nil, fmt.Errorf("read sheet %s of %s: %w", name, file, err)
		}
		sheets = append(sheets, sheet)
	}
	return sheets, notes, nil
}

type workbook struct {
	*excelize.File
	file      string
	since1904 bool
	formats   map[int]dateParts // by style
}

// sheet reads values as stored beside values as shown: only both together
// tell a date from a number.
func (b *workbook) sheet(name string) (*Sheet, error) {
	stored, err := b.GetRows(name, excelize.Options{RawCellValue: true})
	if err != nil {
		return nil, err
	}
	shown, err := b.GetRows(name)
	if err != nil {
		return nil, err
	}
	s := &Sheet{File: b.file, Name: name}
	for r, values := range stored {
		row := Row{Line: r + 1, Cells: make([]Cell, len(values))}
		for c, value := range values {
			text := value
			if r < len(shown) && c < len(shown[r]) && shown[r][c] != value {
				if text, err = b.meant(name, c+1, r+1, value, shown[r][c]); err != nil {
					return nil, err
				}
			}
			row.Cells[c] = Cell{unescaped(text), r + 1, c + 1}
		}
		s.Rows = append(s.Rows, row)
	}
	return s, b.merges(s)
}

// meant gives the text of a number that is shown as something else: a date as
// YYYY-MM-DD, or YYYY-MM where it shows no day. A date that shows no year is
// none, for whoever typed 02/26 had a year added by the spreadsheet.
func (b *workbook) meant(sheet string, column, line int, stored, shown string) (string, error) {
	serial, err := strconv.ParseFloat(stored, 64)
	if err != nil || shown == "TRUE" || shown == "FALSE" {
		return shown, nil
	}
	if digits := strings.TrimLeft(shown, "0"); digits == stored { // 001, shown so by its format
		return shown, nil
	}
	cell, err := excelize.CoordinatesToCellName(column, line)
	if err != nil {
		return "", err
	}
	style, err := b.GetCellStyle(sheet, cell)
	if err != nil {
		return "", err
	}
	parts, known := b.formats[style]
	if !known {
		if parts, err = b.partsOf(style); err != nil {
			return "", err
		}
		b.formats[style] = parts
	}
	const falseLeapDay = 60 // 29 February 1900, which never was, makes earlier serials doubtful
	switch {
	case parts.clock && !parts.date && serial < 1:
		return clockOf(serial, stored), nil
	case !parts.date && !parts.clock:
		return stored, nil
	case !parts.date: // a whole instant of which only the clock is shown
		parts = dateParts{date: true, year: true, day: true, clock: true}
	}
	switch {
	case !parts.year:
		return shown + " (no year is shown)", nil
	case serial <= falseLeapDay:
		return shown, nil
	}
	at, err := excelize.ExcelDateToTime(serial, b.since1904)
	if err != nil {
		return shown, nil
	}
	at = at.Round(time.Second) // a part of a day is no exact number of seconds
	switch {
	case parts.day && parts.clock && at.Second() != 0:
		return at.Format("2006-01-02 15:04:05"), nil
	case parts.day && parts.clock:
		return at.Format("2006-01-02 15:04"), nil
	case parts.day:
		return at.Format("2006-01-02"), nil
	}
	return at.Format("2006-01"), nil
}

// clockOf gives a part of a day as a time of day.
func clockOf(serial float64, stored string) string {
	at := time.Time{}.Add(time.Duration(math.Round(serial*24*60*60)) * time.Second)
	switch {
	case serial < 0 || at.Day() > 1:
		return stored
	case at.Second() != 0:
		return at.Format("15:04:05")
	}
	return at.Format("15:04")
}

// dateParts says what a number format shows.
type dateParts struct{ date, year, day, clock bool }

func (b *workbook) partsOf(style int) (dateParts, error) {
	s, err := b.GetStyle(style)
	if err != nil {
		return dateParts{}, err
	}
	if s.CustomNumFmt != nil {
		return partsOfFormat(*s.CustomNumFmt), nil
	}
	switch n := s.NumFmt; { // the built-in numbers of ECMA-376 part 1, 18.8.30
	case n == 22:
		return dateParts{date: true, year: true, day: true, clock: true}, nil
	case n >= 18 && n <= 21:
		return dateParts{clock: true}, nil
	case n == 14, n == 15, n >= 27 && n <= 31, n == 36, n >= 50 && n <= 54, n == 57, n == 58:
		return dateParts{date: true, year: true, day: true}, nil
	case n == 17:
		return dateParts{date: true, year: true}, nil
	case n == 16:
		return dateParts{date: true, day: true}, nil
	}
	return dateParts{}, nil
}

func partsOfFormat(format string) dateParts {
	var plain strings.Builder
	quoted, bracket := false, false
	for i := 0; i < len(format); i++ {
		switch c := format[i]; {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '\\':
			i++
		case c == '[':
			bracket = true
		case c == ']':
			bracket = false
		case c == ';': // the format of negative numbers
			i = len(format)
		case !bracket:
			plain.WriteByte(c)
		}
	}
	text := strings.ToLower(plain.String())
	p := dateParts{year: strings.Contains(text, "y"), day: strings.Contains(text, "d"), clock: strings.Contains(text, "h")}
	p.date = p.year || p.day
	return p
}

func (b *workbook) merges(s *Sheet) error {
	cells, err := b.GetMergeCells(s.Name, true)
	if err != nil {
		return err
	}
	for _, c := range cells {
		var a area
		if a.left, a.top, err = excelize.CellNameToCoordinates(c.GetStartAxis()); err != nil {
			return err
		}
		if a.right, a.bottom, err = excelize.CellNameToCoordinates(c.GetEndAxis()); err != nil {
			return err
		}
		s.merged = append(s.merged, a)
	}
	return nil
}
