package intake

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"strings"

	"antidotary/compliance"
)

// Export writes the records of a snapshot as whole lists.
type Export struct {
	records *compliance.Snapshot
	names   *nameBook
}

// NewExport makes an export of the current records. What the journal, findings
// and mails hold is not in it.
func NewExport(s *compliance.Snapshot) *Export { return &Export{s, namesOf(s)} }

// ExportedList is one list of an export.
type ExportedList struct {
	Name    string
	Records int
}

// Lists gives all lists, what is referred to first, those without records too.
func (x *Export) Lists() (all []ExportedList) {
	for _, l := range wholeLists {
		n := 0
		for range l.all(x.records) {
			n++
		}
		all = append(all, ExportedList{l.name, n})
	}
	return all
}

// WriteCSV writes one list.
func (x *Export) WriteCSV(w io.Writer, list string) error {
	l := wholeNamed(list)
	if l == nil {
		return fmt.Errorf("%q is no list of an export", list)
	}
	out := csv.NewWriter(w)
	if err := out.Write(l.list.headings()); err != nil {
		return fmt.Errorf("write the list of %s: %w", list, err)
	}
	cells := make([]string, len(l.columns)+2)
	for rec := range l.all(x.records) {
		if err := x.row(l, rec, cells); err != nil {
			return err
		}
		for i := range cells {
			cells[i] = Escaped(cells[i])
		}
		if err := out.Write(cells); err != nil {
			return fmt.Errorf("write the list of %s: %w", list, err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write the list of %s: %w", list, err)
	}
	return nil
}

// headings gives the first row of a whole list.
func (l *List) headings() []string {
	all := l.fieldNames()
	all[0] = wholeNamed(l.Name).mark()
	return all
}

// row fills the cells of one record.
func (x *Export) row(l *wholeList, rec reflect.Value, cells []string) error {
	cells[0] = idOf(rec).String()
	for i := range l.columns {
		cells[i+1] = l.columns[i].show(rec, x.names)
	}
	sign, err := signOf(rec)
	if err != nil {
		return err
	}
	cells[len(cells)-1] = sign
	return nil
}

// signOf gives a short sign of all that a record says: 64 bits, so that two
// states of one record hardly ever have one sign. It begins with a letter,
// because a spreadsheet takes 12e4567 for a number.
func signOf(rec reflect.Value) (string, error) {
	data, err := json.Marshal(rec.Addr().Interface())
	if err != nil {
		return "", fmt.Errorf("make the sign of a record: %w", err)
	}
	sum := sha256.Sum256(data)
	return "s" + hex.EncodeToString(sum[:8]), nil
}

// Explained says in plain text what the lists are and how cells are written.
func Explained() string {
	var b strings.Builder
	b.WriteString(`These lists hold the current records, one row a record, one list a kind. They
hold no journal: what was recorded earlier, by whom and when is in a backup.

Edit what you like and import it again: antidotary import FOLDER --dry-run
shows the difference first. A row with a blank in the first column is a new
record. A row that is not there changes nothing: records are never removed.
A blank cell says that nothing is recorded. A column that is not there changes
nothing. Leave the last column alone: by it a row is refused that was edited
here while its record changed, and a row that nobody edited changes nothing.

A spreadsheet that opens a CSV file may turn 001 into 1 and 1e5 into 100000.
In the workbook (antidotary export FILE.xlsx) cells are text and stay so.

In a cell \\ is a backslash; \; \| \, and \@ are these signs where they would
part something else; \n is a line break, \u{A0} a character by its number, and
\e an empty text where a blank would be none. An apostrophe before = + - or @
keeps a spreadsheet from running the cell as a formula.
`)
	for _, l := range wholeLists {
		fmt.Fprintf(&b, "\n%s\n", strings.ToUpper(l.name))
		for i, f := range l.list.Fields {
			name := f.Name
			if i == 0 {
				name = l.mark()
			}
			fmt.Fprintf(&b, "  %s: %s\n", name, f.Help)
		}
	}
	return b.String()
}
