package scope

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/operators"
	"cel.dev/cel-go/common/types"

	"antidotary/compliance/strict"
)

// Error is one mistake in an expression, at a line and column within it, both
// counted from 1.
type Error struct {
	Line, Column int
	Message      string // "what is wrong; what is allowed"
}

// Error gives "column C: message", with the line where it is not the first.
func (e *Error) Error() string {
	if e.Line > 1 {
		return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Message)
	}
	return fmt.Sprintf("column %d: %s", e.Column, e.Message)
}

// Errors are the mistakes of an expression, sorted by place.
type Errors []*Error

// Error joins the mistakes with semicolons.
func (e Errors) Error() string {
	parts := make([]string, len(e))
	for i, m := range e {
		parts[i] = m.Error()
	}
	return strings.Join(parts, "; ")
}

// Unwrap gives each mistake to errors.Is and errors.As.
func (e Errors) Unwrap() []error {
	all := make([]error, len(e))
	for i, m := range e {
		all[i] = m
	}
	return all
}

const calls = `allowed are == != < <= > >= in && || ! ?: and size(x), x.startsWith(y), x.endsWith(y), x.contains(y)`

// inspect walks an expression before CEL checks its types, tells whatever is
// outside the part of CEL that scopes have, and gives the sorted names that
// it reads. It does not look into what it refuses, where names mean other
// things (as in a macro).
func (e *Env) inspect(tree *ast.AST) (reads []string, mistakes Errors) {
	names := map[string]bool{}
	var walk func(ast.Expr)
	walk = func(n ast.Expr) {
		if wrong := e.outside(n); wrong != "" {
			line, column := place(tree, n)
			mistakes = append(mistakes, &Error{line, column, wrong})
			return
		}
		switch n.Kind() {
		case ast.IdentKind:
			names[n.AsIdent()] = true
		case ast.CallKind:
			for _, operand := range operands(n.AsCall()) {
				walk(operand)
			}
		case ast.ListKind:
			for _, item := range n.AsList().Elements() {
				walk(item)
			}
		}
	}
	walk(tree.Expr())
	slices.SortStableFunc(mistakes, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return slices.Sorted(maps.Keys(names)), mistakes
}

// operands gives what a call works on: the x of x.contains(y) comes first.
func operands(call ast.CallExpr) []ast.Expr {
	if call.IsMemberFunction() {
		return slices.Concat([]ast.Expr{call.Target()}, call.Args())
	}
	return call.Args()
}

// place gives line and column of a node, both from 1: of the operator of an
// operation, and of the name of a function, which CEL places at its bracket.
func place(tree *ast.AST, n ast.Expr) (line, column int) {
	at := tree.SourceInfo().GetStartLocation(n.ID())
	line, column = max(at.Line(), 1), max(at.Column(), 0)+1
	if n.Kind() == ast.CallKind {
		if name := n.AsCall().FunctionName(); varName.MatchString(strings.ToLower(name)) {
			column = max(column-len(name), 1)
		}
	}
	return line, column
}

// outside says why a node is not part of the language of scopes.
func (e *Env) outside(n ast.Expr) string {
	switch n.Kind() {
	case ast.IdentKind:
		if name := n.AsIdent(); e.types[name] == 0 {
			hint := ""
			if near := strict.Closest(name, slices.Sorted(maps.Keys(e.types))); near != "" {
				hint = fmt.Sprintf("did you mean %s? ", near)
			}
			return fmt.Sprintf("unknown name %q; %sknown names: %s; a text is written %[1]q, with its quotes", name, hint, e.names())
		}
	case ast.SelectKind:
		return fmt.Sprintf("%q is read with a dot; names have no parts, and known names are: %s", n.AsSelect().FieldName(), e.names())
	case ast.LiteralKind:
		switch n.AsLiteral().(type) {
		case types.String, types.Bool, types.Int:
		default:
			return "a value of a kind that scopes do not have; texts in quotes, whole numbers, true and false are allowed"
		}
	case ast.CallKind:
		if name := n.AsCall().FunctionName(); !slices.Contains(functions, name) {
			return fmt.Sprintf("%q cannot be used in a scope; %s", symbol(name), calls)
		}
	case ast.ListKind:
		if len(n.AsList().OptionalIndices()) > 0 {
			return "an optional item in a list; write the item out"
		}
	default:
		return "braces are not used in scopes; a list is written [a, b]"
	}
	return ""
}

func (e *Env) names() string {
	names := make([]string, len(e.vars))
	for i, v := range e.vars {
		names[i] = v.Name
	}
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

// symbol gives a function or operator as people write it.
func symbol(function string) string {
	switch function {
	case operators.Conditional:
		return "?:"
	case operators.Index, operators.OptIndex:
		return "[ ]"
	}
	if s, ok := operators.FindReverse(function); ok {
		return s
	}
	return function
}

// expecting is what the parser generator adds: all tokens that it would take.
var expecting = regexp.MustCompile(` expecting .*|^Syntax error: `)

// syntax tells the first place at which an expression cannot be read. What
// the parser says beyond it follows from the first.
func (e *Env) syntax(issues *cel.Issues) Errors {
	m := issues.Errors()[0]
	text := expecting.ReplaceAllString(strings.TrimSpace(m.Message), "")
	text = strings.ReplaceAll(text, "'<EOF>'", "the end of the expression")
	return Errors{{max(m.Location.Line(), 1), max(m.Location.Column(), 0) + 1,
		"cannot be read: " + text + "; check quotes, parentheses and operators (and is &&, or is ||, equal is ==)"}}
}

// mistyped tells which operands do not fit their operator, and which items
// their list. CEL reports the one at the operation, the other at the operand.
func (e *Env) mistyped(tree *ast.AST, issues *cel.Issues) Errors {
	nodes, above := map[int64]ast.Expr{}, map[int64]ast.Expr{}
	ast.PreOrderVisit(tree.Expr(), ast.NewExprVisitor(func(n ast.Expr) {
		nodes[n.ID()] = n
		switch n.Kind() {
		case ast.CallKind:
			for _, operand := range operands(n.AsCall()) {
				above[operand.ID()] = n
			}
		case ast.ListKind:
			for _, item := range n.AsList().Elements() {
				above[item.ID()] = n
			}
		}
	}))
	var all Errors
	for _, m := range issues.Errors() {
		n := nodes[m.ExprID]
		if up := above[m.ExprID]; up != nil && strings.HasPrefix(m.Message, "expected type") && up.Kind() == ast.CallKind {
			n = up
		} else if n == nil || strings.HasPrefix(m.Message, "expected type") {
			all = append(all, &Error{max(m.Location.Line(), 1), max(m.Location.Column(), 0) + 1,
				"does not fit the items before it; all items of a list are of one kind"})
			continue
		}
		line, column := place(tree, n)
		text := m.Message
		if n.Kind() == ast.CallKind {
			text = e.misfit(n.AsCall())
		}
		all = append(all, &Error{line, column, text})
	}
	return all
}

// misfit describes a call whose operands do not fit.
func (e *Env) misfit(call ast.CallExpr) string {
	var kinds []string
	for _, n := range operands(call) {
		kinds = append(kinds, e.kind(n))
	}
	given := "nothing"
	if len(kinds) > 0 {
		given = strings.Join(kinds, " and ")
	}
	return fmt.Sprintf("%q cannot be used with %s; %s", symbol(call.FunctionName()), given, fits(call.FunctionName()))
}

// fits says what a function is for.
func fits(function string) string {
	switch function {
	case operators.LogicalAnd, operators.LogicalOr, operators.LogicalNot:
		return "it joins what is true or false"
	case operators.Conditional:
		return "it is written condition ? a : b, with a and b of one kind"
	case operators.In:
		return "it is written item in list"
	case "size":
		return "it is written size(x) for a text or list"
	case "startsWith", "endsWith", "contains":
		return "it is written x." + function + "(y) for two texts"
	}
	return "both sides are of one kind"
}

// kind names what an expression gives, as far as can be told without types.
func (e *Env) kind(n ast.Expr) string {
	switch n.Kind() {
	case ast.IdentKind:
		return fmt.Sprintf("%s (%v)", n.AsIdent(), e.types[n.AsIdent()])
	case ast.ListKind:
		return "a list"
	case ast.LiteralKind:
		switch n.AsLiteral().(type) {
		case types.String:
			return String.String()
		case types.Int:
			return Int.String()
		}
	case ast.CallKind:
		switch c := n.AsCall(); c.FunctionName() {
		case "size":
			return Int.String()
		case operators.Conditional:
			return e.kind(c.Args()[1])
		}
	}
	return Bool.String()
}
