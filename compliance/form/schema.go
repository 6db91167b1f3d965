package form

import (
	"encoding/json"
	"fmt"
	"maps"

	"antidotary/compliance"
	"antidotary/compliance/scope"
	"antidotary/inventory"
)

// Schema gives the JSON Schema of a pack (draft 2020-12), as a file.
func Schema() ([]byte, error) {
	root := mapping(Pack)
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "A rule pack of antidotary, format 1"
	root["description"] = "Checks what can be checked without records; antidotary rules lint finds more."
	root["allOf"] = []any{
		map[string]any{ // only a law needs a place, and a law has no ladder
			"if":   map[string]any{"properties": map[string]any{"layer": map[string]any{"const": "law"}}, "required": []string{"layer"}},
			"then": map[string]any{"required": []string{"jurisdiction"}, "properties": map[string]any{"ladder": false}},
		},
		map[string]any{"anyOf": []any{map[string]any{"required": []string{"rules"}}, map[string]any{"required": []string{"ladder"}}}},
	}
	rules := root["properties"].(map[string]any)["rules"].(map[string]any)
	rules["items"] = map[string]any{"$ref": "#/$defs/rule"}
	defs := map[string]any{"rule": rule(), "condition": condition()}
	for _, k := range Kinds {
		params := mapping(k.Keys)
		params["description"] = k.Says
		for word, needs := range k.Needs {
			params[word] = needs
		}
		defs[k.Name] = params
	}
	root["$defs"] = defs
	text, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write the schema: %w", err)
	}
	return append(text, '\n'), nil
}

// rule gives the schema of a rule: params and subjects by kind, and what a
// scope may ask by subject.
func rule() map[string]any {
	out := mapping(Rule)
	properties := out["properties"].(map[string]any)
	var names []string
	var all []any
	for _, k := range Kinds {
		names = append(names, k.Name)
		all = append(all, map[string]any{"if": is("kind", k.Name), "then": map[string]any{"properties": map[string]any{
			"params": map[string]any{"$ref": "#/$defs/" + k.Name}, "subject": map[string]any{"enum": k.Subjects}}}})
	}
	for _, name := range subjects() {
		kind, _ := inventory.ParseKind(name)
		all = append(all, map[string]any{"if": is("subject", name), "then": map[string]any{"properties": map[string]any{
			"scope": map[string]any{"description": "May ask: " + asks(compliance.ScopeVars(kind))}}}})
	}
	properties["kind"].(map[string]any)["enum"] = names
	properties["params"] = map[string]any{"type": "object", "description": "What the kind needs to know."}
	out["allOf"] = all
	return out
}

// condition gives the schema of one condition, which may hold others.
func condition() map[string]any {
	out := mapping(Condition)
	out["minProperties"], out["maxProperties"] = 1, 1
	return out
}

func is(key, word string) map[string]any {
	return map[string]any{"properties": map[string]any{key: map[string]any{"const": word}}, "required": []string{key}}
}

func asks(vars []scope.Var) (text string) {
	for i, v := range vars {
		if i > 0 {
			text += "; "
		}
		text += fmt.Sprintf("%s (%v: %s)", v.Name, v.Type, v.Doc)
	}
	return text
}

func mapping(keys []Key) map[string]any {
	properties := make(map[string]any)
	need := []string{}
	for _, k := range keys {
		properties[k.Name] = value(k)
		if k.Need {
			need = append(need, k.Name)
		}
	}
	return map[string]any{"type": "object", "additionalProperties": false, "required": need, "properties": properties}
}

// Patterns of what is written as a text. They are what the reader takes, but
// for days that no month has and for the order of units in a span.
const (
	notBlank     = `\S`
	wordPattern  = `^[a-z0-9]+([-.][a-z0-9]+)*$`
	pathPattern  = `^[a-z0-9-]+(/[a-z0-9-]+)*$`
	dayPattern   = `^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$`
	endPattern   = `^([0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])|never|unknown)$`
	spanPattern  = `^[0-9]+ (day|week|month|year)s?( [0-9]+ (day|week|month|year)s?)*$`
	clockPattern = `^([0-9]+(\.[0-9]+)?(h|m|s|ms))+$`
)

func value(k Key) map[string]any {
	var out map[string]any
	text := func(pattern string) { out = map[string]any{"type": "string", "pattern": pattern} }
	switch k.Type {
	case Text:
		text(notBlank)
	case Word:
		text(wordPattern)
		out["maxLength"] = 80
	case Path:
		text(pathPattern)
	case Day:
		text(dayPattern)
	case End:
		text(endPattern)
	case Span:
		text(spanPattern)
	case Duration:
		text(clockPattern)
	case Whole:
		out = map[string]any{"type": "integer", "minimum": k.Least, "maximum": k.Most}
	case Flag:
		out = map[string]any{"type": "boolean"}
	case Choice:
		out = map[string]any{"type": "string"}
		if k.Words != nil {
			out["enum"] = k.Words
		}
	case Texts:
		items := map[string]any{"type": "string", "pattern": notBlank}
		if k.Words != nil {
			items = map[string]any{"enum": k.Words}
		}
		out = map[string]any{"type": "array", "items": items, "uniqueItems": true}
		if k.Need {
			out["minItems"] = 1
		}
	case Conditions:
		out = map[string]any{"type": "array", "items": map[string]any{"$ref": "#/$defs/condition"}}
		if k.Need {
			out["minItems"] = 1
		}
	case Mapping:
		out = mapping(k.Keys)
	case Mappings:
		items := mapping(k.Keys)
		maps.Copy(items, k.Needs)
		out = map[string]any{"type": "array", "items": items}
		if k.Need {
			out["minItems"] = 1
		}
	}
	out["description"] = k.Says
	if k.Otherwise != "" {
		out["description"] = k.Says + " If left out: " + k.Otherwise + "."
	}
	return out
}
