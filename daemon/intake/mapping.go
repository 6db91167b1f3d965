package intake

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"go.yaml.in/yaml/v3"

	"antidotary/compliance/strict"
)

// Mapping is what is remembered of a source: which sheet is which list, which
// column is which field, how its dates are written, and which names were
// accepted for which.
type Mapping struct {
	Format int            `yaml:"format"`
	Dates  Order          `yaml:"dates,omitempty"`
	Accept []Accepted     `yaml:"accept,omitempty"`
	Sheets []SheetMapping `yaml:"sheets,omitempty"`
}

// Accepted says that a name as written means a recorded one. Both alike: the
// name is right although another is near.
type Accepted struct {
	Written string `yaml:"written"`
	Means   string `yaml:"means"`
}

// SheetMapping maps the columns of one sheet or CSV file.
type SheetMapping struct {
	Sheet   string          `yaml:"sheet"` // name of the sheet, or of the CSV file
	List    string          `yaml:"list"`
	Columns []ColumnMapping `yaml:"columns,omitempty"`
}

// ColumnMapping maps one column; the field ignore leaves it out.
type ColumnMapping struct {
	Column string `yaml:"column"`
	Field  string `yaml:"field"`
}

// ReadMapping reads a mapping file; every mistake is told with its place.
func ReadMapping(file string, data []byte) (*Mapping, error) {
	doc, err := strict.Parse(file, data)
	if err != nil {
		return nil, err
	}
	root := doc.Root()
	m := &Mapping{Format: root.Int("format", 1, 1), Dates: Order(root.OptEnum("dates", "", string(DMY), string(MDY), string(YMD)))}
	for _, a := range root.OptMaps("accept") {
		m.Accept = append(m.Accept, Accepted{a.String("written"), a.String("means")})
	}
	for _, s := range root.OptMaps("sheets") {
		m.Sheets = append(m.Sheets, readSheetMapping(s))
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return m, nil
}

func readSheetMapping(s *strict.Map) SheetMapping {
	out := SheetMapping{Sheet: s.String("sheet"), List: s.Enum("list", listNames()...)}
	list := ListNamed(out.List)
	if list == nil {
		s.Skip()
		return out
	}
	taken := make(map[string]bool)
	for _, c := range s.OptMaps("columns") {
		column := ColumnMapping{c.String("column"), c.Enum("field", append(list.fieldNames(), ignored)...)}
		if column.Field != ignored && column.Field != "" && taken[column.Field] {
			c.Fail("field", "is %q again; one column a field is allowed", column.Field)
		}
		taken[column.Field] = true
		out.Columns = append(out.Columns, column)
	}
	return out
}

// Bytes gives the mapping as a file.
func (m *Mapping) Bytes() ([]byte, error) {
	out := *m
	out.Format = 1
	data, err := yaml.Marshal(&out)
	if err != nil {
		return nil, fmt.Errorf("write the mapping: %w", err)
	}
	return data, nil
}

// sheet finds what is remembered of a sheet.
func (m *Mapping) sheet(s *Sheet) *SheetMapping {
	i := slices.IndexFunc(m.Sheets, func(x SheetMapping) bool { return x.Sheet == s.mappedAs() })
	if i < 0 {
		return nil
	}
	return &m.Sheets[i]
}

func (s *Sheet) mappedAs() string {
	if s.Name != "" {
		return titled(s.Name)
	}
	return titled(s.File)
}

func (m *SheetMapping) field(title string) string {
	if m == nil {
		return ""
	}
	for _, c := range m.Columns {
		if folded(c.Column) == folded(title) {
			return c.Field
		}
	}
	return ""
}

// meaning gives what a name was accepted for.
func (m *Mapping) meaning(written string) (string, bool) {
	for _, a := range m.Accept {
		if a.Written == written {
			return a.Means, true
		}
	}
	return "", false
}

// endorsed says whether somebody wrote a name as the right one.
func (m *Mapping) endorsed(name string) bool {
	return slices.ContainsFunc(m.Accept, func(a Accepted) bool { return a.Means == name })
}

// Agree adds an accepted name, given as WRITTEN=MEANS.
func (m *Mapping) Agree(pair string) error {
	written, means, found := strings.Cut(pair, "=")
	written, means = tidy(written), tidy(means)
	if !found || written == "" || means == "" || titled(pair) != tidy(pair) {
		return fmt.Errorf(`%q is not allowed: write WRITTEN=MEANS, such as "N. kaouthia=Naja kaouthia"`, pair)
	}
	if before, ok := m.meaning(written); ok && before != means {
		return fmt.Errorf("%q is accepted for %q already: take one of the two away", written, before)
	} else if !ok {
		m.Accept = append(m.Accept, Accepted{written, means})
	}
	return nil
}

// titled is a name of a column or sheet, fit for a mapping file: tidy, and
// without what nobody sees.
func titled(s string) string {
	return tidy(strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, s))
}

// tidy takes blanks and line breaks at the ends away, and makes one blank of
// several.
func tidy(s string) string { return strings.Join(strings.Fields(s), " ") }
