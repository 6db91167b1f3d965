package strict

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestRefusesValues has one mistake a row, in the line that it adds to a
// sound file, and everything that is said of it. $ stands for the line.
func TestRefusesValues(t *testing.T) {
	const (
		number   = "a whole number from -5 to 100 is required"
		date     = "a date is required as YYYY-MM-DD"
		existing = date + ", and one that exists, from 1900-01-01 to 9999-12-31"
		duration = `a duration is required such as "90s", "15m", "36h" or "1h30m"`
	)
	tests := []struct{ name, line, want string }{
		{"text: number", `id: 7`, `$:5: id: is the number "7"; a text is required: write it in quotes`},
		{"text: true", `id: true`, `$:5: id: is the yes-or-no value "true"; a text is required: write it in quotes`},
		{"text: date", `id: 2030-01-01`, `$:5: id: is the date "2030-01-01"; a text is required: write it in quotes`},
		{"text: nothing", `id:`, `$:4: id: is empty; a text is required`},
		{"text: tilde", `note: ~`, `$:7: note: is empty; a text is required`},
		{"text: blank", `id: "  "`, `$:5: id: is blank; a text is required`},
		{"text: ends with a blank", `id: "card "`, `$:5: id: begins or ends with a blank; take it away`},
		{"text: list", `id: [a]`, `$:5: id: is a list; a text is required`},
		{"text: mapping", `id: {a: 1}`, `$:5: id: is a mapping; a text is required`},
		{"text: NUL escaped", `id: "a\0"`, `$:5: id: holds the control character U+0000; only printable text, tabs and line feeds are allowed`},

		{"number: text", `count: twelve`, `$:8: count: is the text "twelve"; ` + number},
		{"number: in quotes", `count: "12"`, `$:8: count: is the text "12"; ` + number},
		{"number: fraction", `count: 1.5`, `$:8: count: is the number "1.5"; ` + number},
		{"number: exponent", `count: 1e2`, `$:8: count: is the number "1e2"; ` + number},
		{"number: leading zero", `count: 012`, `$:8: count: is written "012"; ` + number + `, in plain decimal digits`},
		{"number: hexadecimal", `count: 0x10`, `$:8: count: is written "0x10"; ` + number + `, in plain decimal digits`},
		{"number: underscore", `count: 1_0`, `$:8: count: is written "1_0"; ` + number + `, in plain decimal digits`},
		{"number: plus", `count: +5`, `$:8: count: is written "+5"; ` + number + `, in plain decimal digits`},
		{"number: minus zero", `count: -0`, `$:8: count: is written "-0"; ` + number + `, in plain decimal digits`},
		{"number: too small", `count: -6`, `$:8: count: is the number "-6"; ` + number},
		{"number: too large", `count: 101`, `$:8: count: is the number "101"; ` + number},
		{"number: beyond 64 bits", `count: 18446744073709551615`, `$:8: count: is the number "18446744073709551615"; ` + number},
		{"number that may be left out: empty", `spare:`, `$:7: spare: is empty; a whole number from 0 to 10 is required`},

		{"truth: yes", `active: yes`, `$:9: active: is the text "yes"; true or false is required, without quotes`},
		{"truth: on", `active: on`, `$:9: active: is the text "on"; true or false is required, without quotes`},
		{"truth: capital", `active: True`, `$:9: active: is the yes-or-no value "True"; true or false is required, without quotes`},
		{"truth: in quotes", `active: "true"`, `$:9: active: is the text "true"; true or false is required, without quotes`},
		{"truth: number", `loud: 1`, `$:7: loud: is the number "1"; true or false is required, without quotes`},

		{"date: does not exist", `from: 2030-02-29`, `$:7: from: is the text "2030-02-29"; ` + existing},
		{"date: short month", `from: 2030-2-28`, `$:7: from: is the date "2030-2-28"; ` + existing},
		{"date: with time", `from: 2030-02-28T10:00:00Z`, `$:7: from: is the date "2030-02-28T10:00:00Z"; ` + existing},
		{"date: other order", `from: 28.02.2030`, `$:7: from: is the text "28.02.2030"; ` + existing},
		{"date: number", `from: 20300228`, `$:7: from: is the number "20300228"; ` + date},
		{"date: before 1900", `until: 0001-01-01`, `$:8: until: is the date "0001-01-01"; ` + existing},
		{"date: list", `from: [2030-02-28]`, `$:7: from: is a list; ` + date},

		{"duration: number", `every: 36`, `$:8: every: is the number "36"; ` + duration},
		{"duration: days", `every: 2d`, `$:8: every: is the text "2d"; ` + duration},
		{"duration: too short", `every: 1s`, `$:8: every: is the text "1s"; a duration from 1m0s to 48h0m0s is required`},
		{"duration: too long", `grace: 3h`, `$:8: grace: is the text "3h"; a duration from 0s to 2h0m0s is required`},
		{"duration: negative", `every: -36h`, `$:8: every: is the text "-36h"; a duration from 1m0s to 48h0m0s is required`},

		{"word: near", `layer: guidence`, `$:8: layer: is the text "guidence"; did you mean "guidance"? allowed: law, house, guidance`},
		{"word: far", `layer: statute`, `$:8: layer: is the text "statute"; allowed: law, house, guidance`},
		{"word: number", `level: 1`, `$:8: level: is the number "1"; allowed: plain, high`},

		{"list: text", `fields: holder`, `$:9: fields: is the text "holder"; a list of texts is required, such as [a, b]`},
		{"list: empty", `fields: []`, `$:9: fields: is an empty list; a list of texts is required, such as [a, b]`},
		{"list: number in it", `fields: [holder, 3]`, `$:18: fields[2]: is the number "3"; a text is required: write it in quotes`},
		{"list: list in it", `tags: [[a]]`, `$:8: tags[1]: is a list; a text is required`},
		{"list: twice the same", `fields: [holder, place, holder]`, `$:25: fields[3]: is the text "holder" again; give it once`},

		{"own type", `size: large`, `$:7: size: is "large"; allowed: small, 2.5`},
		{"own type: list", `other: [small]`, `$:8: other: is a list; a single value is required`},

		{"mapping: text", `params: x`, `$:9: params: is the text "x"; a mapping of keys and values is required`},
		{"mapping: list", `hall: [x]`, `$:7: hall: is a list; a mapping of keys and values is required`},
		{"text: mapping with a text", `id: {text: x, certainty: R}`, `$:5: id: is a mapping; a text is required: write here what stands under text, and nothing below it`},
		{"mapping: key missing", `params: {}`, `$:9: params.lead: is missing; a whole number from 0 to 400 is required`},
		{"mappings: mapping", `rules: {id: x}`, `$:8: rules: is a mapping; a list of mappings is required, each beginning with a dash`},
		{"mappings: empty", `rules: []`, `$:8: rules: is an empty list; a list of mappings is required, each beginning with a dash`},
		{"mappings: text in it", `extras: [{id: a}, b]`, `$:19: extras[2]: is the text "b"; a mapping of keys and values is required`},

		{"key given twice", `note: a` + "\n" + `"note": b`, `$+1:1: note: is given twice, first on line $; give it once`},
		{"key is a number", `2030: a`, `$:1: key "2030" is the number "2030"; a key is a text: write it in quotes`},
		{"key is a list", `[a]: b`, `$:1: a list is used as a key; a text is required`},
		{"key is empty", `"": b`, `$:1: a key is empty; a text is required`},
		{"anchor", `note: &n a`, `$:7: note: an anchor (&n) is used; write the value out wherever it is needed`},
		{"anchor on a mapping", `hall: &h {name: a}`, `$:7: hall: an anchor (&h) is used; write the value out wherever it is needed`},
		{"alias", "note: &n a\ntags: [*n]", `$:7: note: an anchor (&n) is used; write the value out wherever it is needed` + "\n" + `$+1:8: tags[1]: an alias (*n) is used; write the value out`},
		{"merge key", `hall: {<<: {name: a}, name: b}`, `$:8: hall: a merge key or alias is used as a key; write the keys out`},
		{"merge mark as value", `note: <<`, `$:7: note: "<<" stands alone; write the value out, or the text in quotes`},
		{"tag", `note: !!str 12`, `$:7: note: an explicit tag (!!str) is used; write the plain value`},
		{"own tag", `note: !secret x`, `$:7: note: an explicit tag (!secret) is used; write the plain value`},
		{"unknown key", `colour: red`, `$:1: colour: is not a key of this mapping; allowed: ` + allKeys},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			data := with(tt.line)
			line := 1 + strings.Count(data[:strings.Index(data, tt.line)], "\n")
			want := strings.ReplaceAll(tt.want, "$+1", fmt.Sprintf("pack.yaml:%d", line+1))
			want = strings.ReplaceAll(want, "first on line $", fmt.Sprintf("first on line %d", line))
			want = strings.ReplaceAll(want, "$", fmt.Sprintf("pack.yaml:%d", line))
			_, err := read(data)
			if err == nil {
				t.Fatal("accepted")
			}
			if diff := cmp.Diff(want, err.Error()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

const allKeys = "active, count, every, extras, fields, from, grace, hall, id, layer, level, loud, note, other, params, rules, size, spare, tags, until"

func TestRefusesMissingKeys(t *testing.T) {
	wants := map[string]string{
		"id": wantText, "layer": "allowed: law, house, guidance", "count": wantInt(-5, 100), "active": wantBool, "from": wantDay,
		"every": wantDuration, "fields": wantTexts, "size": "a value is required", "params": wantMap, "rules": wantMaps,
	}
	for _, line := range sound {
		key, _, _ := strings.Cut(line, ":")
		_, err := read(without(key))
		if got, want := fmt.Sprint(err), "pack.yaml:1:1: "+key+": is missing; "+wants[key]; got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	}
}

func TestRefusesFiles(t *testing.T) {
	tests := []struct{ name, data, want string }{
		{"empty", "", "f:1: is empty; keys and values are required"},
		{"only a comment", "# nothing\n", "f:1: is empty; keys and values are required"},
		{"a list", "- a\n", "f:1:1: holds a list; keys and values are required"},
		{"a text", "hello\n", `f:1:1: holds the text "hello"; keys and values are required`},
		{"an empty document", "---\n", "f:1: is empty; keys and values are required"},
		{"two documents", "a: 1\n---\nb: 2\n", "f:2: a second document begins; one document a file is allowed"},
		{"a second document that is broken", "a: 1\n---\nb: [\n", "f:2: a second document begins; one document a file is allowed"},
		{"not UTF-8", "a: b\nc: \xffd\n", "f:2:4: byte 0xff is not UTF-8; save the file as UTF-8"},
		{"UTF-16", "\xff\xfea\x00", "f:1:1: byte 0xff is not UTF-8; save the file as UTF-8"},
		{"NUL", "a: b\x00c\n", "f:1:5: control character U+0000; only printable text, blanks and line breaks are allowed"},
		{"escape", "a: ä\x1b[2J\n", "f:1:5: control character U+001B; only printable text, blanks and line breaks are allowed"},
		{"carriage return alone", "a: b\rc: d\n", "f:1:5: a carriage return alone; lines end with LF or CRLF"},
		{"line separator", "a: b\u2028\n", "f:1:5: unusual line break U+2028; lines end with LF or CRLF"},
		{"too large", strings.Repeat("#", MaxBytes+1), "f: is 1048577 bytes long; at most 1048576 are allowed"},

		{"tab", "a:\n\tb: c\n", "f:2: a tab in the indentation; indent with spaces"},
		{"second colon", "a: b\nb: c: d\n", "f:2: a second colon where none can be; put a text that holds ': ' in quotes, or begin a new line"},
		{"reserved character", "a: b\nc: @x\n", "f:2: a text begins with a character that YAML keeps for itself; put the text in quotes"},
		{"key without colon", "a: b\nc\nd: e\n", "f:2: a key without its colon; write key: value"},
		{"open quote", "a: b\nc: 'd\ne: f\n", "f:2: a quote is opened and not closed; close it"},
		{"open bracket", "a: b\nc: [d\ne: f\n", "f:2: a bracket is opened and not closed, or a comma is missing; write [a, b] or {a: b}"},
		{"unknown escape", "a: b\nc: \"\\q\"\n", `f:2: an unknown escape in a double-quoted text; use single quotes, or write \\ for a backslash`},
		{"alias without anchor", "a: b\nc: *d\n", "f:2: an alias (*name) is used; write the value out"},
		{"dash among keys", "a: b\n- c\n", "f:2: a line does not fit those before it; check its indentation and its dash or colon"},
		{"key among dashes", "- a\nb: c\n", "f:2: a line does not fit those before it; check its indentation and its dash or colon"},
		{"wrong indentation, far down", strings.Repeat("k:\n  - x\n", 500) + "  y\n" + strings.Repeat("m: |\n  x\n", 500), "f:1001: a key without its colon; write key: value"},
		{"after a text of several lines", "a: |\n" + strings.Repeat("  x\n", 10) + "b: [1,\n 2,\n 3]\n  c: d\n", "f:15: a line does not fit those before it; check its indentation and its dash or colon"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Parse("f", []byte(tt.data))
			if err == nil {
				t.Fatal("accepted")
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestDepth(t *testing.T) {
	nested := func(levels int) string {
		return strings.Repeat("{a: ", levels) + "1" + strings.Repeat("}", levels)
	}
	if d, err := Parse("f", []byte(nested(MaxDepth-1))); err != nil || len(d.mistakes) > 0 {
		t.Errorf("%d levels are refused: %v %v", MaxDepth-1, err, d.mistakes)
	}
	d, err := Parse("f", []byte(nested(MaxDepth)))
	if err != nil {
		t.Fatal(err)
	}
	if len(d.mistakes) != 1 || d.mistakes[0].Message != "is nested too deep; at most 32 levels are allowed" {
		t.Errorf("%d levels: %v", MaxDepth, d.mistakes)
	}
}

// TestHostileFiles holds files of the largest size that are made to take
// long: a quadratic reader would not come to their end within the time that a
// run of tests has.
func TestHostileFiles(t *testing.T) {
	files := map[string]string{}
	for _, unit := range []string{"[", "{", "- ", "? ", "a: ", "{a: ", "[a,", "#", "#\n", "a\n", "\n", "'", "\"\n",
		"x: 1\n", "- [\n", "&a ", "*a ", "---\n", "|\n", "!a ", "a: &a\n", "? a\n: b\n"} {
		files[unit+" repeated"] = strings.Repeat(unit, MaxBytes/len(unit))
	}
	var keys strings.Builder
	for i := 0; keys.Len() < MaxBytes-100; i++ {
		fmt.Fprintf(&keys, "k%d: [\n]\n", i)
	}
	files["sound but for the last line"] = keys.String() + "x\ny: 1\n"
	files["one long key"] = strings.Repeat("k", MaxBytes-10) + ": 1\n"
	for name, data := range files {
		if _, err := read(data); err == nil {
			t.Errorf("%q was accepted", name)
		}
	}
}
