package intake

import (
	"fmt"
	"strings"
)

// Column is one column of a list as it was found.
type Column struct {
	Index int // from 0
	Title string
	Field string // empty: nobody knows it
}

// Table is a sheet that was recognised as a list.
type Table struct {
	*Sheet
	List    *List
	Header  Row
	Columns []Column
	Body    []Row          // rows with something in them
	at      map[string]int // field to column
	titles  int            // rows between that are titles
	goesOn  bool           // some texts stand in more than one column
}

// recognise finds out which list a sheet is, and its header row. A sheet that
// is none gives a note; one whose columns fit twice, or that is called like a
// list but lacks its columns, gives a mistake.
func recognise(s *Sheet, m *Mapping) (*Table, *Note, *Mistake) {
	declared := m.sheet(s)
	var best *Table
	tie := false
	for _, l := range Lists {
		if declared != nil && declared.List != l.Name {
			continue
		}
		t := headed(s, l, declared)
		switch {
		case t == nil:
		case best == nil || len(t.at) > len(best.at) || len(t.at) == len(best.at) && l.calls(s):
			best, tie = t, false
		case len(t.at) == len(best.at) && !best.List.calls(s):
			tie = true
		}
	}
	if best != nil && !tie {
		return best.finish(declared)
	}
	if tie {
		return nil, nil, &Mistake{s.at(Row{Line: 1}, -1), "", "may be more than one list; call the file or sheet " + anyOf(listNames()) + ", or say which it is in the mapping file"}
	}
	for _, l := range Lists {
		if declared != nil && declared.List == l.Name || declared == nil && l.calls(s) && s.anything() {
			return nil, nil, &Mistake{s.at(Row{Line: 1}, -1), "", fmt.Sprintf("has no header row for %s within the first %d rows; columns needed: %s. Other names of columns go into the mapping file",
				l.Name, headerWithin, strings.Join(l.required(), ", "))}
		}
	}
	return nil, &Note{s.Title(), "no header row of " + anyOf(listNames()) + " was found; say in the mapping file which list it is"}, nil
}

// calls says whether the name of the file or sheet says that it is the list.
func (l *List) calls(s *Sheet) bool {
	name := strings.ToLower(s.mappedAs())
	for _, word := range append([]string{l.Name}, l.Also...) {
		if strings.Contains(name, word) {
			return true
		}
	}
	return false
}

func (s *Sheet) anything() bool {
	for _, r := range s.Rows {
		if r.filled() > 0 {
			return true
		}
	}
	return false
}

func (l *List) required() (names []string) {
	for _, f := range l.Fields {
		if f.Required {
			names = append(names, f.Name)
		}
	}
	return names
}

// headed gives the table under the header row that knows most columns, or nil
// where no row has all that the list requires.
func headed(s *Sheet, l *List, m *SheetMapping) *Table {
	var best *Table
	for n, r := range s.Rows[:min(headerWithin, len(s.Rows))] {
		t := &Table{Sheet: s, List: l, Header: s.unmerged(r), at: make(map[string]int)}
		for i, c := range t.Header.Cells {
			field := m.field(c.Text)
			if field == "" {
				field = l.known(c.Text)
			}
			if field == "" || field == ignored {
				continue
			}
			if _, twice := t.at[field]; !twice || m.field(c.Text) == field { // a declared column comes before a known one
				t.at[field] = i
			}
		}
		if best == nil || len(t.at) > len(best.at) {
			t.Body = s.Rows[n+1:]
			best = t
		}
	}
	if best == nil {
		return nil
	}
	for _, name := range l.required() {
		if _, ok := best.at[name]; !ok {
			return nil
		}
	}
	return best
}

// unmerged gives a row in which a cell that is merged with one above has that
// one's text: a header of two rows.
func (s *Sheet) unmerged(r Row) Row {
	if len(s.merged) == 0 {
		return r
	}
	out := Row{Line: r.Line, Cells: append([]Cell(nil), r.Cells...)}
	for _, a := range s.merged {
		if a.top >= r.Line || a.bottom < r.Line || a.left != a.right {
			continue
		}
		for len(out.Cells) < a.left {
			out.Cells = append(out.Cells, Cell{"", r.Line, len(out.Cells) + 1})
		}
		if c := &out.Cells[a.left-1]; strings.TrimSpace(c.Text) == "" {
			c.Text = s.Rows[a.top-1].cell(a.left - 1)
		}
	}
	return out
}

// finish lists the columns and takes blank rows away. Two columns for one
// field are a mistake: which of them counts would be a guess.
func (t *Table) finish(m *SheetMapping) (*Table, *Note, *Mistake) {
	var body []Row
	width := len(t.Header.Cells)
	for _, r := range t.Body {
		switch {
		case r.filled() == 0:
		case t.isTitle(r):
			t.titles++
		default:
			body = append(body, r)
			width = max(width, len(r.Cells))
		}
	}
	t.Body = body
	for i := range width {
		title := titled(t.Header.cell(i))
		field := m.field(title)
		if field == "" {
			field = t.List.known(title)
		}
		if folded(title) == folded(refusedBecause) {
			field = ignored
		}
		if first, ok := t.at[field]; ok && first != i {
			if m.field(t.Header.cell(first)) != field {
				return nil, nil, &Mistake{t.Sheet.at(t.Header, i), field, fmt.Sprintf("the columns %q and %q both mean it; map one of them to %s in the mapping file",
					tidy(t.Header.cell(first)), title, ignored)}
			}
			field = "" // the declared column counts, and this one is told as not read
		}
		t.Columns = append(t.Columns, Column{i, title, field})
	}
	return t, nil, nil
}

// isTitle says whether a row is one text written across merged columns.
func (s *Sheet) isTitle(r Row) bool {
	if r.filled() != 1 {
		return false
	}
	for _, a := range s.merged {
		if a.top <= r.Line && r.Line <= a.bottom && a.left < a.right && strings.TrimSpace(r.cell(a.left-1)) != "" {
			return true
		}
	}
	return false
}

// unread notes the columns with something in them that nobody knows, and the
// rows that are titles.
func (t *Table) unread() (notes []Note) {
	if t.titles > 0 {
		notes = append(notes, Note{t.Title(), fmt.Sprintf("%d rows are titles across merged columns", t.titles)})
	}
	for _, c := range t.Columns {
		if c.Field != "" {
			continue
		}
		n := 0
		for _, r := range t.Body {
			if strings.TrimSpace(r.cell(c.Index)) != "" {
				n++
			}
		}
		if n == 0 {
			continue
		}
		title := fmt.Sprintf("column %q", c.Title)
		if c.Title == "" {
			title = "a column without a name"
		}
		notes = append(notes, Note{t.Sheet.at(t.Header, c.Index).String() + ": " + title,
			fmt.Sprintf("%d filled cells; map it to a field of %s or to %s in the mapping file", n, t.List.Name, ignored)})
	}
	return notes
}

// mapping is what the mapping file would say of the table. Columns that nobody
// knows are left out: whoever maps them decides.
func (t *Table) mapping() SheetMapping {
	out := SheetMapping{Sheet: t.mappedAs(), List: t.List.Name}
	for _, c := range t.Columns {
		if c.Title != "" && c.Field != "" && folded(c.Title) != folded(refusedBecause) {
			out.Columns = append(out.Columns, ColumnMapping{c.Title, c.Field})
		}
	}
	return out
}
