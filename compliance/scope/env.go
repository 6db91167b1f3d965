package scope

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/env"
	"cel.dev/cel-go/common/operators"
)

// MaxLength is the length of the longest expression, in characters. It keeps
// an answer cheap; a scope that needs more is several rules. (Common
// practice, no source.)
const MaxLength = 2000

// maxNesting is the number of parentheses, lists and negations within one
// another that the parser follows. (Common practice, no source.)
const maxNesting = 50

// Type is what an attribute holds.
type Type uint8

// The types of attributes.
const (
	String     Type = iota + 1 // Go string
	Bool                       // Go bool
	Int                        // Go int or int64
	StringList                 // Go []string
)

// String names the type in the words of error messages.
func (t Type) String() string {
	switch t {
	case String:
		return "a text"
	case Bool:
		return "true or false"
	case Int:
		return "a whole number"
	case StringList:
		return "a list of texts"
	}
	return "no type"
}

func (t Type) cel() *cel.Type {
	switch t {
	case String:
		return cel.StringType
	case Bool:
		return cel.BoolType
	case Int:
		return cel.IntType
	}
	return cel.ListType(cel.StringType)
}

// Var declares an attribute that scopes may name.
type Var struct {
	Name string // lower-case letters, digits and underscores, beginning with a letter
	Type Type
	Doc  string // one sentence for whoever writes rules
}

// Env knows the attributes that scopes may name. It is safe for concurrent use.
type Env struct {
	vars  []Var // sorted by name
	types map[string]Type
	cel   *cel.Env
}

// functions are all that an expression may call, by CEL's names.
var functions = []string{
	operators.LogicalAnd, operators.LogicalOr, operators.LogicalNot, operators.Conditional,
	operators.Equals, operators.NotEquals,
	operators.Less, operators.LessEquals, operators.Greater, operators.GreaterEquals,
	operators.In, "size", "startsWith", "endsWith", "contains",
}

var (
	varName  = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)
	reserved = strings.Fields(`as break const continue else false for function if import in let loop
		namespace null package return true var void while`)  // CEL language definition, section Syntax (read)
)

// NewEnv declares the attributes. It fails on a name that CEL could not read,
// on one declared twice and on an unknown type.
func NewEnv(vars ...Var) (*Env, error) {
	e := &Env{vars: slices.Clone(vars), types: map[string]Type{}}
	slices.SortFunc(e.vars, func(a, b Var) int { return strings.Compare(a.Name, b.Name) })
	var subset env.LibrarySubset
	for _, name := range functions {
		subset.AddIncludedFunctions(env.NewFunction(name))
	}
	options := []cel.EnvOption{
		cel.StdLib(cel.StdLibSubset(&subset)),
		cel.ClearMacros(),
		cel.HomogeneousAggregateLiterals(),
		cel.ParserRecursionLimit(maxNesting),
		cel.ParserErrorRecoveryLimit(1),
		cel.ParserExpressionSizeLimit(MaxLength),
	}
	for _, v := range e.vars {
		switch {
		case !varName.MatchString(v.Name) || slices.Contains(reserved, v.Name):
			return nil, fmt.Errorf("declare attribute %q: a name is lower-case letters, digits and underscores, and no word that CEL reserves", v.Name)
		case e.types[v.Name] != 0:
			return nil, fmt.Errorf("declare attribute %q: it is declared twice", v.Name)
		case v.Type < String || v.Type > StringList:
			return nil, fmt.Errorf("declare attribute %q: it has no type", v.Name)
		}
		e.types[v.Name] = v.Type
		options = append(options, cel.Variable(v.Name, v.Type.cel()))
	}
	var err error
	if e.cel, err = cel.NewCustomEnv(options...); err != nil {
		return nil, fmt.Errorf("set up scopes: %w", err)
	}
	return e, nil
}

// Vars gives the declared attributes, sorted by name.
func (e *Env) Vars() []Var { return slices.Clone(e.vars) }

// Compile reads an expression. A blank one applies to everything. Its error
// is an Errors with the place of each mistake within the expression.
func (e *Env) Compile(expr string) (*Scope, error) {
	if strings.TrimSpace(expr) == "" {
		return &Scope{expr: expr}, nil
	}
	if n := utf8.RuneCountInString(expr); n > MaxLength {
		return nil, Errors{{Line: 1, Column: 1, Message: fmt.Sprintf("is %d characters long; at most %d are allowed, so make it several rules", n, MaxLength)}}
	}
	parsed, issues := e.cel.Parse(expr)
	if issues.Err() != nil {
		return nil, e.syntax(issues)
	}
	tree := parsed.NativeRep()
	reads, mistakes := e.inspect(tree)
	if len(mistakes) > 0 {
		return nil, mistakes
	}
	checked, issues := e.cel.Check(parsed)
	if issues.Err() != nil {
		return nil, e.mistyped(tree, issues)
	}
	if out := checked.OutputType(); !out.IsExactType(cel.BoolType) {
		return nil, Errors{{Line: 1, Column: 1, Message: "gives " + e.kind(tree.Expr()) + "; a scope gives true or false, so compare it with something"}}
	}
	return e.plan(expr, checked, reads)
}

// plan makes the expression ready to be asked.
func (e *Env) plan(expr string, checked *cel.Ast, reads []string) (*Scope, error) {
	program, err := e.cel.Program(checked, cel.EvalOptions(cel.OptOptimize, cel.OptPartialEval))
	if err != nil {
		return nil, Errors{{Line: 1, Column: 1, Message: fmt.Sprintf("cannot be planned: %v", err)}}
	}
	s := &Scope{expr: expr, program: program, reads: reads}
	for _, name := range reads {
		s.types = append(s.types, e.types[name])
		s.unknowns = append(s.unknowns, cel.AttributePattern(name))
	}
	return s, nil
}
