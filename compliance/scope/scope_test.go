package scope

import (
	"fmt"
	"strings"
	"testing"

	"cel.dev/cel-go/cel"
	"github.com/google/go-cmp/cmp"
)

// subject is a set of known attributes.
type subject map[string]any

func (s subject) Attribute(name string) (any, bool) {
	v, known := s[name]
	return v, known
}

func testEnv(t testing.TB) *Env {
	t.Helper()
	e, err := NewEnv(
		Var{Name: "species", Type: String, Doc: "the accepted name"},
		Var{Name: "venomous", Type: Bool},
		Var{Name: "vials", Type: Int},
		Var{Name: "tags", Type: StringList},
	)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func mustCompile(t testing.TB, expr string) *Scope {
	t.Helper()
	s, err := testEnv(t).Compile(expr)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestEval(t *testing.T) {
	whole := subject{"species": "Naja example", "venomous": true, "vials": 5, "tags": []string{"quarantine"}}
	tests := []struct {
		name, expr string
		of         subject
		want       Truth
		missing    []string
	}{
		{"nothing written applies to all", "", nil, Yes, nil},
		{"blanks apply to all", " \n ", nil, Yes, nil},
		{"both hold", `venomous && species == "Naja example"`, whole, Yes, nil},
		{"one does not hold", `venomous && species != "Naja example"`, whole, No, nil},
		{"in a list of constants", `species in ["Naja example", "Bitis example"]`, whole, Yes, nil},
		{"in a list attribute", `"quarantine" in tags`, whole, Yes, nil},
		{"in a list of one attribute", `species in [species]`, whole, Yes, nil},
		{"not in an empty list", `species in []`, whole, No, nil},
		{"order of numbers", `vials >= 5 && vials < 6 && vials > -1`, whole, Yes, nil},
		{"calls", `size(tags) == 1 && species.startsWith("Naja ") && species.endsWith("e") && species.contains("exam")`, whole, Yes, nil},
		{"condition", `venomous ? vials < 5 : vials > 100`, whole, No, nil},
		{"an int64 is a whole number", `vials == 5`, subject{"vials": int64(5)}, Yes, nil},

		// CEL language definition, section Logical Operators (read): an operand
		// that determines the result does so on either side.
		{"unknown or true", `venomous || true`, nil, Yes, nil},
		{"true or unknown", `true || venomous`, nil, Yes, nil},
		{"unknown and false", `venomous && false`, nil, No, nil},
		{"false and unknown", `false && venomous`, nil, No, nil},
		{"unknown or a known true", `venomous || vials == 5`, subject{"vials": 5}, Yes, nil},
		{"unknown and a known false", `venomous && vials == 6`, subject{"vials": 5}, No, nil},
		{"the untaken branch does not matter", `venomous ? vials == 5 : species == "x"`, subject{"venomous": true, "vials": 5}, Yes, nil},

		{"unknown and true", `venomous && true`, nil, Unknown, []string{"venomous"}},
		{"unknown or false", `venomous || false`, nil, Unknown, []string{"venomous"}},
		{"not unknown", `!venomous`, nil, Unknown, []string{"venomous"}},
		{"two unknown, both matter", `venomous && vials > 1`, nil, Unknown, []string{"venomous", "vials"}},
		{"two unknown, one cannot matter", `venomous && (vials > 1 || species == "x")`, subject{"species": "x"}, Unknown, []string{"venomous"}},
		{"unknown item", `species in ["x"]`, nil, Unknown, []string{"species"}},
		{"unknown list", `"x" in tags`, nil, Unknown, []string{"tags"}},
		{"unknown condition", `venomous ? vials == 5 : vials == 5`, subject{"vials": 5}, Unknown, []string{"venomous"}},
		{"equal to itself is not seen through", `species == species`, nil, Unknown, []string{"species"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, missing := mustCompile(t, tt.expr).Eval(tt.of)
			if got != tt.want {
				t.Errorf("%s = %v, want %v", tt.expr, got, tt.want)
			}
			if diff := cmp.Diff(tt.missing, missing); diff != "" {
				t.Errorf("missing (-want +got):\n%s", diff)
			}
		})
	}
}

func TestZeroTruthIsUnknown(t *testing.T) {
	if got := new(Answer).Truth; got != Unknown {
		t.Errorf("an answer that nobody gave reads %v", got)
	}
}

func TestWrongTypeOfValueIsUnknown(t *testing.T) {
	tests := []struct {
		name, expr string
		of         subject
		reason     string
	}{
		{"a number for a text would compare as unequal", `species != "x"`, subject{"species": 3}, `attribute "species" is int; a text is required`},
		{"a text for a number", `vials < 3`, subject{"vials": "2"}, `attribute "vials" is string; a whole number is required`},
		{"a text for a truth", `!venomous`, subject{"venomous": "no"}, `attribute "venomous" is string; true or false is required`},
		{"a text for a list", `!("x" in tags)`, subject{"tags": "x"}, `attribute "tags" is string; a list of texts is required`},
		{"nil that claims to be known", `vials != 3`, subject{"vials": nil}, `attribute "vials" is <nil>; a whole number is required`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := mustCompile(t, tt.expr).Ask(tt.of)
			if got.Truth != Unknown || got.Err == nil || got.Err.Error() != tt.reason {
				t.Errorf("got %v, %v; want unknown, %s", got.Truth, got.Err, tt.reason)
			}
		})
	}
	t.Run("no reason where it does not matter", func(t *testing.T) {
		got := mustCompile(t, `true || species == "x"`).Ask(subject{"species": 3})
		if got.Truth != Yes || got.Err != nil {
			t.Errorf("got %+v, want yes without a reason", got)
		}
	})
}

// TestFailureIsUnknown goes round Compile, which lets nothing through that
// fails while answering.
func TestFailureIsUnknown(t *testing.T) {
	e, err := cel.NewEnv(cel.Variable("vials", cel.IntType))
	if err != nil {
		t.Fatal(err)
	}
	for _, expr := range []string{`1 / vials == 1`, `!(1 / vials == 1)`, `[true][vials + 1]`, `vials`} {
		checked, issues := e.Compile(expr)
		if issues.Err() != nil {
			t.Fatal(issues.Err())
		}
		program, err := e.Program(checked, cel.EvalOptions(cel.OptPartialEval))
		if err != nil {
			t.Fatal(err)
		}
		s := &Scope{expr: expr, program: program, reads: []string{"vials"}, types: []Type{Int},
			unknowns: []*cel.AttributePatternType{cel.AttributePattern("vials")}}
		if got := s.Ask(subject{"vials": 0}); got.Truth != Unknown || got.Err == nil {
			t.Errorf("%s: got %+v, want unknown with a reason", expr, got)
		}
	}
}

func TestReads(t *testing.T) {
	tests := []struct {
		expr string
		want []string
	}{
		{``, nil},
		{`true`, nil},
		{`vials > 1 && (venomous || vials < 9) && "x" in tags`, []string{"tags", "venomous", "vials"}},
		{`species.startsWith("N") ? true : venomous`, []string{"species", "venomous"}},
		{`"species" == "vials"`, nil},
	}
	for _, tt := range tests {
		s := mustCompile(t, tt.expr)
		if diff := cmp.Diff(tt.want, s.Reads()); diff != "" && len(tt.want)+len(s.Reads()) > 0 {
			t.Errorf("%s (-want +got):\n%s", tt.expr, diff)
		}
	}
}

// refusals are one expression for each mistake, with all that is said of it.
var refusals = []struct{ name, expr, want string }{
	{"unknown name", `specis == "x"`, `column 1: unknown name "specis"; did you mean species? known names: species, tags, venomous, vials; a text is written "specis", with its quotes`},
	{"two unknown names, on their lines", "true &&\n  a || b", `line 2, column 3: unknown name "a"; known names: species, tags, venomous, vials; a text is written "a", with its quotes; line 2, column 8: unknown name "b"; known names: species, tags, venomous, vials; a text is written "b", with its quotes`},
	{"dotted name", `species.genus == "x"`, `column 8: "genus" is read with a dot; names have no parts, and known names are: species, tags, venomous, vials`},
	{"no truth", `vials`, `column 1: gives vials (a whole number); a scope gives true or false, so compare it with something`},
	{"a text is no truth", `"yes"`, `column 1: gives a text; a scope gives true or false, so compare it with something`},
	{"text against number", `species == 3`, `column 9: "==" cannot be used with species (a text) and a whole number; both sides are of one kind`},
	{"number joined", `venomous && vials`, `column 10: "&&" cannot be used with venomous (true or false) and vials (a whole number); it joins what is true or false`},
	{"in a text", `"x" in species`, `column 5: "in" cannot be used with a text and species (a text); it is written item in list`},
	{"mixed list", `species in ["x", 3]`, `column 18: does not fit the items before it; all items of a list are of one kind`},
	{"branches of two kinds", `venomous ? vials : species`, `column 10: "?:" cannot be used with venomous (true or false) and vials (a whole number) and species (a text); it is written condition ? a : b, with a and b of one kind`},
	{"size of a number", `size(vials) > 1`, `column 1: "size" cannot be used with vials (a whole number); it is written size(x) for a text or list`},
	{"arithmetic", `vials + 1 > 2`, `column 7: "+" cannot be used in a scope; ` + calls},
	{"negation of a name", `-vials < 2`, `column 1: "-" cannot be used in a scope; ` + calls},
	{"index", `tags[0] == "x"`, `column 5: "[ ]" cannot be used in a scope; ` + calls},
	{"macro", `tags.exists(t, t == "x")`, `column 6: "exists" cannot be used in a scope; ` + calls},
	{"has", `has(species.genus)`, `column 1: "has" cannot be used in a scope; ` + calls},
	{"clock", `timestamp("2030-01-01T00:00:00Z") > timestamp("2029-01-01T00:00:00Z")`, `column 1: "timestamp" cannot be used in a scope; ` + calls + `; column 37: "timestamp" cannot be used in a scope; ` + calls},
	{"duration", `duration("1h") == duration("2h")`, `column 1: "duration" cannot be used in a scope; ` + calls + `; column 19: "duration" cannot be used in a scope; ` + calls},
	{"pattern", `species.matches("a+")`, `column 9: "matches" cannot be used in a scope; ` + calls},
	{"types escaped", `dyn(species) == 3`, `column 1: "dyn" cannot be used in a scope; ` + calls},
	{"fraction", `vials > 1.5`, `column 9: a value of a kind that scopes do not have; texts in quotes, whole numbers, true and false are allowed`},
	{"null", `species == null`, `column 12: a value of a kind that scopes do not have; texts in quotes, whole numbers, true and false are allowed`},
	{"map", `species in {"x": 1}`, `column 12: braces are not used in scopes; a list is written [a, b]`},
	{"message", `Foo{a: 1} == Foo{}`, `column 4: braces are not used in scopes; a list is written [a, b]; column 17: braces are not used in scopes; a list is written [a, b]`},
	{"words for operators", `venomous and true`, `column 10: cannot be read: mismatched input 'and'; check quotes, parentheses and operators (and is &&, or is ||, equal is ==)`},
	{"open parenthesis", `(venomous`, `column 10: cannot be read: missing ')' at the end of the expression; check quotes, parentheses and operators (and is &&, or is ||, equal is ==)`},
	{"too long", strings.Repeat("x", MaxLength+1), `column 1: is 2001 characters long; at most 2000 are allowed, so make it several rules`},
}

func TestCompileRefuses(t *testing.T) {
	for _, tt := range refusals {
		t.Run(tt.name, func(t *testing.T) {
			_, err := testEnv(t).Compile(tt.expr)
			if err == nil {
				t.Fatalf("%s was accepted", tt.expr)
			}
			if diff := cmp.Diff(tt.want, err.Error()); diff != "" {
				t.Errorf("%s (-want +got):\n%s", tt.expr, diff)
			}
		})
	}
}

func TestCompileBoundsNesting(t *testing.T) {
	for _, unit := range []string{"(", "[", "true ? true : ", "!(", "true == ("} {
		if _, err := testEnv(t).Compile(strings.Repeat(unit, 1900/len(unit)) + "true"); err == nil {
			t.Errorf("%q repeated to the longest expression was accepted", unit)
		}
	}
	if _, err := testEnv(t).Compile(strings.Repeat("venomous || ", 150) + "true"); err != nil {
		t.Errorf("a long flat expression: %v", err)
	}
}

func TestNewEnvRefuses(t *testing.T) {
	tests := []struct {
		name string
		vars []Var
		want string
	}{
		{"capital", []Var{{Name: "Species", Type: String}}, `declare attribute "Species": a name is lower-case letters`},
		{"dot", []Var{{Name: "a.b", Type: String}}, `declare attribute "a.b": a name is lower-case letters`},
		{"reserved", []Var{{Name: "in", Type: String}}, `declare attribute "in": a name is lower-case letters`},
		{"twice", []Var{{Name: "a", Type: String}, {Name: "a", Type: Bool}}, `declare attribute "a": it is declared twice`},
		{"no type", []Var{{Name: "a"}}, `declare attribute "a": it has no type`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := NewEnv(tt.vars...)
			if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
				t.Errorf("got %v, want %s...", err, tt.want)
			}
		})
	}
}

func ExampleScope_Eval() {
	env, err := NewEnv(Var{Name: "venomous", Type: Bool}, Var{Name: "stage", Type: String})
	if err != nil {
		panic(err)
	}
	s, err := env.Compile(`venomous && stage in ["lead", "keeper"]`)
	if err != nil {
		panic(err)
	}
	fmt.Println(s.Eval(subject{"venomous": true, "stage": "lead"}))
	fmt.Println(s.Eval(subject{"venomous": false}))
	fmt.Println(s.Eval(subject{"venomous": true}))
	// Output:
	// yes []
	// no []
	// unknown [stage]
}
