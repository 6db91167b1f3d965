package strict

import "go.yaml.in/yaml/v3"

const (
	wantMap   = "a mapping of keys and values is required"
	wantMaps  = "a list of mappings is required, each beginning with a dash"
	wantTexts = "a list of texts is required, such as [a, b]"
)

// Strings gives a list of at least one text; no item is blank or given twice.
func (m *Map) Strings(key string) []string {
	v := m.want(key, wantTexts)
	texts := m.texts(key, v)
	if v != nil && v.Kind == yaml.SequenceNode && len(v.Content) == 0 {
		m.wrong(key, "is an empty list; %s", wantTexts)
	}
	return texts
}

// OptStrings gives a list of texts, nil where the key is left out.
func (m *Map) OptStrings(key string) []string { return m.texts(key, m.may(key, wantTexts)) }

func (m *Map) texts(key string, v *yaml.Node) []string {
	if v == nil {
		return nil
	}
	if v.Kind != yaml.SequenceNode {
		m.wrong(key, "is %s; %s", looks(v), wantTexts)
		return nil
	}
	texts := make([]string, 0, len(v.Content))
	seen := map[string]bool{}
	for i, item := range v.Content {
		if m.doc.bad[item] {
			continue
		}
		s, why := textOf(item)
		if why == "" && seen[s] {
			why = "is " + looks(item) + " again; give it once"
		}
		if why != "" {
			m.doc.spoil(item, at(join(m.path, key), i), "%s", why)
			continue
		}
		seen[s] = true
		texts = append(texts, s)
	}
	return texts
}

// Map opens a mapping. Where it is missing or wrong, that is told, and the
// Map returned is one in which nothing is missing.
func (m *Map) Map(key string) *Map { return m.open(key, m.want(key, wantMap)) }

// OptMap opens a mapping that may be left out, and says whether it is given.
func (m *Map) OptMap(key string) (*Map, bool) {
	v := m.may(key, wantMap)
	return m.open(key, v), v != nil && v.Kind == yaml.MappingNode
}

func (m *Map) open(key string, v *yaml.Node) *Map {
	if v == nil {
		v = &yaml.Node{Kind: yaml.ScalarNode, Line: m.node.Line, Column: m.node.Column}
	} else if v.Kind != yaml.MappingNode {
		m.wrong(key, "is %s; %s", looks(v), wantMap)
	}
	return m.doc.open(v, m, join(m.path, key))
}

// Maps opens a list of at least one mapping. Items that are wrong are told
// and left out.
func (m *Map) Maps(key string) []*Map {
	v := m.want(key, wantMaps)
	if v != nil && v.Kind == yaml.SequenceNode && len(v.Content) == 0 {
		m.wrong(key, "is an empty list; %s", wantMaps)
	}
	return m.openAll(key, v)
}

// OptMaps opens a list of mappings, nil where the key is left out.
func (m *Map) OptMaps(key string) []*Map { return m.openAll(key, m.may(key, wantMaps)) }

func (m *Map) openAll(key string, v *yaml.Node) []*Map {
	if v == nil {
		return nil
	}
	if v.Kind != yaml.SequenceNode {
		m.wrong(key, "is %s; %s", looks(v), wantMaps)
		return nil
	}
	var all []*Map
	for i, item := range v.Content {
		if m.doc.bad[item] {
			continue
		}
		path := at(join(m.path, key), i)
		if item.Kind != yaml.MappingNode {
			m.doc.spoil(item, path, "is %s; a mapping of keys and values is required", looks(item))
			continue
		}
		all = append(all, m.doc.open(item, m, path))
	}
	return all
}
