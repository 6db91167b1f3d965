package opabench

import (
	"context"
	"errors"
	"fmt"

	"github.com/open-policy-agent/opa/v1/ast"
	"github.com/open-policy-agent/opa/v1/rego"
	"github.com/open-policy-agent/opa/v1/storage/inmem"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// Answers are the standings that rules give subjects: by rule's id, then by
// subject's identifier. Not applicable is left out.
type Answers map[string]map[string]compliance.Standing

func (a Answers) add(rule, subject string, is compliance.Standing) {
	if is == compliance.NotApplicable {
		return
	}
	if a[rule] == nil {
		a[rule] = map[string]compliance.Standing{}
	}
	a[rule][subject] = is
}

// Engine asks one question of data in memory, prepared once.
type Engine struct {
	query    rego.PreparedEvalQuery
	subjects []subject // to be asked for one after another; empty: all at once
	today    day.Day
}

// Way is a way to ask.
type Way struct {
	OneByOne bool // a query for each subject, in place of one for all
	Partial  bool // after partial evaluation of what the input does not decide
}

// String says how it is asked.
func (w Way) String() string {
	out := "all at once"
	if w.OneByOne {
		out = "one by one"
	}
	if w.Partial {
		out += " after partial evaluation"
	}
	return out
}

// Prepare compiles rules, and puts data where they are read fastest: in the
// store in memory, as the values that evaluation works with (documentation of
// the library, page Policy Performance, section Storage Optimization, read).
func Prepare(ctx context.Context, way Way, rules string, data object, today day.Day) (*Engine, error) {
	e := &Engine{today: today}
	query := "data.watch.answers"
	if way.OneByOne {
		query, e.subjects = "data.watch.one", subjectsIn(data)
	}
	store := inmem.NewFromObjectWithOpts(data, inmem.OptReturnASTValuesOnRead(true))
	r := rego.New(rego.Query(query), rego.Module("rules.rego", rules), rego.Store(store),
		// Answers are left as the evaluation's own values, which saves making others.
		rego.GenerateJSON(func(t *ast.Term, _ *rego.EvalContext) (any, error) { return t.Value, nil }))
	var options []rego.PrepareOption
	if way.Partial {
		options = append(options, rego.WithPartialEval())
	}
	var err error
	if e.query, err = r.PrepareForEval(ctx, options...); err != nil {
		return nil, fmt.Errorf("prepare the rules: %w", err)
	}
	return e, nil
}

// subject is what one query asks about.
type subject struct{ kind, id string }

func subjectsIn(data object) (all []subject) {
	for kind, table := range map[string]string{"animal": "animals", "site": "sites", "place": "places", "person": "people"} {
		records, _ := data[table].(object)
		for id := range records {
			all = append(all, subject{kind, id})
		}
	}
	sites, _ := data["animals_at"].(object)
	for site, held := range sites {
		species, _ := held.(object)
		for id := range species {
			all = append(all, subject{"holding", id + "@" + site})
		}
	}
	return all
}

// Ask asks about all subjects and gives what the library answers.
func (e *Engine) Ask(ctx context.Context) ([]ast.Value, error) {
	today := ast.IntNumberTerm(int(e.today))
	if len(e.subjects) == 0 {
		out, err := e.one(ctx, [2]*ast.Term{ast.StringTerm("today"), today})
		return []ast.Value{out}, err
	}
	all := make([]ast.Value, 0, len(e.subjects))
	for _, s := range e.subjects {
		out, err := e.one(ctx, [2]*ast.Term{ast.StringTerm("today"), today}, [2]*ast.Term{ast.StringTerm("kind"), ast.StringTerm(s.kind)}, [2]*ast.Term{ast.StringTerm("id"), ast.StringTerm(s.id)})
		if err != nil {
			return nil, err
		}
		all = append(all, out)
	}
	return all, nil
}

func (e *Engine) one(ctx context.Context, input ...[2]*ast.Term) (ast.Value, error) {
	found, err := e.query.Eval(ctx, rego.EvalParsedInput(ast.NewObject(input...)))
	if err != nil {
		return nil, fmt.Errorf("ask the rules: %w", err)
	}
	if len(found) != 1 || len(found[0].Expressions) != 1 {
		return nil, errors.New("ask the rules: not one answer came")
	}
	v, ok := found[0].Expressions[0].Value.(ast.Value)
	if !ok {
		return nil, fmt.Errorf("ask the rules: the answer is a %T", found[0].Expressions[0].Value)
	}
	return v, nil
}

// Read gives the library's answers in the watch's words.
func (e *Engine) Read(values []ast.Value) (Answers, error) {
	out := Answers{}
	for i, v := range values {
		rules, ok := v.(ast.Object)
		if !ok {
			return nil, fmt.Errorf("read the answers: %v is no object", v)
		}
		err := rules.Iter(func(rule, found *ast.Term) error {
			id := string(rule.Value.(ast.String))
			if len(e.subjects) > 0 {
				return read(out, id, e.subjects[i].id, found)
			}
			bySubject, ok := found.Value.(ast.Object)
			if !ok {
				return fmt.Errorf("read the answers of %s: %v is no object", id, found)
			}
			return bySubject.Iter(func(subject, is *ast.Term) error {
				return read(out, id, string(subject.Value.(ast.String)), is)
			})
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

func read(out Answers, rule, subject string, is *ast.Term) error {
	n, ok := is.Value.(ast.Number)
	standing, whole := n.Int()
	if !ok || !whole || standing < 0 || standing > int(compliance.OutOfOrder) {
		return fmt.Errorf("read the answer of %s for %s: %v is no standing", rule, subject, is)
	}
	out.add(rule, subject, compliance.Standing(standing))
	return nil
}

// Watch gives the watch's own answers for the same day, rule by rule. That an
// animal is not here yet, so that somebody is told of a prohibition ahead, is
// no answer about the day.
func Watch(r *compliance.Report, rules *compliance.Rulebook, today day.Day) Answers {
	asked := map[string]bool{}
	for _, rule := range rules.Rules {
		asked[rule.ID] = true
	}
	out := Answers{}
	for _, j := range r.Judgements {
		subject := j.Key.Subject.ID.String()
		if j.Key.Subject.At != [16]byte{} {
			subject += "@" + j.Key.Subject.At.String()
		}
		for _, rl := range j.Rules {
			if is := rl.Line.At(today); asked[rl.Rule.ID] && is.State != compliance.NotHereYet {
				out.add(rl.Rule.ID, subject, is.Standing)
			}
		}
	}
	return out
}
