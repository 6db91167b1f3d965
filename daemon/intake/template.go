package intake

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"
)

// TemplateFile is one of the files to begin with.
type TemplateFile struct {
	Name string
	Data []byte
}

// Template gives empty lists to fill in: one CSV file each, a workbook with
// all of them and a note on each column, and a text that explains the columns.
func Template() ([]TemplateFile, error) {
	var files []TemplateFile
	for _, l := range Lists {
		var b bytes.Buffer
		out := csv.NewWriter(&b)
		if err := out.Write(l.fieldNames()); err != nil {
			return nil, fmt.Errorf("write the empty list of %s: %w", l.Name, err)
		}
		out.Flush()
		files = append(files, TemplateFile{l.Name + ".csv", b.Bytes()})
	}
	book, err := templateBook()
	if err != nil {
		return nil, fmt.Errorf("write the empty workbook: %w", err)
	}
	return append(files, TemplateFile{"lists.xlsx", book}, TemplateFile{"columns.txt", []byte(explained())}), nil
}

func explained() string {
	var b strings.Builder
	b.WriteString(`Fill in animals.csv, papers.csv, vials.csv and sessions.csv (or lists.xlsx), one
row each.
Leave blank what nobody knows: unknown is told as unknown, and never as fine.
Columns may be left out, but for those marked *, and stand in any order.
See first what would happen:  antidotary import FOLDER --dry-run
`)
	for _, l := range Lists {
		fmt.Fprintf(&b, "\n%s\n", strings.ToUpper(l.Name))
		for _, f := range l.Fields {
			fmt.Fprintf(&b, "  %s%s: %s\n", f.Name, map[bool]string{true: " *"}[f.Required], f.Help)
			if f.Example != "" {
				fmt.Fprintf(&b, "      such as: %s\n", f.Example)
			}
		}
		fmt.Fprintf(&b, "  An invented row:\n%s", l.example())
	}
	return b.String()
}

// example gives a row with its header, as a CSV file has them.
func (l *List) example() string {
	var head, row []string
	for _, f := range l.Fields {
		if f.Example != "" {
			head, row = append(head, f.Name), append(row, f.Example)
		}
	}
	var b strings.Builder
	out := csv.NewWriter(&b)
	// A builder takes whatever is written.
	_ = out.WriteAll([][]string{head, row})
	return b.String()
}

func templateBook() ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	first := f.GetSheetName(0)
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return nil, err
	}
	text, err := f.NewStyle(&excelize.Style{NumFmt: 49}) // as typed: a spreadsheet makes a date of 02/26 otherwise
	if err != nil {
		return nil, err
	}
	for i, l := range Lists {
		if i == 0 {
			err = f.SetSheetName(first, l.Name)
		} else {
			_, err = f.NewSheet(l.Name)
		}
		if err == nil {
			err = templateSheet(f, l, bold, text)
		}
		if err != nil {
			return nil, err
		}
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func templateSheet(f *excelize.File, l *List, bold, text int) error {
	last, err := excelize.ColumnNumberToName(len(l.Fields))
	if err != nil {
		return err
	}
	if err := f.SetColStyle(l.Name, "A:"+last, text); err != nil {
		return err
	}
	if err := f.SetColWidth(l.Name, "A", last, 18); err != nil {
		return err
	}
	for i, field := range l.Fields {
		cell, err := excelize.CoordinatesToCellName(i+1, 1)
		if err != nil {
			return err
		}
		if err := f.SetCellStr(l.Name, cell, field.Name); err != nil {
			return err
		}
		note := field.Help
		if field.Required {
			note = "needed: " + note
		}
		if field.Example != "" {
			note += "\nsuch as: " + field.Example
		}
		if err := f.AddComment(l.Name, excelize.Comment{Cell: cell, Author: "antidotary", Text: note}); err != nil {
			return err
		}
	}
	if err := f.SetCellStyle(l.Name, "A1", last+"1", bold); err != nil {
		return err
	}
	return f.SetPanes(l.Name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}
