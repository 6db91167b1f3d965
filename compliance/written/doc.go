// Package written reads a rule pack as it is written: each key with its text
// and its place, whatever kind of rule it belongs to. What a rule means is
// package compliance's matter; this one serves those who talk about the file:
// what is wrong in it, what changed in it, and where a word of it stands.
//
// It refuses nothing but what is no YAML: what is allowed is refused by the
// strict reader, so that a file with mistakes can be talked about as well.
package written

import (
	"fmt"
	"slices"
	"strconv"

	"go.yaml.in/yaml/v3"

	"antidotary/compliance/strict"
)

// Field is one value with the keys that lead to it, such as params.renewal.lead.
type Field struct {
	Path  string
	Value string
	Pos   strict.Pos
}

// Fields are sorted as the file gives them.
type Fields []Field

// Get finds a field by its path.
func (f Fields) Get(path string) (Field, bool) {
	i := slices.IndexFunc(f, func(x Field) bool { return x.Path == path })
	if i < 0 {
		return Field{}, false
	}
	return f[i], true
}

// Value gives the text of a field; empty where it is left out.
func (f Fields) Value(path string) string {
	x, _ := f.Get(path)
	return x.Value
}

// Rule is one rule of the file. Its first field is its place.
type Rule struct {
	ID string
	Fields
	Where strict.Pos
}

// Pos gives the place of a field, or of the rule where it is left out.
func (r *Rule) Pos(path string) strict.Pos {
	if f, ok := r.Get(path); ok {
		return f.Pos
	}
	return r.Where
}

// File is one pack as it is written.
type File struct {
	Name  string
	Pack  Fields // but its rules and tests
	Rules []*Rule
}

// Read reads a file. Its positions carry the name.
func Read(name, text string) (*File, error) {
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	f := &File{Name: name}
	if len(doc.Content) == 0 || doc.Content[0].Kind != yaml.MappingNode {
		return f, nil
	}
	root := doc.Content[0].Content
	for i := 0; i+1 < len(root); i += 2 {
		key, value := root[i].Value, root[i+1]
		switch {
		case key == "rules" && value.Kind == yaml.SequenceNode:
			for _, n := range value.Content {
				f.Rules = append(f.Rules, f.rule(n))
			}
		case key == "tests":
		default:
			f.Pack = f.flat(f.Pack, key, value)
		}
	}
	return f, nil
}

// Rule finds a rule by its id.
func (f *File) Rule(id string) *Rule {
	i := slices.IndexFunc(f.Rules, func(r *Rule) bool { return r.ID == id })
	if i < 0 {
		return nil
	}
	return f.Rules[i]
}

func (f *File) rule(n *yaml.Node) *Rule {
	r := &Rule{Where: f.pos(n)}
	if n.Kind == yaml.MappingNode {
		r.Fields = f.flat(nil, "", n)
	}
	r.ID = r.Value("id")
	return r
}

func (f *File) pos(n *yaml.Node) strict.Pos {
	return strict.Pos{File: f.Name, Line: n.Line, Column: n.Column}
}

// flat gives the values below a node. A list of plain values is one value; of
// mappings each is below its number, from 1.
func (f *File) flat(into Fields, path string, n *yaml.Node) Fields {
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			below := n.Content[i].Value
			if path != "" {
				below = path + "." + below
			}
			into = f.flat(into, below, n.Content[i+1])
		}
	case yaml.SequenceNode:
		if !slices.ContainsFunc(n.Content, func(c *yaml.Node) bool { return c.Kind != yaml.ScalarNode }) {
			text := ""
			for i, c := range n.Content {
				if i > 0 {
					text += ", "
				}
				text += c.Value
			}
			return append(into, Field{path, text, f.pos(n)})
		}
		for i, c := range n.Content {
			into = f.flat(into, path+"["+strconv.Itoa(i+1)+"]", c)
		}
	case yaml.ScalarNode:
		into = append(into, Field{path, n.Value, f.pos(n)})
	}
	return into
}
