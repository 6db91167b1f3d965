package answer

import (
	"encoding/json"
	"io"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"antidotary/inventory"
)

type writer interface{ WriteText(io.Writer) error }

func written(t testing.TB, a writer) string {
	t.Helper()
	var b strings.Builder
	if err := a.WriteText(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestTextFitsATerminal(t *testing.T) {
	r := asked(t, 0, inventory.Assumptions{})
	wp102, err := Find(r, "WP-102")
	if err != nil {
		t.Fatal(err)
	}
	for name, a := range map[string]writer{
		"explain nothing": NewExplain(r, inventory.Ref{Kind: inventory.KindPerson, ID: inventory.NewID()}),
		"check":           NewCheck(r), "ahead": NewAhead(r, horizon), "ahead with plans": NewAhead(asked(t, 0, inventory.Assumptions{Plans: true, Routine: true}), horizon),
		"explain": NewExplain(r, wp102),
	} {
		text := written(t, a)
		for line := range strings.Lines(text) {
			line = strings.TrimSuffix(line, "\n")
			if n := utf8.RuneCountInString(line); n > width {
				t.Errorf("%s: a line of %d columns, more than %d: %q", name, n, width, line)
			}
			if strings.TrimRight(line, " ") != line {
				t.Errorf("%s: a line ends in blanks: %q", name, line)
			}
		}
		if !strings.Contains(text, "No medical or legal advice") {
			t.Errorf("%s: the text does not say what it is not", name)
		}
	}
}

// A writer that fails is told of, not written over.
func TestTextSaysWhenItCannotBeWritten(t *testing.T) {
	r := asked(t, 0, inventory.Assumptions{})
	for name, a := range map[string]writer{"check": NewCheck(r), "ahead": NewAhead(r, horizon), "explain": NewExplain(r, r.Judgements[0].Key.Subject)} {
		_, full := io.Pipe()
		full.CloseWithError(io.ErrShortWrite)
		if err := a.WriteText(full); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// The keys of an answer keep their names and meaning within format 1.
func TestKeysOfFormat1(t *testing.T) {
	r := asked(t, 0, inventory.Assumptions{})
	lh014, err := Find(r, "LH-014")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		answer any
		want   string
	}{
		{"check", NewCheck(r), checkKeys},
		{"ahead", NewAhead(r, horizon), aheadKeys},
		{"explain", NewExplain(r, lh014), explainKeys},
	} {
		text, err := json.Marshal(c.answer)
		if err != nil {
			t.Fatal(err)
		}
		var decoded map[string]any
		if err := json.Unmarshal(text, &decoded); err != nil {
			t.Fatal(err)
		}
		if decoded["format"] != 1.0 {
			t.Errorf("%s: format %v, want 1", c.name, decoded["format"])
		}
		if diff := cmp.Diff(strings.Fields(c.want), keysOf("", decoded)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// keysOf gives the path of each value, sorted; [] stands for an element.
func keysOf(path string, value any) (keys []string) {
	switch value := value.(type) {
	case map[string]any:
		for k, v := range value {
			keys = append(keys, keysOf(strings.TrimPrefix(path+"."+k, "."), v)...)
		}
	case []any:
		for _, v := range value {
			keys = append(keys, keysOf(path+"[]", v)...)
		}
	default:
		keys = []string{path}
	}
	slices.Sort(keys)
	return slices.Compact(keys)
}

const checkKeys = `
as_of counts.animals counts.cannot_tell counts.due_soon counts.duties counts.in_order counts.lots
counts.not_applicable counts.out_of_order counts.people counts.permits counts.rules format items[].cause
items[].certainty items[].citation items[].consequence items[].layer items[].name items[].occurrence items[].reasons[]
items[].requirement items[].rule items[].severity items[].site items[].standing items[].state items[].state_words
items[].step.by items[].step.do items[].step.hand_in_by items[].step.legal items[].step.missed items[].step.owner items[].step.post_by items[].step.record items[].step.words
items[].subject items[].title nobody_told not_watched[].by not_watched[].last not_watched[].name not_watched[].why
now
`

const aheadKeys = `
first_lapse format from nobody_told now plans routine turns[].cause turns[].from turns[].layer turns[].name
turns[].occurrence turns[].on turns[].requirement turns[].rule turns[].state turns[].state_words turns[].step.by
turns[].step.do turns[].step.hand_in_by turns[].step.legal turns[].step.owner turns[].step.post_by turns[].step.words turns[].subject turns[].to until
`

const explainKeys = `
duties[].law.standing duties[].law.state duties[].next.cause duties[].next.from duties[].next.layer
duties[].next.name duties[].next.on duties[].next.requirement duties[].next.rule duties[].next.state
duties[].next.state_words duties[].next.step.by duties[].next.step.do duties[].next.step.legal
duties[].next.step.owner duties[].next.step.words duties[].next.subject duties[].next.to duties[].policy.standing
duties[].requirement duties[].rules[].binds duties[].rules[].certainty duties[].rules[].citation
duties[].rules[].id duties[].rules[].layer duties[].rules[].pack duties[].rules[].part duties[].rules[].reasons[]
duties[].rules[].standing duties[].rules[].state duties[].rules[].step.by duties[].rules[].step.do
duties[].rules[].step.hand_in_by duties[].rules[].step.legal duties[].rules[].step.owner duties[].rules[].step.post_by duties[].rules[].step.record duties[].rules[].step.words duties[].rules[].title format
name nobody_told now subject today
`
