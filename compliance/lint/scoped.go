package lint

import (
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/scope"
	"antidotary/compliance/written"
	"antidotary/inventory"
)

// mostTried bounds how many combinations of values a scope is asked about;
// what reads more is not judged by itself.
const mostTried = 50000

// expression is one that a rule asks of a kind of subject.
type expression struct {
	*scope.Scope
	of   inventory.Kind
	rule *rule
}

// scoped looks at each expression of a rule by itself: is there any subject
// that could ever be meant, and any that could not?
func (l *linter) scoped(r *rule) {
	for _, f := range r.text.Fields {
		e, ok := r.expression(f)
		if !ok {
			continue
		}
		some, all, tried := l.try(e)
		switch {
		case !tried:
		case !some:
			l.mistake(r, f.Path, "is true of nothing: no %s could ever be meant%s", e.of, l.impossible(e))
		case all:
			l.mistake(r, f.Path, "is true of everything: leave it out, or say which are meant")
		}
	}
}

// expression gives what a field asks, where it holds an expression that is not
// blank: the scope of the rule, of what it lifts and of its exemptions, and
// which animals a limit counts.
func (r *rule) expression(f written.Field) (e expression, ok bool) {
	switch {
	case f.Path == "scope", strings.HasPrefix(f.Path, "exempts[") && strings.HasSuffix(f.Path, "].when"), strings.HasPrefix(f.Path, "preempts[") && strings.HasSuffix(f.Path, "].when"):
		e.of = r.Subject
	case strings.HasPrefix(f.Path, "params.unless[") && strings.HasSuffix(f.Path, "].scope"):
		e.of = inventory.KindAnimal
	case f.Path == "params.of" && r.kind == "limit":
		e.of = inventory.KindHolding
	default:
		return e, false
	}
	env, err := scope.NewEnv(compliance.ScopeVars(e.of)...)
	if err != nil || strings.TrimSpace(f.Value) == "" {
		return e, false
	}
	e.rule = r
	e.Scope, err = env.Compile(f.Value)
	return e, err == nil // the strict reader tells what is none
}

// values are what one attribute can be, tried together with others.
type values struct {
	names []string
	rows  [][]any
}

func (l *linter) try(e expression) (some, all, tried bool) {
	domain, ok := l.domain(e)
	if !ok {
		return false, false, false
	}
	at := make([]int, len(domain))
	all = true
	for {
		b := make(bound)
		for i, v := range domain {
			for k, name := range v.names {
				b[name] = v.rows[at[i]][k]
			}
		}
		switch truth, _ := e.Eval(b); truth {
		case scope.Yes:
			some = true
		case scope.No:
			all = false
		case scope.Unknown:
			return false, false, false
		}
		if some && !all || !advance(at, domain) {
			return some, all, true
		}
	}
}

func advance(at []int, domain []values) bool {
	for i := range at {
		if at[i]++; at[i] < len(domain[i].rows) {
			return true
		}
		at[i] = 0
	}
	return false
}

type bound map[string]any

// Attribute implements scope.Attributes.
func (b bound) Attribute(name string) (any, bool) { v, ok := b[name]; return v, ok }

// domain gives the values that matter of each attribute that a scope reads.
// What is text without a list of its own is tried as each text of the
// expression and as another one.
func (l *linter) domain(e expression) (domain []values, ok bool) {
	texts := append(literals(e.String()), "another")
	size := 1
	reads := e.Reads()
	taxon := false
	for _, v := range compliance.ScopeVars(e.of) {
		if !contains(reads, v.Name) {
			continue
		}
		var d values
		switch {
		case v.Name == "species" || v.Name == "genus" || v.Name == "family":
			if taxon {
				continue
			}
			taxon, d = true, taxa(texts)
		case v.Name == "site_use":
			d = single(v.Name, uses)
		case v.Name == "topic":
			d = single(v.Name, words(compliance.Topics))
		case v.Name == "jurisdiction":
			d = single(v.Name, l.areas(e.rule, texts))
		case v.Type == scope.Bool:
			d = values{[]string{v.Name}, [][]any{{false}, {true}}}
		case v.Name == "roles":
			d = sets(v.Name, words(compliance.Roles), texts)
		case v.Type == scope.String:
			d = single(v.Name, texts)
		default:
			return nil, false
		}
		domain = append(domain, d)
		if size *= len(d.rows); size > mostTried || len(d.rows) == 0 {
			return nil, false
		}
	}
	return domain, true
}

func contains(list []string, word string) bool {
	for _, w := range list {
		if w == word {
			return true
		}
	}
	return false
}

func words[T ~string](list []T) (all []string) {
	for _, w := range list {
		all = append(all, string(w))
	}
	return all
}

func single(name string, texts []string) values {
	d := values{names: []string{name}}
	for _, text := range texts {
		d.rows = append(d.rows, []any{text})
	}
	return d
}

// sets are none, each alone, and each two of those that the expression names.
func sets(name string, all, texts []string) values {
	d := values{names: []string{name}, rows: [][]any{{[]string{}}, {all}}}
	for i, a := range all {
		d.rows = append(d.rows, []any{[]string{a}})
		for _, b := range all[:i] {
			if contains(texts, a) && contains(texts, b) {
				d.rows = append(d.rows, []any{[]string{b, a}})
			}
		}
	}
	return d
}

// areas are the law's own place and each place below it that the expression
// names: it is asked of no other.
func (l *linter) areas(r *rule, texts []string) (all []string) {
	for _, text := range texts {
		if r.Area == "" || text == r.Area || strings.HasPrefix(text, r.Area+"/") {
			all = append(all, text)
		}
	}
	if r.Area != "" {
		all = append(all, r.Area, r.Area+"/another")
	}
	return all
}

// taxa are species with their genus and family: as each text of the
// expression, and another.
func taxa(texts []string) values {
	d := values{names: []string{"species", "genus", "family"}}
	for _, text := range texts {
		genus, _, full := strings.Cut(text, " ")
		for _, family := range texts {
			if full {
				d.rows = append(d.rows, []any{text, genus, family})
			}
			d.rows = append(d.rows, []any{text + " another", text, family})
		}
	}
	return d
}

// impossible names the texts of a scope that are no value of what is compared
// with fixed words, with the nearest one.
func (l *linter) impossible(e expression) (text string) {
	var fixed []string
	for _, name := range e.Reads() {
		switch name {
		case "site_use":
			fixed = append(fixed, uses...)
		case "roles":
			fixed = append(fixed, words(compliance.Roles)...)
		case "topic":
			fixed = append(fixed, words(compliance.Topics)...)
		case "jurisdiction":
			if area := e.rule.Area; area != "" {
				text += "; it is asked only within " + area
			}
		}
	}
	for _, word := range literals(e.String()) {
		if len(fixed) > 0 && !contains(fixed, word) {
			text += "; " + strings.Join([]string{`"` + word + `" is none of`, strings.Join(fixed, ", ")}, " ") + l.near(word, fixed)
		}
	}
	return text
}
