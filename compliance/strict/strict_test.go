package strict

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"antidotary/inventory/day"

	"github.com/google/go-cmp/cmp"
)

// size is a type that reads itself, as Text wants it.
type size string

func (s *size) UnmarshalText(b []byte) error {
	if string(b) != "small" && string(b) != "2.5" {
		return fmt.Errorf("is %q; allowed: small, 2.5", b)
	}
	*s = size(b)
	return nil
}

// card is what the tests read: every kind of value, required and not.
type card struct {
	ID, Layer, Note, Level string
	Count, Spare           int
	Active, Loud           bool
	From, Until            day.Day
	Every, Grace           time.Duration
	Fields, Tags           []string
	Size, Other            size
	Lead                   int
	Rules                  []string
	Hall                   string
	HasHall                bool
}

func readCard(m *Map) card {
	var c card
	c.ID = m.String("id")
	c.Note = m.OptString("note")
	c.Layer = m.Enum("layer", "law", "house", "guidance")
	c.Level = m.OptEnum("level", "plain", "plain", "high")
	c.Count = m.Int("count", -5, 100)
	c.Spare = m.OptInt("spare", 7, 0, 10)
	c.Active = m.Bool("active")
	c.Loud = m.OptBool("loud", true)
	c.From = m.Day("from")
	c.Until = m.OptDay("until")
	c.Every = m.Duration("every", time.Minute, 48*time.Hour)
	c.Grace = m.OptDuration("grace", time.Hour, 0, 2*time.Hour)
	c.Fields = m.Strings("fields")
	c.Tags = m.OptStrings("tags")
	m.Text("size", &c.Size)
	m.OptText("other", &c.Other)
	c.Lead = m.Map("params").Int("lead", 0, 400)
	for _, r := range m.Maps("rules") {
		c.Rules = append(c.Rules, r.String("id"))
	}
	if hall, ok := m.OptMap("hall"); ok {
		c.Hall, c.HasHall = hall.String("name"), true
	}
	for _, extra := range m.OptMaps("extras") {
		extra.String("id")
	}
	return c
}

// sound is a file with the required keys; each test changes or adds a line.
var sound = []string{
	"id: card-1",
	"layer: law",
	"count: 12",
	"active: true",
	"from: 2030-02-28",
	"every: 36h",
	"fields: [holder, place]",
	"size: small",
	"params: {lead: 60}",
	"rules:\n  - id: first\n  - id: second",
}

