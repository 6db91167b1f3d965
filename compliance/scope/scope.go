package scope

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
)

// Scope is a compiled expression. The zero value applies to everything. It is
// safe for concurrent use.
type Scope struct {
	expr     string
	program  cel.Program // nil applies to everything
	reads    []string    // sorted; types and unknowns go with it
	types    []Type
	unknowns []*cel.AttributePatternType
}

// String gives the expression as it was written.
func (s *Scope) String() string { return s.expr }

// Reads gives the sorted names of the attributes that the expression refers
// to. Subjects that agree in them get the same answer.
func (s *Scope) Reads() []string { return slices.Clone(s.reads) }

// Eval answers for one subject, with the sorted names of the unknown
// attributes that matter. Names come only with Unknown; Unknown without names
// means that answering failed, and Ask says why.
func (s *Scope) Eval(attrs Attributes) (Truth, []string) {
	a := s.Ask(attrs)
	return a.Truth, a.Missing
}

// Ask is Eval with the reason where answering failed, or where a missing
// attribute is there and holds the wrong type of value.
func (s *Scope) Ask(attrs Attributes) Answer {
	if s.program == nil {
		return Answer{Truth: Yes}
	}
	in := s.bind(attrs)
	out, _, err := s.program.Eval(in.vars())
	switch v := out.(type) {
	case types.Bool:
		if err != nil {
			break
		}
		if v {
			return Answer{Truth: Yes}
		}
		return Answer{Truth: No}
	case *types.Unknown:
		return in.lacking(v)
	}
	if err == nil {
		err = fmt.Errorf("it gave %v", out)
	}
	return Answer{Err: fmt.Errorf("answer scope %q: %w", s.expr, err)}
}

// binding is the attributes of one subject, as CEL asks for them.
type binding struct {
	names    []string
	values   []ref.Val
	unknowns []*cel.AttributePatternType
	wrong    map[string]error // attributes that hold the wrong type of value
}

func (s *Scope) bind(attrs Attributes) *binding {
	b := &binding{names: s.reads, values: make([]ref.Val, len(s.reads))}
	for i, name := range s.reads {
		value, known := attrs.Attribute(name)
		if known {
			b.values[i] = s.types[i].adapt(value)
		}
		if b.values[i] != nil {
			continue
		}
		b.unknowns = append(b.unknowns, s.unknowns[i])
		if known {
			if b.wrong == nil {
				b.wrong = map[string]error{}
			}
			b.wrong[name] = fmt.Errorf("attribute %q is %T; %v is required", name, value, s.types[i])
		}
	}
	return b
}

// adapt gives CEL's form of a value, or nil if it is not of the type. CEL
// compares values of different types as unequal, which would turn a slip of
// the program into a definite answer, so they do not get that far.
func (t Type) adapt(value any) ref.Val {
	switch v := value.(type) {
	case string:
		if t == String {
			return types.String(v)
		}
	case bool:
		if t == Bool {
			return types.Bool(v)
		}
	case int:
		if t == Int {
			return types.Int(v)
		}
	case int64:
		if t == Int {
			return types.Int(v)
		}
	case []string:
		if t == StringList {
			return types.NewStringList(types.DefaultTypeAdapter, v)
		}
	}
	return nil
}

// vars gives the binding to CEL, with patterns for what is unknown.
func (b *binding) vars() cel.Activation {
	if len(b.unknowns) == 0 {
		return b
	}
	partial, err := cel.PartialVars(b, b.unknowns...)
	if err != nil {
		// Fails only for bindings that are no Activation. Without the patterns,
		// an unknown attribute is not found and answering fails.
		return b
	}
	return partial
}

// ResolveName implements cel.Activation.
func (b *binding) ResolveName(name string) (any, bool) {
	i, found := slices.BinarySearch(b.names, name)
	if !found || b.values[i] == nil {
		return nil, false
	}
	return b.values[i], true
}

// Parent implements cel.Activation.
func (b *binding) Parent() cel.Activation { return nil }

// lacking names the attributes that left the answer open.
func (b *binding) lacking(u *types.Unknown) Answer {
	names := map[string]bool{}
	for _, id := range u.IDs() {
		trails, _ := u.GetAttributeTrails(id)
		for _, t := range trails {
			names[t.Variable()] = true
		}
	}
	a := Answer{Missing: slices.Sorted(maps.Keys(names))}
	var reasons []error
	for _, name := range a.Missing {
		if err := b.wrong[name]; err != nil {
			reasons = append(reasons, err)
		}
	}
	a.Err = errors.Join(reasons...)
	return a
}
