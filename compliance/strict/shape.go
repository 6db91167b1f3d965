package strict

import (
	"fmt"

	"go.yaml.in/yaml/v3"
)

// checkShape tells everything in a node and below it that the reader refuses
// whatever is asked for: what YAML can do and a rule pack must not.
func (d *Doc) checkShape(n *yaml.Node, path string, depth int) {
	if why := refused(n, depth); why != "" {
		d.spoil(n, path, "%s", why)
		return
	}
	switch n.Kind {
	case yaml.MappingNode:
		first := map[string]*yaml.Node{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			key, value := n.Content[i], n.Content[i+1]
			if d.checkKey(key, path, first) {
				d.checkShape(value, join(path, key.Value), depth+1)
			}
		}
	case yaml.SequenceNode:
		for i, item := range n.Content {
			d.checkShape(item, at(path, i), depth+1)
		}
	}
}

// checkKey says whether a key can be used, and tells why not.
func (d *Doc) checkKey(key *yaml.Node, path string, first map[string]*yaml.Node) bool {
	switch {
	case key.Kind == yaml.AliasNode || key.Kind == yaml.ScalarNode && key.Tag == "!!merge":
		d.spoil(key, path, "a merge key or alias is used as a key; write the keys out")
	case key.Kind != yaml.ScalarNode:
		d.spoil(key, path, "%s is used as a key; a text is required", looks(key))
	case refused(key, 1) != "":
		d.spoil(key, path, "%s", refused(key, 1))
	case key.Tag != "!!str":
		d.spoil(key, path, "key %s is %s; a key is a text: write it in quotes", quoted(key.Value), looks(key))
	case key.Value == "":
		d.spoil(key, path, "a key is empty; a text is required")
	case first[key.Value] != nil:
		d.spoil(key, join(path, key.Value), "is given twice, first on line %d; give it once", first[key.Value].Line)
	default:
		first[key.Value] = key
		return true
	}
	return false
}

// refused says why a node is not allowed anywhere.
func refused(n *yaml.Node, depth int) string {
	switch {
	case depth > MaxDepth:
		return fmt.Sprintf("is nested too deep; at most %d levels are allowed", MaxDepth)
	case n.Kind == yaml.AliasNode:
		return fmt.Sprintf("an alias (*%s) is used; write the value out", n.Value)
	case n.Anchor != "":
		return fmt.Sprintf("an anchor (&%s) is used; write the value out wherever it is needed", n.Anchor)
	case n.Style&yaml.TaggedStyle != 0:
		return fmt.Sprintf("an explicit tag (%s) is used; write the plain value", n.Tag)
	case n.Kind == yaml.ScalarNode && n.Tag == "!!merge":
		return `"<<" stands alone; write the value out, or the text in quotes`
	case n.Kind == yaml.ScalarNode:
		// An escape such as "\0" brings in what the bytes of the file may not hold.
		for _, r := range n.Value {
			if r != '\n' && r != '\t' && (r < ' ' || r == 0x7f || r == '\u0085' || r == '\u2028' || r == '\u2029') {
				return fmt.Sprintf("holds the control character %U; only printable text, tabs and line feeds are allowed", r)
			}
		}
	}
	return ""
}

// spoil tells a mistake and keeps readers of the node from telling another.
func (d *Doc) spoil(n *yaml.Node, path, format string, args ...any) {
	d.bad[n] = true
	d.fail(n, path, format, args...)
}

// looks names what a value is, in words of the people who write the files.
func looks(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "a mapping"
	case yaml.SequenceNode:
		return "a list"
	case yaml.AliasNode:
		return "an alias"
	}
	switch n.Tag {
	case "!!null":
		return "nothing"
	case "!!bool":
		return "the yes-or-no value " + quoted(n.Value)
	case "!!int", "!!float":
		return "the number " + quoted(n.Value)
	case "!!timestamp":
		return "the date " + quoted(n.Value)
	}
	return "the text " + quoted(n.Value)
}

func join(path, key string) string {
	const longest = 60
	if r := []rune(key); len(r) > longest {
		key = string(r[:longest]) + "..."
	}
	if path == "" {
		return key
	}
	return path + "." + key
}

func at(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i+1) }
