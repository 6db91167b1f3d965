package opabench

import (
	"fmt"
	"strconv"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/operators"
)

// attributes says where the Rego finds what a scope reads, of a site, a species
// and what is the subject's own.
var attributes = map[string]string{
	"jurisdiction": "data.sites[site].path",
	"site_use":     "data.sites[site].use",
	"species":      "data.species[species].accepted",
	"genus":        "data.species[species].genus",
	"family":       "data.species[species].family",
	"venomous":     "data.species[species].venomous",
	"native":       "native(site, species)",
	"captive_bred": "own.captive_bred",
	"roles":        "own.roles",
}

// ways are the bodies under which a scope is true, and those under which it is
// false; an attribute that is not known is undefined and so fails in either.
// Where none of them holds it is unknown.
type ways struct{ yes, no []string }

// scopes writes each scope once, as a function of site, species and what is
// the subject's own: 0 no, 1 unknown, 2 yes.
type scopes struct {
	env   *cel.Env
	names map[string]string // by expression
	out   strings.Builder
	vars  int
}

func newScopes() (*scopes, error) {
	env, err := cel.NewCustomEnv()
	if err != nil {
		return nil, fmt.Errorf("set up the reader of scopes: %w", err)
	}
	return &scopes{env: env, names: map[string]string{}}, nil
}

// name gives the function's name for an expression.
func (s *scopes) name(expr string) (string, error) {
	if name, known := s.names[expr]; known {
		return name, nil
	}
	name := fmt.Sprintf("scope_%d", len(s.names)+1)
	s.names[expr] = name
	if strings.TrimSpace(expr) == "" {
		fmt.Fprintf(&s.out, "\n%s(_, _, _) := 2\n", name)
		return name, nil
	}
	parsed, issues := s.env.Parse(expr)
	if issues.Err() != nil {
		return "", fmt.Errorf("read scope %q: %w", expr, issues.Err())
	}
	w, err := s.of(parsed.NativeRep().Expr())
	if err != nil {
		return "", fmt.Errorf("write scope %q in Rego: %w", expr, err)
	}
	fmt.Fprintf(&s.out, "\n# %s\ndefault %s(_, _, _) := 1\n", expr, name)
	for _, body := range w.yes {
		fmt.Fprintf(&s.out, "\n%s(site, species, own) := 2 if {\n\t%s\n}\n", name, body)
	}
	for _, body := range w.no {
		fmt.Fprintf(&s.out, "\n%s(site, species, own) := 0 if {\n\t%s\n}\n", name, body)
	}
	return name, nil
}

func (s *scopes) of(e ast.Expr) (ways, error) {
	if e.Kind() == ast.IdentKind {
		attr, err := attribute(e)
		return ways{yes: []string{attr + " == true"}, no: []string{attr + " == false"}}, err
	}
	if e.Kind() != ast.CallKind {
		return ways{}, fmt.Errorf("an expression of kind %d is not told of", e.Kind())
	}
	call := e.AsCall()
	switch call.FunctionName() {
	case operators.LogicalNot:
		w, err := s.of(call.Args()[0])
		return ways{w.no, w.yes}, err
	case operators.LogicalAnd, operators.LogicalOr:
		a, err := s.of(call.Args()[0])
		if err != nil {
			return ways{}, err
		}
		b, err := s.of(call.Args()[1])
		if call.FunctionName() == operators.LogicalAnd {
			return ways{both(a.yes, b.yes), append(a.no, b.no...)}, err
		}
		return ways{append(a.yes, b.yes...), both(a.no, b.no)}, err
	case operators.NotEquals:
		w, err := s.relation(call)
		return ways{w.no, w.yes}, err
	default:
		return s.relation(call)
	}
}

// both joins each body of the one with each of the other.
func both(a, b []string) (all []string) {
	for _, x := range a {
		for _, y := range b {
			all = append(all, x+"\n\t"+y)
		}
	}
	return all
}

// relation compares an attribute with texts.
func (s *scopes) relation(call ast.CallExpr) (ways, error) {
	args := call.Args()
	if call.IsMemberFunction() {
		args = append([]ast.Expr{call.Target()}, args...)
	}
	if len(args) == 2 && args[0].Kind() == ast.LiteralKind { // a text in an attribute that is a list
		args[0], args[1] = args[1], args[0]
	}
	attr, err := attribute(args[0])
	if err != nil {
		return ways{}, err
	}
	texts, err := constants(args[1])
	if err != nil {
		return ways{}, err
	}
	s.vars++
	v := fmt.Sprintf("v%d", s.vars)
	is := ""
	switch call.FunctionName() {
	case operators.Equals, operators.NotEquals:
		return ways{yes: []string{attr + " == " + texts}, no: []string{attr + " != " + texts}}, nil
	case operators.In:
		is = v + " in " + texts
		if args[1].Kind() == ast.LiteralKind {
			is = texts + " in " + v
		}
	case "startsWith":
		is = "startswith(" + v + ", " + texts + ")"
	default:
		return ways{}, fmt.Errorf("%s is not told of", call.FunctionName())
	}
	known := v + " := " + attr + "\n\t"
	return ways{yes: []string{known + is}, no: []string{known + "not " + is}}, nil
}

func attribute(e ast.Expr) (string, error) {
	if e.Kind() != ast.IdentKind || attributes[e.AsIdent()] == "" {
		return "", fmt.Errorf("an attribute that is told of must stand where expression %d is", e.ID())
	}
	return attributes[e.AsIdent()], nil
}

// constants gives a text, or a set of texts.
func constants(e ast.Expr) (string, error) {
	switch e.Kind() {
	case ast.LiteralKind:
		if s, ok := e.AsLiteral().Value().(string); ok {
			return strconv.Quote(s), nil
		}
	case ast.ListKind:
		var all []string
		for _, item := range e.AsList().Elements() {
			one, err := constants(item)
			if err != nil {
				return "", err
			}
			all = append(all, one)
		}
		return "{" + strings.Join(all, ", ") + "}", nil
	}
	return "", fmt.Errorf("a text or texts must stand where expression %d is", e.ID())
}
