package intake

import (
	"fmt"
	"slices"
	"strings"

	"antidotary/inventory"
)

// names finds records of one kind by what people write.
type names struct {
	kind     string
	ids      map[string]inventory.ID // by each name that a record goes by
	doubtful map[string]bool         // names of more than one record
	all      []string
	make     func(name string) (inventory.Record, error) // nil: new ones are not made
	made     map[string]inventory.Record
	rows     map[string]int // how many rows write a name; only where new ones are made
	hint     string         // what to do about one that is not recorded
	told     map[string]string
}

func newNames(kind, hint string) *names {
	return &names{kind: kind, hint: hint, ids: make(map[string]inventory.ID), doubtful: make(map[string]bool),
		made: make(map[string]inventory.Record), rows: make(map[string]int), told: make(map[string]string)}
}

func (n *names) add(id inventory.ID, called ...string) {
	for _, name := range called {
		if other, twice := n.ids[name]; twice && other != id {
			n.doubtful[name] = true
		}
		n.ids[name] = id
		n.all = append(n.all, name)
	}
}

// find gives the record of a name, which may be a new one that the entry then
// needs. A name that is not recorded is never taken for one that is near.
func (p *planner) find(e *Entry, field string, n *names, written string) inventory.ID {
	if written == "" {
		return inventory.ID{}
	}
	name := written
	if meaning, accepted := p.mapping.meaning(written); accepted {
		name = meaning
	}
	if n.doubtful[name] {
		e.refuse(field, "%q is the name of more than one recorded %s; tell them apart in the records first", name, n.kind)
		return inventory.ID{}
	}
	if id, ok := n.ids[name]; ok {
		return id
	}
	rec, wrong := p.invent(n, name)
	if wrong != "" {
		e.refuse(field, "%s", wrong)
		return inventory.ID{}
	}
	e.needs = append(e.needs, rec)
	return rec.Ref().ID
}

// invent makes a record of a new name where that was asked for, and where no
// other name is near of which it may be a mistyped form.
func (p *planner) invent(n *names, name string) (inventory.Record, string) {
	if rec, ok := n.made[name]; ok {
		return rec, ""
	}
	if wrong, ok := n.told[name]; ok {
		return nil, wrong
	}
	wrong := n.why(name, p.mapping)
	if wrong == "" {
		rec, err := n.make(name)
		if err == nil {
			n.made[name] = rec
			return rec, ""
		}
		wrong = err.Error()
	}
	n.told[name] = wrong
	return nil, wrong
}

// why says why a name that is not recorded is not taken as a new one.
func (n *names) why(name string, m *Mapping) string {
	known := slices.Clone(n.all)
	accepted := m.endorsed(name)
	if n.make != nil && !accepted {
		for _, a := range m.Accept {
			known = append(known, a.Means)
		}
		for other, rows := range n.rows { // of two new names that are near, the rarer may be the mistyped one
			if rows >= n.rows[name] && other != name {
				known = append(known, other)
			}
		}
	}
	close := near(name, known)
	if n.make != nil && (accepted || len(close) == 0) {
		return ""
	}
	wrong := fmt.Sprintf("%q is not a recorded %s", name, n.kind)
	if len(close) > 0 {
		return fmt.Sprintf(`%s; did you mean %s? Correct the cell, or accept it with --accept "%s=%s"`, wrong, strings.Join(quoted(close), " or "), name, close[0]) +
			n.orItself(name)
	}
	return wrong + "; " + n.hint
}

func (n *names) orItself(name string) string {
	if n.make == nil {
		return ""
	}
	if _, err := n.make(name); err != nil {
		return ""
	}
	return fmt.Sprintf(`, or as a new one with --accept "%s=%s"`, name, name)
}

func quoted(all []string) (out []string) {
	for _, s := range all {
		out = append(out, fmt.Sprintf("%q", s))
	}
	return out
}
