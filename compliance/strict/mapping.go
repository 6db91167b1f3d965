package strict

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Map is a mapping being read. Each method that takes a key asks for it, and
// a key that is never asked for is a mistake. The plain methods require their
// key; those named Opt do not.
type Map struct {
	doc    *Doc
	above  *Map // nil for the root
	node   *yaml.Node
	path   string
	values map[string]*yaml.Node
	order  []string              // keys as the file gives them
	keys   map[string]*yaml.Node // where they stand
	asked  map[string]bool
	told   map[string]bool // missing, and told so

	void    bool // missing or no mapping, which has been told: nothing is missing in it
	skipped bool // nobody could know its keys
	done    bool // the keys that nobody asked for are told
}

// open gives the cursor of a node, the same one each time, so that a mapping
// read in two places is one mapping with the keys of both.
func (d *Doc) open(n *yaml.Node, above *Map, path string) *Map {
	if m := d.opened[n]; m != nil {
		return m
	}
	m := &Map{doc: d, above: above, node: n, path: path,
		values: map[string]*yaml.Node{}, keys: map[string]*yaml.Node{},
		asked: map[string]bool{}, told: map[string]bool{}}
	d.opened[n] = m
	d.maps = append(d.maps, m)
	if n.Kind != yaml.MappingNode || d.bad[n] {
		m.void = true
		return m
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if key := n.Content[i]; !d.bad[key] {
			m.values[key.Value], m.keys[key.Value] = n.Content[i+1], key
			m.order = append(m.order, key.Value)
		}
	}
	return m
}

// Where gives the place of the mapping: of its first key, or its bracket.
func (m *Map) Where() Pos { return m.doc.pos(m.node) }

// Path gives the keys that lead to the mapping, such as rules[2].params;
// empty for the root.
func (m *Map) Path() string { return m.path }

// Pos gives the place of a key's value, or of the mapping where the key is
// missing.
func (m *Map) Pos(key string) Pos {
	if v := m.values[key]; v != nil {
		return m.doc.pos(v)
	}
	return m.Where()
}

// Has says whether the key is given, and asks for it.
func (m *Map) Has(key string) bool {
	m.asked[key] = true
	return m.values[key] != nil
}

// Keys gives the keys in the order of the file, for a mapping whose keys are
// free. They still have to be asked for one by one.
func (m *Map) Keys() []string { return slices.Clone(m.order) }

// Fail tells a mistake in a key's value, or in the mapping itself when key is
// empty or missing. The message reads "what is wrong; what is allowed".
func (m *Map) Fail(key, format string, args ...any) {
	at, path := m.node, m.path
	if key != "" {
		m.asked[key] = true
		path = join(path, key)
	}
	if v := m.values[key]; v != nil {
		at = v
	}
	m.doc.fail(at, path, format, args...)
}

// FailKey tells a mistake in a key itself rather than in its value, for a
// mapping whose keys are free.
func (m *Map) FailKey(key, format string, args ...any) {
	m.asked[key] = true
	at := m.node
	if k := m.keys[key]; k != nil {
		at = k
	}
	m.doc.fail(at, join(m.path, key), format, args...)
}

// FailItem tells a mistake in item i, counted from 0, of the list under key.
func (m *Map) FailItem(key string, i int, format string, args ...any) {
	v := m.values[key]
	if v == nil || v.Kind != yaml.SequenceNode || i < 0 || i >= len(v.Content) {
		m.Fail(key, format, args...)
		return
	}
	m.asked[key] = true
	m.doc.fail(v.Content[i], at(join(m.path, key), i), format, args...)
}

// Skip keeps quiet about keys that are missing or that nobody asked for, here
// and below: for a mapping whose kind is unknown, so that nobody could know
// its keys.
func (m *Map) Skip() { m.skipped = true }

// quiet says whether this mapping or one around it is skipped.
func (m *Map) quiet() bool {
	for ; m != nil; m = m.above {
		if m.skipped {
			return true
		}
	}
	return false
}

// Done tells the keys that nobody asked for, with the keys that were asked
// for as the allowed ones. Doc.Err calls it for every mapping that was
// opened; calling it earlier changes nothing, unless keys are asked for later.
func (m *Map) Done() {
	if m.done || m.quiet() {
		return
	}
	m.done = true
	allowed := slices.Sorted(maps.Keys(m.asked))
	for _, key := range m.order {
		if m.asked[key] {
			continue
		}
		hint := ""
		if near := Closest(key, allowed); near != "" {
			hint = fmt.Sprintf("did you mean %q? ", near)
			m.found(near)
		}
		m.doc.fail(m.keys[key], join(m.path, key), "is not a key of this mapping; %sallowed: %s", hint, choices(allowed))
	}
}

// found takes back that a key is missing: it is there, misspelt, and that is
// told.
func (m *Map) found(key string) {
	field, at := join(m.path, key), m.doc.pos(m.node)
	m.doc.mistakes = slices.DeleteFunc(m.doc.mistakes, func(x *Mistake) bool {
		return x.Field == field && x.Pos == at && strings.HasPrefix(x.Message, missing)
	})
}

// missing begins what is told of a key that is needed and not there, here and
// by readers.
const missing = "is missing"

// want gives the value of a required key, or nil after telling that it is
// missing or that it is wrong whatever is asked of it.
func (m *Map) want(key, allowed string) *yaml.Node {
	if !m.Has(key) {
		if !m.void && !m.told[key] && !m.quiet() {
			m.told[key] = true
			m.doc.fail(m.node, join(m.path, key), missing+"; %s", allowed)
		}
		return nil
	}
	return m.may(key, allowed)
}

// may gives the value of a key that may be left out.
func (m *Map) may(key, allowed string) *yaml.Node {
	if !m.Has(key) {
		return nil
	}
	v := m.values[key]
	if m.doc.bad[v] {
		return nil
	}
	if v.Kind == yaml.ScalarNode && v.Tag == "!!null" {
		m.wrong(key, "is empty; %s", allowed)
		return nil
	}
	return v
}

// wrong tells a mistake in a value, once however often the value is asked for.
func (m *Map) wrong(key, format string, args ...any) {
	v := m.values[key]
	if m.doc.bad[v] {
		return
	}
	m.doc.spoil(v, join(m.path, key), format, args...)
}
