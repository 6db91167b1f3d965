package intake

import (
	"fmt"
	"io"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
)

// A workbook's sheet has room for so many rows, and a cell for so many
// characters, counted as UTF-16 does (ECMA-376 and the limits that makers of
// spreadsheets publish; from memory). A little less is used.
const (
	rowsInSheet = 1_048_576
	unitsInCell = 32_000
)

// WriteBook writes all lists as a workbook, one sheet each, every cell as
// text. The rows go to a file beside, not into memory.
func (x *Export) WriteBook(w io.Writer) (err error) {
	f := excelize.NewFile()
	defer func() {
		if wrong := f.Close(); err == nil && wrong != nil {
			err = fmt.Errorf("close the workbook: %w", wrong)
		}
	}()
	text, err := f.NewStyle(&excelize.Style{NumFmt: 49}) // as typed
	if err != nil {
		return fmt.Errorf("make the workbook: %w", err)
	}
	head, err := f.NewStyle(&excelize.Style{NumFmt: 49, Font: &excelize.Font{Bold: true}})
	if err != nil {
		return fmt.Errorf("make the workbook: %w", err)
	}
	first := f.GetSheetName(0)
	for i, l := range wholeLists {
		if i == 0 {
			err = f.SetSheetName(first, l.name)
		} else {
			_, err = f.NewSheet(l.name)
		}
		if err == nil {
			err = x.sheet(f, l, head, text)
		}
		if err != nil {
			return fmt.Errorf("write the sheet %s: %w", l.name, err)
		}
	}
	if err := f.Write(w); err != nil {
		return fmt.Errorf("write the workbook: %w", err)
	}
	return nil
}

// sheet writes one list, with more columns where a text needs them.
func (x *Export) sheet(f *excelize.File, l *wholeList, head, text int) error {
	pieces, n, err := x.pieces(l)
	if err != nil {
		return err
	}
	if n >= rowsInSheet {
		return fmt.Errorf("%d records do not fit into a sheet of %d rows: export to a folder", n, rowsInSheet)
	}
	out, err := f.NewStreamWriter(l.name)
	if err != nil {
		return err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	var row []any
	for i, title := range l.list.headings() {
		row = append(row, excelize.Cell{StyleID: head, Value: title})
		for n := 2; n <= pieces[i]; n++ {
			row = append(row, excelize.Cell{StyleID: head, Value: continued(title, n)})
		}
	}
	if err := out.SetRow("A1", row); err != nil {
		return err
	}
	cells := make([]string, len(l.columns)+2)
	line := 1
	for rec := range l.all(x.records) {
		if err := x.row(l, rec, cells); err != nil {
			return err
		}
		line++
		row = row[:0]
		for i, cell := range cells {
			for range pieces[i] {
				var piece string
				piece, cell = cutAt(cell, unitsInCell)
				row = append(row, textCell(text, piece))
			}
		}
		if err := out.SetRow(fmt.Sprintf("A%d", line), row); err != nil {
			return err
		}
	}
	return out.Flush()
}

// textCell leaves blank cells out of the file.
func textCell(style int, text string) any {
	if text == "" {
		return nil
	}
	return excelize.Cell{StyleID: style, Value: Escaped(text)}
}

// pieces says in how many cells each column's longest text fits, and how many
// records there are.
func (x *Export) pieces(l *wholeList) (pieces []int, records int, err error) {
	cells := make([]string, len(l.columns)+2)
	pieces = make([]int, len(cells))
	for i := range pieces {
		pieces[i] = 1
	}
	for rec := range l.all(x.records) {
		records++
		if err := x.row(l, rec, cells); err != nil {
			return nil, 0, err
		}
		for i, cell := range cells {
			n := 1
			for _, rest := cutAt(cell, unitsInCell); rest != ""; _, rest = cutAt(rest, unitsInCell) {
				n++
			}
			pieces[i] = max(pieces[i], n)
		}
	}
	return pieces, records, nil
}

// cutAt gives what of a text fits into so many UTF-16 units, and the rest.
func cutAt(text string, units int) (piece, rest string) {
	if len(text) <= units {
		return text, ""
	}
	n := 0
	for i, r := range text {
		n += utf16.RuneLen(r)
		if n > units {
			return text[:i], text[i:]
		}
	}
	return text, ""
}
