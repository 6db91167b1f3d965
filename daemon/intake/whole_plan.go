package intake

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
)

// wholeEntry is a row of a whole list on its way to a record.
type wholeEntry struct {
	*Entry
	list    *wholeList
	id      inventory.ID
	was     reflect.Value // what is recorded, or an empty record
	known   bool          // something is recorded
	rec     reflect.Value
	needs   []*wholeEntry // rows of new records that this one refers to
	visited visit
}

type visit uint8

const (
	unvisited visit = iota
	visiting
	visited
)

// wholePlanner makes a plan of whole lists.
type wholePlanner struct {
	Settings
	dates   Order
	was     *compliance.Snapshot
	plan    *Plan
	entries []*wholeEntry
	by      map[inventory.Ref]*wholeEntry
	names   *nameBook
	older   int // rows as they were exported, of records that have changed since
}

// planWhole plans whole lists. Every other list beside them is a mistake: what
// would hold of a record that stands in both is nobody's to say.
func planWhole(src *Source, was *compliance.Snapshot, settings Settings, mapping *Mapping) (*Plan, error) {
	p := &wholePlanner{Settings: settings, dates: mapping.Dates, was: was, by: make(map[inventory.Ref]*wholeEntry),
		plan: &Plan{NotRead: src.NotRead, Sheets: src.Broken, Mapping: *mapping, Exported: true}}
	if settings.House != "" || settings.Site != "" || settings.NewSpecies || settings.NewProducts || settings.NewAuthorities != "" {
		return nil, errors.New("these are exported lists, which say everything themselves: leave --house, --site and the --new flags out")
	}
	for _, s := range src.Sheets {
		_, _, says := marked(s)
		switch {
		case says != nil:
			p.table(wholeTable(s))
		case !s.anything():
		default:
			p.plan.Sheets = append(p.plan.Sheets, Mistake{s.at(Row{Line: 1}, -1), "", "is no exported list, and stands beside some; import it by itself"})
		}
	}
	slices.SortStableFunc(p.entries, func(a, b *wholeEntry) int { return cmp.Compare(a.list.kind, b.list.kind) })
	if err := p.oneHouse(); err != nil {
		return nil, err
	}
	p.identify()
	p.nameAll()
	p.readAll()
	p.gather()
	p.assume()
	return p.plan, nil
}

// table makes an entry of each row.
func (p *wholePlanner) table(t *Table, l *wholeList, wrong *Mistake) {
	if wrong != nil {
		p.plan.Sheets = append(p.plan.Sheets, *wrong)
		return
	}
	p.plan.Tables = append(p.plan.Tables, t)
	for _, r := range t.Body {
		e := &wholeEntry{Entry: &Entry{Table: t, Row: r}, list: l}
		p.entries = append(p.entries, e)
	}
}

// identify reads the identifiers. Two rows with one are both refused.
func (p *wholePlanner) identify() {
	for _, e := range p.entries {
		p.plan.Entries = append(p.plan.Entries, e.Entry)
		text := tidy(e.cell(idField))
		var ok bool
		if e.id, ok = asID(text); text == "" {
			e.id = inventory.NewID()
		} else if !ok || e.id == (inventory.ID{}) {
			e.refuse(idField, "%q is no identifier; the one that was exported is required, or a blank for a new record", text)
			continue
		}
		ref := inventory.Ref{Kind: e.list.kind, ID: e.id}
		if other, twice := p.by[ref]; twice {
			at := func(x *wholeEntry) Position { return x.Table.Sheet.at(x.Row, x.Table.at[idField]) }
			if !other.bad() {
				other.refuse(idField, "stands here and at %s; one row a record is allowed, and neither was taken", at(e))
			}
			e.refuse(idField, "stands here and at %s; one row a record is allowed, and neither was taken", at(other))
			continue
		}
		p.by[ref] = e
		e.was, e.known = e.list.get(p.was, e.id)
	}
}

// oneHouse refuses lists of another house.
func (p *wholePlanner) oneHouse() error {
	for o := range p.was.Organisations.All() {
		for _, e := range p.entries {
			if e.list.kind == inventory.KindOrganisation && tidy(e.cell(idField)) != o.ID.String() {
				return fmt.Errorf("%s: the database has the house %q, and this is another one: one database holds one house", e.Table.Sheet.at(e.Row, -1), o.Title)
			}
		}
	}
	return nil
}

// cell gives what stands in a field's cell and its continuations.
func (e *wholeEntry) cell(field string) string {
	i, ok := e.Table.at[field]
	if !ok {
		return ""
	}
	text := e.Row.cell(i)
	for n := 2; e.Table.goesOn; n++ {
		i, ok := e.Table.at[continued(field, n)]
		if !ok {
			return text
		}
		text += e.Row.cell(i)
	}
	return text
}

// read gives a column's value; ok is false where there is no such column.
func (e *wholeEntry) read(c *wholeColumn, in *cellReader) (v reflect.Value, ok bool) {
	i, ok := e.Table.at[c.name]
	if !ok {
		return v, false
	}
	text := e.cell(c.name)
	if spreadsheetError(text) {
		e.refuse(c.name, "%q is a formula that failed; a value is required", text)
		return v, false
	}
	if strings.TrimSpace(text) == "" {
		if _, hidden := e.Table.covering(i+1, e.Row.Line); hidden {
			e.refuse(c.name, "is hidden under a merged cell; unmerge it and write each row's own value")
			return v, false
		}
	}
	v, err := c.codec.read(text, in)
	if err != nil {
		e.refuse(c.name, "%v", err)
		return v, false
	}
	return v, true
}

// nameAll writes down what all records will be called, those of this source by
// their rows. Kinds come in such an order that owners have their names before.
func (p *wholePlanner) nameAll() {
	p.names = newNameBook()
	next := p.entries
	for _, l := range wholeLists {
		name, within := l.nameColumns()
		for ; len(next) > 0 && next[0].list == l; next = next[1:] {
			e := next[0]
			if e.bad() || name == nil {
				continue
			}
			var c calling
			if e.known {
				c = callingOf(e.was, name, within)
			}
			if _, ok := e.Table.at[name.name]; ok {
				c.name, _ = uncelled(e.cell(name.name)) // what is wrong with it is told when the row is read
			}
			if within != nil {
				if _, ok := e.Table.at[within.name]; ok {
					owner, _ := uncelled(e.cell(within.name))
					c.within, _ = p.names.read(ownerOf(l.kind), owner)
				}
			}
			e.Name = c.name
			if c.name != "" {
				p.names.add(l.kind, e.id, c)
			}
		}
		if name == nil {
			continue
		}
		for rec := range l.all(p.was) {
			if id := idOf(rec); p.by[inventory.Ref{Kind: l.kind, ID: id}] == nil {
				p.names.add(l.kind, id, callingOf(rec, name, within))
			}
		}
	}
}
