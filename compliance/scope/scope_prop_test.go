package scope

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The oracle is a second reading of the language: an expression is generated
// as its text together with a Go function that evaluates it over whole
// subjects, two-valued, straight from the meaning of the operators.
type expression struct {
	text string
	of   func(subject) any
}

// domains are all values that an attribute may have in these tests.
var domains = map[string][]any{
	"s1": {"a", "b", ""}, "s2": {"a", "ab"},
	"b1": {true, false}, "b2": {true, false},
	"n1": {0, 1, -1}, "n2": {1, 2},
	"l1": {[]string(nil), []string{"a"}, []string{"a", "b"}}, "l2": {[]string{"b"}, []string{"a", "ab"}},
}

func propEnv(t testing.TB) *Env {
	t.Helper()
	kinds := map[byte]Type{'s': String, 'b': Bool, 'n': Int, 'l': StringList}
	var vars []Var
	for name := range domains {
		vars = append(vars, Var{Name: name, Type: kinds[name[0]]})
	}
	e, err := NewEnv(vars...)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func name(names ...string) *rapid.Generator[expression] {
	return rapid.Map(rapid.SampledFrom(names), func(n string) expression {
		return expression{n, func(s subject) any { return s[n] }}
	})
}

func constant(text string, value any) expression {
	return expression{text, func(subject) any { return value }}
}

func texts() *rapid.Generator[expression] {
	return rapid.OneOf(name("s1", "s2"), rapid.Map(rapid.SampledFrom([]string{"a", "b", "ab", ""}), func(v string) expression {
		return constant(strconv.Quote(v), v)
	}))
}

func numbers() *rapid.Generator[expression] {
	return rapid.OneOf(name("n1", "n2"),
		rapid.Map(rapid.IntRange(-1, 2), func(v int) expression { return constant(strconv.Itoa(v), v) }),
		rapid.Map(lists(), func(l expression) expression {
			return expression{"size(" + l.text + ")", func(s subject) any { return len(l.of(s).([]string)) }}
		}))
}

func lists() *rapid.Generator[expression] {
	return rapid.OneOf(name("l1", "l2"), rapid.Map(rapid.SliceOfN(texts(), 1, 3), func(items []expression) expression {
		var parts []string
		for _, item := range items {
			parts = append(parts, item.text)
		}
		return expression{"[" + strings.Join(parts, ", ") + "]", func(s subject) any {
			var values []string
			for _, item := range items {
				values = append(values, item.of(s).(string))
			}
			return values
		}}
	}))
}

// pair draws two expressions of one generator.
func pair(t *rapid.T, g *rapid.Generator[expression]) (a, b expression) {
	return g.Draw(t, "a"), g.Draw(t, "b")
}

func relations() *rapid.Generator[expression] {
	return rapid.Custom(func(t *rapid.T) expression {
		switch rapid.IntRange(0, 6).Draw(t, "relation") {
		case 0:
			a, b := pair(t, texts())
			return expression{a.text + " == " + b.text, func(s subject) any { return a.of(s) == b.of(s) }}
		case 1:
			a, b := pair(t, texts())
			return expression{a.text + " != " + b.text, func(s subject) any { return a.of(s) != b.of(s) }}
		case 2:
			a, b := pair(t, numbers())
			return expression{a.text + " < " + b.text, func(s subject) any { return a.of(s).(int) < b.of(s).(int) }}
		case 3:
			a, b := pair(t, numbers())
			return expression{a.text + " == " + b.text, func(s subject) any { return a.of(s) == b.of(s) }}
		case 4:
			a, l := texts().Draw(t, "item"), lists().Draw(t, "list")
			return expression{a.text + " in " + l.text, func(s subject) any {
				return slices.Contains(l.of(s).([]string), a.of(s).(string))
			}}
		case 5:
			a, b := pair(t, texts())
			return expression{a.text + ".startsWith(" + b.text + ")", func(s subject) any {
				return strings.HasPrefix(a.of(s).(string), b.of(s).(string))
			}}
		default:
			a, b := pair(t, lists())
			return expression{a.text + " == " + b.text, func(s subject) any {
				return slices.Equal(a.of(s).([]string), b.of(s).([]string))
			}}
		}
	})
}

func truths(depth int) *rapid.Generator[expression] {
	leaf := rapid.OneOf(name("b1", "b2"), relations(),
		rapid.Just(constant("true", true)), rapid.Just(constant("false", false)))
	if depth == 0 {
		return leaf
	}
	below := truths(depth - 1)
	return rapid.OneOf(leaf, rapid.Custom(func(t *rapid.T) expression {
		a, b := pair(t, below)
		is := func(e expression, s subject) bool { return e.of(s).(bool) }
		switch rapid.IntRange(0, 4).Draw(t, "operator") {
		case 0:
			return expression{"(" + a.text + " && " + b.text + ")", func(s subject) any { return is(a, s) && is(b, s) }}
		case 1:
			return expression{"(" + a.text + " || " + b.text + ")", func(s subject) any { return is(a, s) || is(b, s) }}
		case 2:
			return expression{"!(" + a.text + ")", func(s subject) any { return !is(a, s) }}
		case 3:
			return expression{"((" + a.text + ") == (" + b.text + "))", func(s subject) any { return is(a, s) == is(b, s) }}
		default:
			c := below.Draw(t, "c")
			return expression{fmt.Sprintf("((%s) ? (%s) : (%s))", a.text, b.text, c.text), func(s subject) any {
				if is(a, s) {
					return is(b, s)
				}
				return is(c, s)
			}}
		}
	}))
}

// subjects draws a subject, each of whose attributes may be unknown.
func subjects() *rapid.Generator[subject] {
	return rapid.Custom(func(t *rapid.T) subject {
		s := subject{}
		for _, n := range slices.Sorted(maps.Keys(domains)) {
			if rapid.Bool().Draw(t, n+" known") {
				s[n] = rapid.SampledFrom(domains[n]).Draw(t, n)
			}
		}
		return s
	})
}

// completions calls yield with every whole subject that agrees with s; the
// subject is the caller's only for the time of the call.
func completions(s subject, yield func(subject)) {
	whole, unknown := maps.Clone(s), []string{}
	for n := range domains {
		if _, known := s[n]; !known {
			unknown = append(unknown, n)
		}
	}
	var fill func(int)
	fill = func(i int) {
		if i == len(unknown) {
			yield(whole)
			return
		}
		for _, v := range domains[unknown[i]] {
			whole[unknown[i]] = v
			fill(i + 1)
		}
	}
	fill(0)
}

func TestDefiniteAnswersHoldForEveryCompletion(t *testing.T) {
	env := propEnv(t)
	counts := map[Truth]int{}
	rapid.Check(t, func(t *rapid.T) {
		e := truths(3).Draw(t, "expression")
		s := subjects().Draw(t, "subject")
		if len(e.text) > MaxLength {
			t.Skip("longer than a scope may be")
		}
		scope, err := env.Compile(e.text)
		if err != nil {
			t.Fatalf("%s: %v", e.text, err)
		}
		got := scope.Ask(s)
		counts[got.Truth]++
		if got.Err != nil {
			t.Fatalf("%s of %v failed: %v", e.text, s, got.Err)
		}
		for _, n := range got.Missing {
			if _, known := s[n]; known || !slices.Contains(scope.Reads(), n) {
				t.Fatalf("%s of %v misses %s, which is known or not read", e.text, s, n)
			}
		}
		if (got.Truth == Unknown) != (len(got.Missing) > 0) {
			t.Fatalf("%s of %v: %v with missing %v", e.text, s, got.Truth, got.Missing)
		}
		if got.Truth == Unknown {
			return
		}
		completions(s, func(whole subject) {
			if e.of(whole).(bool) != (got.Truth == Yes) {
				t.Fatalf("%s of %v is %v, but not for %v", e.text, s, got.Truth, whole)
			}
		})
	})
	for _, truth := range []Truth{Unknown, No, Yes} {
		if counts[truth] == 0 {
			t.Errorf("no %v among the answers: the property did not look at them", truth)
		}
	}
}

// TestMissingAttributesAreEnough says that the names given with Unknown are
// all that has to be found out.
func TestMissingAttributesAreEnough(t *testing.T) {
	env := propEnv(t)
	rapid.Check(t, func(t *rapid.T) {
		e := truths(3).Draw(t, "expression")
		s := subjects().Draw(t, "subject")
		if len(e.text) > MaxLength {
			t.Skip("longer than a scope may be")
		}
		scope, err := env.Compile(e.text)
		if err != nil {
			t.Fatalf("%s: %v", e.text, err)
		}
		// A found-out attribute may open a branch that reads another, so it
		// takes several rounds, but each finds out something new.
		for range len(domains) + 1 {
			truth, missing := scope.Eval(s)
			if truth != Unknown {
				completions(s, func(whole subject) {
					if e.of(whole).(bool) != (truth == Yes) {
						t.Fatalf("%s of %v is %v, but not for %v", e.text, s, truth, whole)
					}
				})
				return
			}
			for _, n := range missing {
				s[n] = rapid.SampledFrom(domains[n]).Draw(t, "found out "+n)
			}
		}
		t.Fatalf("%s stays unknown after all missing attributes were found out", e.text)
	})
}

func TestAnswerDependsOnReadsOnly(t *testing.T) {
	env := propEnv(t)
	rapid.Check(t, func(t *rapid.T) {
		e := truths(3).Draw(t, "expression")
		s := subjects().Draw(t, "subject")
		if len(e.text) > MaxLength {
			t.Skip("longer than a scope may be")
		}
		scope, err := env.Compile(e.text)
		if err != nil {
			t.Fatalf("%s: %v", e.text, err)
		}
		cohort := subject{}
		for _, n := range scope.Reads() {
			if v, known := s[n]; known {
				cohort[n] = v
			}
		}
		whole, wholeMissing := scope.Eval(s)
		only, onlyMissing := scope.Eval(cohort)
		if whole != only || !slices.Equal(wholeMissing, onlyMissing) {
			t.Fatalf("%s: %v %v of the subject, %v %v of what it reads", e.text, whole, wholeMissing, only, onlyMissing)
		}
	})
}
