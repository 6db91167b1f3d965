package intake

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"
)

// Source is what was found in a folder or file.
type Source struct {
	Sheets  []*Sheet
	NotRead []Note
	Broken  []Mistake // files of a folder that could not be read
}

// Read reads one CSV file or workbook; name is what people call it.
func Read(name string, data []byte) (*Source, error) {
	switch strings.ToLower(path.Ext(name)) {
	case ".csv", ".tsv", ".txt":
		sheet, err := readCSV(name, data)
		if err != nil {
			return nil, err
		}
		return &Source{Sheets: []*Sheet{sheet}}, nil
	case ".xlsx", ".xlsm":
		sheets, notes, err := readWorkbook(name, data)
		return &Source{Sheets: sheets, NotRead: notes}, err
	}
	return nil, fmt.Errorf("%s is neither .csv nor .xlsx: save it as one of them", name)
}

// ReadFolder reads the CSV files of a folder. One that cannot be read does not
// keep the others out.
func ReadFolder(folder fs.FS) (*Source, error) {
	entries, err := fs.ReadDir(folder, ".")
	if err != nil {
		return nil, fmt.Errorf("read the folder: %w", err)
	}
	out := &Source{}
	for _, e := range entries {
		name := e.Name()
		switch {
		case e.IsDir() || strings.ToLower(path.Ext(name)) != ".csv":
			out.NotRead = append(out.NotRead, Note{name, "of a folder only .csv files are read; name a workbook itself"})
			continue
		case strings.Contains(name, rejectsMark):
			out.NotRead = append(out.NotRead, Note{name, "rows refused earlier; correct them and name the file itself"})
			continue
		}
		sheet, err := readFile(folder, name)
		if wrong := new(Mistake); errors.As(err, wrong) {
			out.Broken = append(out.Broken, *wrong)
			continue
		}
		if err != nil {
			out.Broken = append(out.Broken, Mistake{Position{name, "", 1, 1}, "", err.Error()})
			continue
		}
		out.Sheets = append(out.Sheets, sheet)
	}
	return out, nil
}

func readFile(folder fs.FS, name string) (*Sheet, error) {
	data, err := fs.ReadFile(folder, name)
	if err != nil {
		return nil, fmt.Errorf("cannot be read: %w", err)
	}
	return readCSV(name, data)
}
