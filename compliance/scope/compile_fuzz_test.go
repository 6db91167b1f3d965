package scope

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"
)

func FuzzCompile(f *testing.F) {
	env := testEnv(f)
	for _, r := range refusals {
		f.Add(r.expr)
	}
	f.Add(`venomous && species in ["Naja example"] || vials >= 3 && !("x" in tags)`)
	f.Add("venomous ?\n size(tags) > 0 // why\n : species.contains('''x''')")
	whole := subject{"species": "Naja example", "venomous": true, "vials": 5, "tags": []string{"x"}}
	f.Fuzz(func(t *testing.T, expr string) {
		s, err := env.Compile(expr)
		if err != nil {
			var all Errors
			if !errors.As(err, &all) || len(all) == 0 {
				t.Fatalf("%q: %T tells no place", expr, err)
			}
			lines := strings.Split(expr, "\n")
			for _, m := range all {
				if m.Line < 1 || m.Line > len(lines) || m.Column < 1 || m.Column > utf8.RuneCountInString(expr)+1 {
					t.Fatalf("%q: %v lies outside", expr, m)
				}
			}
			return
		}
		if a := s.Ask(whole); a.Truth == Unknown {
			t.Fatalf("%q of a whole subject: %+v", expr, a)
		}
		if a := s.Ask(subject{}); (a.Truth == Unknown) != (len(a.Missing) > 0) || a.Err != nil {
			t.Fatalf("%q of an empty subject: %+v", expr, a)
		}
	})
}

func BenchmarkEval(b *testing.B) {
	const expr = `venomous && species in ["Naja example", "Bitis example"] && vials < 10`
	whole := subject{"species": "Naja example", "venomous": true, "vials": 5}
	for name, of := range map[string]subject{
		"all known":   whole,
		"one missing": {"species": "Naja example", "venomous": true},
		"all missing": {},
	} {
		b.Run(name, func(b *testing.B) {
			s := mustCompile(b, expr)
			b.ReportAllocs()
			for b.Loop() {
				s.Eval(of)
			}
		})
	}
}

func BenchmarkCompile(b *testing.B) {
	env := testEnv(b)
	for b.Loop() {
		if _, err := env.Compile(`venomous && species in ["Naja example", "Bitis example"] && vials < 10`); err != nil {
			b.Fatal(err)
		}
	}
}
