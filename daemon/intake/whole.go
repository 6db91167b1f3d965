package intake

import (
	"fmt"
	"iter"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// wholeFormat is the format of whole lists that this program writes, and the
// newest that it reads.
const wholeFormat = 1

// asExported heads the column that says how a record was when it was exported.
const asExported = "as exported"

// wholeList is the list of one kind of record, each row a whole record.
type wholeList struct {
	kind    inventory.Kind
	name    string
	columns []wholeColumn
	list    *List // as tables and messages know it
	all     func(*compliance.Snapshot) iter.Seq[reflect.Value]
	get     func(*compliance.Snapshot, inventory.ID) (reflect.Value, bool)
	change  func(reflect.Value) (inventory.Record, compliance.Change)
}

// wholeLists has a list for each kind of record, what is referred to first.
var wholeLists = []*wholeList{
	wholeOf(inventory.KindOrganisation, "house", func(s *compliance.Snapshot) inventory.Table[inventory.Organisation] { return s.Organisations }),
	wholeOf(inventory.KindSite, "sites", func(s *compliance.Snapshot) inventory.Table[inventory.Site] { return s.Sites }),
	wholeOf(inventory.KindEnclosure, "enclosures", func(s *compliance.Snapshot) inventory.Table[inventory.Enclosure] { return s.Enclosures }),
	wholeOf(inventory.KindSpecies, "species", func(s *compliance.Snapshot) inventory.Table[inventory.Species] { return s.Species }),
	wholeOf(inventory.KindPerson, "people", func(s *compliance.Snapshot) inventory.Table[compliance.Person] { return s.People }),
	wholeOf(inventory.KindAnimal, "animals", func(s *compliance.Snapshot) inventory.Table[inventory.Animal] { return s.Animals }),
	wholeOf(inventory.KindProduct, "products", func(s *compliance.Snapshot) inventory.Table[inventory.Product] { return s.Products }),
	wholeOf(inventory.KindCoverage, "coverage", func(s *compliance.Snapshot) inventory.Table[inventory.Coverage] { return s.Coverage }),
	wholeOf(inventory.KindPlace, "places", func(s *compliance.Snapshot) inventory.Table[inventory.Place] { return s.Places }),
	wholeOf(inventory.KindSupply, "supplies", func(s *compliance.Snapshot) inventory.Table[inventory.Supply] { return s.Supplies }),
	wholeOf(inventory.KindOrder, "orders", func(s *compliance.Snapshot) inventory.Table[inventory.Order] { return s.Orders }),
	wholeOf(inventory.KindAgreement, "agreements", func(s *compliance.Snapshot) inventory.Table[inventory.Agreement] { return s.Agreements }),
	wholeOf(inventory.KindLot, "vials", func(s *compliance.Snapshot) inventory.Table[inventory.Lot] { return s.Lots }),
	wholeOf(inventory.KindPlanned, "plans", func(s *compliance.Snapshot) inventory.Table[inventory.Planned] { return s.Planned }),
	wholeOf(inventory.KindAuthority, "authorities", func(s *compliance.Snapshot) inventory.Table[compliance.Authority] { return s.Authorities }),
	wholeOf(inventory.KindPermit, "papers", func(s *compliance.Snapshot) inventory.Table[compliance.Permit] { return s.Permits }),
	wholeOf(inventory.KindActivity, "activities", func(s *compliance.Snapshot) inventory.Table[compliance.Activity] { return s.Activities }),
	wholeOf(inventory.KindFeed, "kept-lists", func(s *compliance.Snapshot) inventory.Table[compliance.Feed] { return s.Feeds }),
	wholeOf(inventory.KindNotWatched, "not-watched", func(s *compliance.Snapshot) inventory.Table[compliance.NotWatched] { return s.NotWatched }),
	wholeOf(inventory.KindDecision, "decisions", func(s *compliance.Snapshot) inventory.Table[compliance.Decision] { return s.Decisions }),
	wholeOf(inventory.KindSession, "sessions", func(s *compliance.Snapshot) inventory.Table[ladder.Session] { return s.Sessions }),
	wholeOf(inventory.KindAuthorisation, "authorisations", func(s *compliance.Snapshot) inventory.Table[ladder.Authorisation] { return s.Authorisations }),
	wholeOf(inventory.KindCredit, "credits", func(s *compliance.Snapshot) inventory.Table[ladder.Credit] { return s.Credits }),
	wholeOf(inventory.KindPlacement, "placements", func(s *compliance.Snapshot) inventory.Table[ladder.Placement] { return s.Placements }),
}

func wholeOf[T inventory.Record](kind inventory.Kind, name string, table func(*compliance.Snapshot) inventory.Table[T]) *wholeList {
	l := &wholeList{kind: kind, name: name, columns: columnsOf(kind, reflect.TypeFor[T]())}
	l.all = func(s *compliance.Snapshot) iter.Seq[reflect.Value] {
		return func(yield func(reflect.Value) bool) {
			for rec := range table(s).All() {
				if !yield(reflect.ValueOf(rec).Elem()) {
					return
				}
			}
		}
	}
	l.get = func(s *compliance.Snapshot, id inventory.ID) (reflect.Value, bool) {
		rec, ok := table(s).Get(id)
		if !ok {
			return reflect.New(reflect.TypeFor[T]()).Elem(), false
		}
		return reflect.ValueOf(rec).Elem(), true
	}
	l.change = func(v reflect.Value) (inventory.Record, compliance.Change) {
		rec := *v.Addr().Interface().(*T)
		return rec, compliance.Record(rec)
	}
	l.list = &List{Name: name, Fields: []Field{{Name: idField, Help: "the record's own identifier; blank: a new record"}}}
	for _, c := range l.columns {
		l.list.Fields = append(l.list.Fields, Field{Name: c.name, Help: c.codec.help})
	}
	l.list.Fields = append(l.list.Fields, Field{Name: asExported, Help: "how the record was then, to notice if it has changed since; leave it alone, blank in a new row"})
	return l
}

// idField is what the column of identifiers is called in messages; its heading
// is the mark of the list.
const idField = "id"

// mark heads the column of identifiers: it says what the list is, whatever its
// file is called.
func (l *wholeList) mark() string { return fmt.Sprintf("export %d: %s", wholeFormat, l.name) }

var wholeMark = regexp.MustCompile(`^export ([0-9]{1,9}): ([a-z-]+)$`)

// marked finds the mark of a whole list: its row, its column, what it says.
func marked(s *Sheet) (row, column int, says []string) {
	for r := range s.Rows[:min(headerWithin, len(s.Rows))] {
		for c, cell := range s.Rows[r].Cells {
			if says := wholeMark.FindStringSubmatch(tidy(cell.Text)); says != nil {
				return r, c, says
			}
		}
	}
	return 0, 0, nil
}

// wholeTable reads the headings of a whole list. A column that nobody knows is
// a mistake: what stands in it would be lost.
func wholeTable(s *Sheet) (*Table, *wholeList, *Mistake) {
	row, column, says := marked(s)
	head := s.Rows[row]
	wrong := func(i int, format string, args ...any) (*Table, *wholeList, *Mistake) {
		return nil, nil, &Mistake{s.at(head, i), "", fmt.Sprintf(format, args...)}
	}
	if n, _ := strconv.Atoi(says[1]); n != wholeFormat { // at most nine digits
		return wrong(column, "is of export format %s; this antidotary reads format %d: take a newer one", says[1], wholeFormat)
	}
	l := wholeNamed(says[2])
	if l == nil {
		return wrong(column, "%q is no list of an export; allowed: %s", says[2], strings.Join(wholeListNames(), ", "))
	}
	t := &Table{Sheet: s, List: l.list, Header: head, at: map[string]int{idField: column}}
	for i := range head.Cells {
		title := tidy(head.cell(i))
		field := l.heading(title)
		switch {
		case i == column:
			field = idField
		case folded(title) == folded(refusedBecause):
			field = ignored
		case field == "" && title == "" && !columnFilled(s.Rows[row+1:], i):
		case field == "":
			return wrong(i, "the column %q is not one of the list of %s; take it out, or name it one of: %s", title, l.name, strings.Join(l.list.fieldNames(), ", "))
		default:
			if _, twice := t.at[field]; twice {
				return wrong(i, "the column %q stands twice; one is allowed", title)
			}
			t.at[field] = i
		}
		t.Columns = append(t.Columns, Column{i, title, field})
	}
	for field, i := range t.at {
		if m := continuedAs.FindStringSubmatch(field); m != nil {
			if _, ok := t.at[m[1]]; !ok {
				return wrong(i, "the column %q goes on with %q, which is not there", field, m[1])
			}
			t.goesOn = true
		}
	}
	for _, r := range s.Rows[row+1:] {
		if r.filled() == 0 {
			continue
		}
		for i := len(head.Cells); i < len(r.Cells); i++ {
			if strings.TrimSpace(r.cell(i)) != "" {
				return nil, nil, &Mistake{s.at(r, i), "", "stands beyond the last column; take it out, or give its column a name"}
			}
		}
		t.Body = append(t.Body, r)
	}
	return t, l, nil
}

func columnFilled(rows []Row, i int) bool {
	for _, r := range rows {
		if strings.TrimSpace(r.cell(i)) != "" {
			return true
		}
	}
	return false
}

func wholeNamed(name string) *wholeList {
	for _, l := range wholeLists {
		if l.name == name {
			return l
		}
	}
	return nil
}

func wholeListNames() (all []string) {
	for _, l := range wholeLists {
		all = append(all, l.name)
	}
	return all
}

// continued heads the column that takes what one cell of a workbook cannot
// hold; the first such column is number 2.
func continued(name string, n int) string { return fmt.Sprintf("%s (continued %d)", name, n) }

var continuedAs = regexp.MustCompile(`^(.*) \(continued ([2-9]|[1-9][0-9]{1,3})\)$`)

// heading gives the field of a heading; empty where there is none.
func (l *wholeList) heading(title string) string {
	name := title
	if m := continuedAs.FindStringSubmatch(title); m != nil {
		name = m[1]
	}
	if title == asExported {
		return asExported
	}
	for _, c := range l.columns {
		if c.name == name {
			return title
		}
	}
	return ""
}
