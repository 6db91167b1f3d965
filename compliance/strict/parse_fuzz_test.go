package strict

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"
)

func FuzzParse(f *testing.F) {
	f.Add([]byte(strings.Join(sound, "\n")))
	for _, s := range []string{
		"", "a: &x [*x]\n", "<<: {a: b}\n", "a: 'x\n", "- a\nb: c\n", "a: b\n--- \nc: d\n", "? [a]\n: |\n  x\n",
		"id: \"a\\0\"\nlayer: >-\n  law\n", "rules:\n- id: [1, {}]\n- <<: x\n", "\ufeffa: b\r\nc:\td\r\n", "%YAML 1.1\n---\n!!map {a: !x b}\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		_, err := read(string(data))
		var all Errors
		if err == nil || !errors.As(err, &all) {
			if err != nil {
				t.Fatalf("%T tells no place", err)
			}
			return
		}
		lines := strings.Split(strings.TrimPrefix(string(data), "\ufeff"), "\n")
		before := Pos{}
		for _, m := range all {
			p := m.Pos
			if p.File != "pack.yaml" || p.Line < 1 || p.Line > len(lines) || p.Column < 0 || p.Column > utf8.RuneCountInString(lines[p.Line-1])+1 {
				t.Fatalf("%v lies outside of a file of %d lines", m, len(lines))
			}
			if p.Line < before.Line || p.Line == before.Line && p.Column < before.Column {
				t.Fatalf("%v comes after %v", m, before)
			}
			before = p
		}
	})
}
