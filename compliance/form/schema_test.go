package form_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"

	"antidotary/compliance"
	"antidotary/compliance/form"
)

func schema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, err := form.Schema()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("pack.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("pack.schema.json") // refuses what is no schema of its draft
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asJSON reads YAML as editors do: a date is a text.
func asJSON(t *testing.T, text string) any {
	t.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatal(err)
	}
	var dated func(*yaml.Node)
	dated = func(n *yaml.Node) {
		if n.Tag == "!!timestamp" {
			n.Tag = "!!str"
		}
		for _, c := range n.Content {
			dated(c)
		}
	}
	dated(&doc)
	var v any
	if err := doc.Decode(&v); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	out, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestEveryShippedPackIsOfTheSchema(t *testing.T) {
	files, err := filepath.Glob("../../deploy/rules/*.yaml")
	if err != nil || len(files) < 4 {
		t.Fatalf("%v, %v", files, err)
	}
	s := schema(t)
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(asJSON(t, string(text))); err != nil {
			t.Errorf("%s: %v", file, err)
		}
	}
}

const sound = `format: 1
pack: moss
title: Moss
layer: law
jurisdiction: xx/moss
edition: "2026"
read_on: 2026-01-01
review_by: 2027-01-01
rules:
  - id: moss.permit
    requirement: paper.moss
    title: A permit
    consequence: It is unlawful.
    severity: serious
    owner: administrator
    subject: animal
    scope: venomous
    citation: {text: Moss by-law 3, read_on: 2026-01-01, certainty: R}
    kind: permit
    params: {class: moss-permit, match: [holder], renewal: {lead: 30 days}}
  - id: moss.drill
    requirement: drill.moss
    title: A drill
    consequence: Nobody knows.
    severity: serious
    owner: administrator
    subject: site
    citation: {text: Moss by-law 4, certainty: R}
    kind: recurring
    params: {activity: drill.moss, every: 6 months}
  - id: moss.sweep
    requirement: watch.moss
    title: A sweep
    consequence: Nobody knows.
    severity: serious
    owner: operations
    subject: organisation
    citation: {text: Moss by-law 5, certainty: R}
    kind: watch
    params: {what: sweep, max_age: 26h}
tests:
  - name: without a permit
    source: by-law 3
    day: 2026-06-01
    facts: {law: xx/moss, species: [{name: Naja kaouthia, venomous: true}], animals: [{name: A, species: Naja kaouthia}]}
    expect: [{requirement: paper.moss, subject: animal A, standing: out of order, state: no-paper}]
`

// TestTheSchemaRefusesWhatTheReaderRefuses, as far as structure goes.
func TestTheSchemaRefusesWhatTheReaderRefuses(t *testing.T) {
	s := schema(t)
	if err := s.Validate(asJSON(t, sound)); err != nil {
		t.Fatal(err)
	}
	if _, err := compliance.ReadPack("p.yaml", []byte(sound)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, from, to string }{
		{"a misspelt key", "consequence: It", "consequense: It"},
		{"a missing key", "    severity: serious\n", ""},
		{"an unknown kind", "kind: permit", "kind: permits"},
		{"a parameter of another kind", "class: moss-permit", "activity: moss-permit"},
		{"a prerequisite throughout without its text", "match: [holder]", "requires: [{class: cover, at: throughout}]"},
		{"a prerequisite throughout with a lead", "match: [holder]", "requires: [{class: cover, at: throughout, citation: by-law 3, lead: 2 weeks}]"},
		{"a prerequisite of no class", "match: [holder]", "requires: [{at: filing}]"},
		{"a prerequisite at another time", "match: [holder]", "requires: [{class: cover, at: sometimes}]"},
		{"a parameter that nobody knows", "match: [holder]", "match: [holder], whenever: 1"},
		{"a misspelt parameter within", "lead: 30 days", "leed: 30 days"},
		{"a word that is none", "match: [holder]", "match: [owner]"},
		{"a subject that the kind has not", "subject: site", "subject: animal"},
		{"a subject that there is not", "subject: site", "subject: sites"},
		{"an unknown severity", "severity: serious", "severity: bad"},
		{"an unknown owner", "owner: administrator", "owner: janitor"},
		{"an unknown certainty", "certainty: R}", "certainty: sure}"},
		{"a citation without certainty", "read_on: 2026-01-01, certainty: R", "read_on: 2026-01-01"},
		{"a date that is none", "read_on: 2026-01-01\n", "read_on: January\n"},
		{"a span that is none", "lead: 30 days", "lead: 30 moons"},
		{"a length of time that is none", "max_age: 26h", "max_age: a day"},
		{"an id that is no word", "id: moss.permit", "id: Moss Permit"},
		{"a jurisdiction with capitals", "jurisdiction: xx/moss", "jurisdiction: XX"},
		{"law without a jurisdiction", "jurisdiction: xx/moss\n", ""},
		{"a format of the future", "format: 1", "format: 2"},
		{"an edition of nothing", "edition: \"2026\"\n", "edition: \"\"\n"},
		{"a text that is a number", "title: Moss\n", "title: 7\n"},
		{"neither every nor yearly", "activity: drill.moss, every: 6 months", "activity: drill.moss"},
		{"both every and yearly", "every: 6 months", "every: 6 months, yearly: {month: 3, day: 31}"},
		{"a month that there is not", "every: 6 months", "yearly: {month: 13, day: 1}"},
		{"no greatest age", "what: sweep, max_age: 26h", "what: sweep"},
		{"no job", "what: sweep", "what: job"},
		{"a job where there is none", "what: sweep", "what: sweep, job: prune"},
		{"a window of a text", "owner: administrator\n    subject: site", "owner: administrator\n    window_days: many\n    subject: site"},
		{"rules that are no list", "rules:\n", "rules: none\nrulez:\n"},
		{"a standing that is none", "standing: out of order", "standing: bad"},
		{"a test without a source", "    source: by-law 3\n", ""},
		{"a fact that nobody knows", "facts: {law: xx/moss,", "facts: {low: xx/moss,"},
		{"a day with a time", "day: 2026-06-01", "day: 2026-06-01T00:00:00Z"},
	} {
		text := strings.Replace(sound, c.from, c.to, 1)
		if text == sound {
			t.Fatalf("%s: %q is not in the pack", c.name, c.from)
		}
		if _, err := compliance.ReadPack("p.yaml", []byte(text)); err == nil {
			t.Errorf("%s: the reader takes it", c.name)
		}
		if err := s.Validate(asJSON(t, text)); err == nil {
			t.Errorf("%s: the schema takes it", c.name)
		}
	}
}
