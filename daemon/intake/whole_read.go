package intake

import (
	"errors"
	"fmt"
	"reflect"

	"antidotary/compliance"
	"antidotary/inventory"
)

// readAll makes records of all rows.
func (p *wholePlanner) readAll() {
	seen := make(map[inventory.Kind]map[calling]*wholeEntry)
	for i, e := range p.entries {
		if !e.bad() {
			p.read(e)
		}
		if c, ok := p.names.called[e.list.kind][e.id]; ok && !namedBy[e.list.kind].shared {
			if seen[e.list.kind] == nil {
				seen[e.list.kind] = make(map[calling]*wholeEntry)
			}
			p.once(e, seen[e.list.kind], c)
		}
		if p.Progress != nil {
			p.Progress(i+1, len(p.entries))
		}
	}
}

// once refuses rows whose records would be called the same.
func (p *wholePlanner) once(e *wholeEntry, seen map[calling]*wholeEntry, c calling) {
	name, _ := e.list.nameColumns()
	if other, twice := seen[c]; twice {
		at := func(x *wholeEntry) Position { return x.Table.Sheet.at(x.Row, x.Table.at[name.name]) }
		const message = "%q stands here and at %s; one record so called is allowed, and neither was taken"
		other.refuse(name.name, message, c.name, at(e))
		e.refuse(name.name, message, c.name, at(other))
		return
	}
	seen[c] = e
	if p.names.twice[e.list.kind][c] > 0 {
		for rec := range e.list.all(p.was) {
			_, within := e.list.nameColumns()
			if id := idOf(rec); id != e.id && callingOf(rec, name, within) == c && p.by[inventory.Ref{Kind: e.list.kind, ID: id}] == nil {
				e.refuse(name.name, "%q is recorded already, with the identifier %s; write that one into the first column to change it", c.name, id)
			}
		}
	}
}

// read makes a record of a row: what its cells say, and what is recorded where
// there is no such column.
func (p *wholePlanner) read(e *wholeEntry) {
	in := &cellReader{names: p.names, dates: p.dates}
	e.rec = reflect.New(e.was.Type()).Elem()
	e.rec.FieldByName("ID").Set(reflect.ValueOf(e.id))
	for i := range e.list.columns {
		c := &e.list.columns[i]
		v, ok := e.read(c, in)
		if !ok {
			if v, ok = c.of(e.was); !ok {
				continue
			}
		}
		c.set(e.rec, v)
	}
	if e.bad() {
		return
	}
	rec, change := e.list.change(e.rec)
	if e.Name == "" {
		e.Name = rec.Name()
	}
	if err := rec.Check(); err != nil {
		e.refuse("", "%v", err)
		return
	}
	p.compare(e)
	if e.Fate == New || e.Fate == Changed {
		e.record, e.change = rec, change
	}
	for _, ref := range in.needs {
		if other := p.by[ref]; other != nil && !other.known {
			e.needs = append(e.needs, other)
		}
	}
}

// compare says what the row changes of what is recorded. The sign of what was
// exported tells who changed what: a row that nobody edited changes nothing,
// whatever has happened since, and one that was edited while the record
// changed is refused.
func (p *wholePlanner) compare(e *wholeEntry) {
	if !e.known {
		e.Fate = New
		return
	}
	for i := range e.list.columns {
		c := &e.list.columns[i]
		was, is := c.show(e.was, p.names), c.show(e.rec, p.names)
		if was != is {
			e.Diffs = append(e.Diffs, Difference{c.name, was, is})
		}
	}
	if len(e.Diffs) == 0 {
		e.Fate = Same
		return
	}
	recorded, err := signOf(e.was)
	if err != nil {
		e.refuse("", "%v", err)
		return
	}
	row, err := signOf(e.rec)
	if err != nil {
		e.refuse("", "%v", err)
		return
	}
	switch sign := tidy(e.cell(asExported)); sign {
	case recorded:
		e.Fate = Changed
	case row:
		e.Fate, e.Diffs = Same, nil
		p.older++
	case "":
		e.refuse(asExported, "is blank, so nobody can tell whether the record has changed since; the cell as it was exported is required")
	default:
		e.refuse(asExported, "the record has changed since it was exported, and this row was edited too; export again, and edit that")
	}
}

// gather makes the batch, what is referred to first, and tries it out. What
// the records' rules refuse refuses its row.
func (p *wholePlanner) gather() {
	const tries = 50
	for range tries {
		p.order()
		_, err := p.plan.Batch.Apply(p.was)
		refusal := new(compliance.Refusal)
		if !errors.As(err, &refusal) {
			break
		}
		e := p.by[refusal.Subject]
		if e == nil || e.bad() {
			break // nothing but the commit itself tells it then
		}
		e.refuse("", "%v", refusal.Err)
	}
	for _, e := range p.entries {
		if e.bad() {
			e.Fate = Refused
		}
	}
}

// order lists the changes so that each comes after what it refers to. A row
// that rests on a refused one is refused.
func (p *wholePlanner) order() {
	p.plan.Batch = nil
	var last []compliance.Change
	var visit func(e *wholeEntry)
	visit = func(e *wholeEntry) {
		if e.visited != unvisited {
			return
		}
		e.visited = visiting
		circle := false
		for _, other := range e.needs {
			visit(other)
			circle = circle || other.visited == visiting
			if other.bad() && !e.bad() {
				e.refuse("", "the row of %s %s was refused, so this one is too; correct that one first", other.list.kind, other.Name)
			}
		}
		e.visited = visited
		if e.bad() || e.change == nil {
			return
		}
		if paper, ok := e.record.(compliance.Permit); ok && circle { // papers that renew each other: without it first
			paper.Renews = inventory.ID{}
			p.plan.Batch = append(p.plan.Batch, compliance.Record(paper))
			last = append(last, e.change)
			return
		}
		p.plan.Batch = append(p.plan.Batch, e.change)
	}
	for _, e := range p.entries {
		e.visited = unvisited
	}
	for _, e := range p.entries {
		visit(e)
	}
	p.plan.Batch = append(p.plan.Batch, last...)
}

// assume says what was taken for granted.
func (p *wholePlanner) assume() {
	say := func(n int, format string, args ...any) {
		if n > 0 {
			p.plan.Assumed = append(p.plan.Assumed, fmt.Sprintf(format, args...))
		}
	}
	for _, l := range wholeLists {
		rows := 0
		for _, t := range p.plan.Tables {
			if t.List == l.list {
				rows++
			}
		}
		absent := 0
		for rec := range l.all(p.was) {
			if rows > 0 && p.by[inventory.Ref{Kind: l.kind, ID: idOf(rec)}] == nil {
				absent++
			}
		}
		say(absent, "%d recorded rows of %s are not in the list: they stay as they are recorded.", absent, l.name)
	}
	say(p.older, "%d rows are as they were exported, and their records have changed since: the records stay as they are.", p.older)
}