// with replaces the line of the same key, or adds a line in the end.
func with(line string) string {
	key, _, _ := strings.Cut(line, ":")
	lines, found := append([]string(nil), sound...), false
	for i, l := range lines {
		if strings.HasPrefix(l, key+":") {
			lines[i], found = line, true
		}
	}
	if !found {
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n") + "\n"
}

func without(key string) string {
	var lines []string
	for _, l := range sound {
		if !strings.HasPrefix(l, key+":") {
			lines = append(lines, l)
		}
	}
	return strings.Join(lines, "\n") + "\n"
}

func read(data string) (card, error) {
	d, err := Parse("pack.yaml", []byte(data))
	if err != nil {
		return card{}, err
	}
	c := readCard(d.Root())
	return c, d.Err()
}

func TestReadsASoundFile(t *testing.T) {
	want := card{ID: "card-1", Layer: "law", Level: "plain", Count: 12, Spare: 7, Active: true, Loud: true,
		From: day.MustParse("2030-02-28"), Every: 36 * time.Hour, Grace: time.Hour,
		Fields: []string{"holder", "place"}, Size: "small", Lead: 60, Rules: []string{"first", "second"}}
	tests := []struct {
		name, data string
		change     func(*card)
	}{
		{"only what is required", strings.Join(sound, "\n"), func(*card) {}},
		{"CRLF and a byte order mark", "\ufeff" + strings.ReplaceAll(strings.Join(sound, "\n"), "\n", "\r\n"), func(*card) {}},
		{"document marks and comments", "# a pack\n---\n" + strings.Join(sound, "\n") + "\n# the end\n...\n", func(*card) {}},
		{"no, the country, is a text", with("note: no"), func(c *card) { c.Note = "no" }},
		{"a number in quotes is a text", with(`note: "12"`), func(c *card) { c.Note = "12" }},
		{"a block of text loses its last line feed", with("note: |\n  two\n  lines\n"), func(c *card) { c.Note = "two\nlines" }},
		{"a date in quotes", with(`until: "2031-01-31"`), func(c *card) { c.Until = day.MustParse("2031-01-31") }},
		{"a negative number", with("count: -5"), func(c *card) { c.Count = -5 }},
		{"a fraction that reads itself", with("size: 2.5"), func(c *card) { c.Size = "2.5" }},
		{"an empty list that may be left out", with("tags: []"), func(c *card) { c.Tags = []string{} }},
		{"false where true is usual", with("loud: false"), func(c *card) { c.Loud = false }},
		{"a mapping that may be left out", with("hall: {name: north}"), func(c *card) { c.Hall, c.HasHall = "north", true }},
		{"zero where seven is usual", with("spare: 0"), func(c *card) { c.Spare = 0 }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			want := want
			tt.change(&want)
			got, err := read(tt.data)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestTellsAllMistakesByPosition(t *testing.T) {
	_, err := read(strings.Join([]string{
		"id: 12",
		"layer: hause",
		"count: many",
		"active: yes",
		"from: 2030-02-30",
		"every: 36h",
		"evry: 36h",
		"fields: holder",
		"size: small",
		"params: {lead: 60, led: 7}",
		"rules:",
		"  - id: first",
		"    idd: x",
		"  - second",
	}, "\n"))
	want := `pack.yaml:1:5: id: is the number "12"; a text is required: write it in quotes
pack.yaml:2:8: layer: is the text "hause"; did you mean "house"? allowed: law, house, guidance
pack.yaml:3:8: count: is the text "many"; a whole number from -5 to 100 is required
pack.yaml:4:9: active: is the text "yes"; true or false is required, without quotes
pack.yaml:5:7: from: is the text "2030-02-30"; a date is required as YYYY-MM-DD, and one that exists, from 1900-01-01 to 9999-12-31
pack.yaml:7:1: evry: is not a key of this mapping; did you mean "every"? allowed: active, count, every, extras, fields, from, grace, hall, id, layer, level, loud, note, other, params, rules, size, spare, tags, until
pack.yaml:8:9: fields: is the text "holder"; a list of texts is required, such as [a, b]
pack.yaml:10:20: params.led: is not a key of this mapping; did you mean "lead"? allowed: lead
pack.yaml:13:5: rules[1].idd: is not a key of this mapping; did you mean "id"? allowed: id
pack.yaml:14:5: rules[2]: is the text "second"; a mapping of keys and values is required`
	if err == nil {
		t.Fatal("accepted")
	}
	if diff := cmp.Diff(want, err.Error()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	var all Errors
	var one *Mistake
	if !errors.As(err, &all) || len(all) != 10 || !errors.As(err, &one) || one.Pos != (Pos{"pack.yaml", 1, 5}) {
		t.Errorf("errors.As gives %d mistakes, the first at %v", len(all), one)
	}
}

func TestOneMistakeIsToldOnce(t *testing.T) {
	d, err := Parse("f", []byte("kind: x\nparams: {a: 1}\n"))
	if err != nil {
		t.Fatal(err)
	}
	m := d.Root()
	for range 2 {
		m.Int("kind", 0, 9)
		m.String("gone")
		m.Map("lost").String("id")
		m.Map("params").Int("a", 0, 9)
	}
	want := "f:1:1: gone: is missing; a text is required\n" +
		"f:1:1: lost: is missing; a mapping of keys and values is required\n" +
		`f:1:7: kind: is the text "x"; a whole number from 0 to 9 is required`
	for range 2 {
		if diff := cmp.Diff(want, d.Err().Error()); diff != "" {
			t.Fatalf("(-want +got):\n%s", diff)
		}
	}
}

// TestAMisspeltKeyIsToldOnce: that the key which it is meant for is missing
// goes without saying, whoever asked for it; other keys are missing still.
func TestAMisspeltKeyIsToldOnce(t *testing.T) {
	d, err := Parse("f", []byte("consequense: x\nmots: 12\n"))
	if err != nil {
		t.Fatal(err)
	}
	m := d.Root()
	m.String("consequence")
	m.String("title")
	if !m.Has("most") {
		m.Fail("most", "is missing: say how many; allowed: a whole number")
	}
	want := "f:1:1: title: is missing; a text is required\n" +
		"f:1:1: consequense: is not a key of this mapping; did you mean \"consequence\"? allowed: consequence, most, title\n" +
		"f:2:1: mots: is not a key of this mapping; did you mean \"most\"? allowed: consequence, most, title"
	if diff := cmp.Diff(want, d.Err().Error()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestUnreadMappingIsAnUnknownKey(t *testing.T) {
	d, err := Parse("f", []byte("a: 1\nb: {c: {d: 1}}\n"))
	if err != nil {
		t.Fatal(err)
	}
	d.Root().Int("a", 0, 9)
	if got, want := fmt.Sprint(d.Err()), "f:2:1: b: is not a key of this mapping; allowed: a"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestSkip(t *testing.T) {
	d, err := Parse("f", []byte("kind: permitt\nparams: {lead: 60, sub: {x: 1}}\nmore: 1\n"))
	if err != nil {
		t.Fatal(err)
	}
	m := d.Root()
	m.Map("params").Map("sub").String("y")
	m.Enum("kind", "permit", "keep")
	m.Map("params").Skip()
	m.Map("params").String("gone")
	want := "f:1:7: kind: is the text \"permitt\"; did you mean \"permit\"? allowed: permit, keep\n" +
		"f:2:25: params.sub.y: is missing; a text is required\n" + // asked for before Skip
		"f:3:1: more: is not a key of this mapping; allowed: kind, params"
	if diff := cmp.Diff(want, d.Err().Error()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestFailNamesTheValue(t *testing.T) {
	d, err := Parse("f", []byte("taxa:\n  Naja example: [a, b]\nscope: \"x\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	m := d.Root()
	taxa := m.Map("taxa")
	for _, key := range taxa.Keys() {
		taxa.Strings(key)
		taxa.FailKey(key, "is no taxon of this house; add it first")
		taxa.FailItem(key, 1, "is unknown; allowed: a")
		taxa.FailItem(key, 9, "has no tenth item; give it")
	}
	m.Fail("scope", "cannot be read; correct it")
	m.Fail("gone", "would be needed here; add it")
	m.Fail("", "does not fit together; correct it")
	want := `f:1:1: gone: would be needed here; add it
f:1:1: does not fit together; correct it
f:2:3: taxa.Naja example: is no taxon of this house; add it first
f:2:17: taxa.Naja example: has no tenth item; give it
f:2:21: taxa.Naja example[2]: is unknown; allowed: a
f:3:8: scope: cannot be read; correct it`
	if diff := cmp.Diff(want, d.Err().Error()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got, want := fmt.Sprintln(taxa.Where(), taxa.Path(), m.Pos("scope"), m.Pos("gone")), "f:2:3 taxa f:3:8 f:1:1\n"; got != want {
		t.Errorf("places are %s, want %s", got, want)
	}
}

func TestManyMistakesAreCounted(t *testing.T) {
	_, err := read(strings.Repeat("x: 1\n", 1000))
	var all Errors
	if !errors.As(err, &all) || len(all) != maxMistakes+1 {
		t.Fatalf("%d mistakes told", len(all))
	}
	// 999 repetitions, the unknown x, and the ten required keys.
	if last := all[len(all)-1].Message; last != "810 more mistakes not shown; correct the first ones" {
		t.Errorf("the last one says %q", last)
	}
}

func ExampleParse() {
	doc, err := Parse("pack.yaml", []byte("id: de-permits\nlayer: low\nleed: 60\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	m := doc.Root()
	m.String("id")
	m.Enum("layer", "law", "house", "guidance")
	m.OptInt("lead", 30, 0, 400)
	fmt.Println(doc.Err())
	// Output:
	// pack.yaml:2:8: layer: is the text "low"; did you mean "law"? allowed: law, house, guidance
	// pack.yaml:3:1: leed: is not a key of this mapping; did you mean "lead"? allowed: id, layer, lead
}
