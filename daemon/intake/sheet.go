package intake

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Position is the place of a cell. Line and Column count from 1: in a CSV
// file lines and characters, in a workbook rows and columns.
type Position struct {
	File, Sheet  string // Sheet is empty in a CSV file
	Line, Column int
}

// String gives file:line:column, or file:sheet!A1 in a workbook.
func (p Position) String() string {
	if p.Sheet == "" {
		return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
	}
	cell, err := excelize.CoordinatesToCellName(p.Column, p.Line)
	if err != nil {
		cell = fmt.Sprintf("row %d", p.Line)
	}
	return fmt.Sprintf("%s:%s!%s", p.File, p.Sheet, cell)
}

// Mistake is one thing wrong with a cell.
type Mistake struct {
	At      Position
	Field   string // of the list; empty: the row or sheet as a whole
	Message string // "what is wrong; what is allowed"
}

// Error gives "place: field: what is wrong; what is allowed".
func (m Mistake) Error() string {
	if m.Field == "" {
		return m.At.String() + ": " + m.Message
	}
	return m.At.String() + ": " + m.Field + ": " + m.Message
}

// Note says of something that it was not read, and why.
type Note struct {
	What string `json:"what"`
	Why  string `json:"why"`
}

// Cell is a text and its place in its row.
type Cell struct {
	Text   string
	Line   int // differs from the row's where a CSV record spans lines
	Column int
}

// Row is one record of a CSV file or one row of a workbook.
type Row struct {
	Line  int
	Cells []Cell
}

// Sheet is a CSV file, or one sheet of a workbook.
type Sheet struct {
	File, Name string // Name is empty for a CSV file
	Rows       []Row
	merged     []area // in a workbook
}

// area is a merged range of cells, counted from 1, ends included.
type area struct{ left, top, right, bottom int }

func (a area) has(column, line int) bool {
	return a.left <= column && column <= a.right && a.top <= line && line <= a.bottom
}

// Title is what people call the sheet.
func (s *Sheet) Title() string {
	if s.Name == "" {
		return s.File
	}
	return s.File + ":" + s.Name
}

// at gives the place of column i, counted from 0, of a row; of its beginning
// where the row has no such cell.
func (s *Sheet) at(r Row, i int) Position {
	if i >= 0 && i < len(r.Cells) {
		return Position{s.File, s.Name, r.Cells[i].Line, r.Cells[i].Column}
	}
	if s.Name != "" && i >= 0 {
		return Position{s.File, s.Name, r.Line, i + 1}
	}
	return Position{s.File, s.Name, r.Line, 1}
}

// cell gives the text of column i as it stands; empty where there is none.
func (r Row) cell(i int) string {
	if i < 0 || i >= len(r.Cells) {
		return ""
	}
	return r.Cells[i].Text
}

// filled counts the cells that are not blank.
func (r Row) filled() (n int) {
	for _, c := range r.Cells {
		if strings.TrimSpace(c.Text) != "" {
			n++
		}
	}
	return n
}

// covering finds the merged area that hides a cell other than its first.
func (s *Sheet) covering(column, line int) (area, bool) {
	for _, a := range s.merged {
		if a.has(column, line) && (a.left != column || a.top != line) {
			return a, true
		}
	}
	return area{}, false
}
