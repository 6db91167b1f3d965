package opabench

import (
	"bytes"
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"antidotary/inventory/day"
)

//go:embed watch.rego
var shared string

// pack and rule are a rule pack as far as it can be said in Rego; a key that is
// not among them is refused.
type pack struct {
	Format             int
	Pack, Title, Layer string
	Jurisdiction       string
	Edition            string
	ReadOn             string `yaml:"read_on"`
	ReviewBy           string `yaml:"review_by"`
	Rules              []rule
}

type rule struct {
	ID, Requirement, Title, Consequence, Severity, Owner string
	Subject, Scope, Kind                                 string
	Citation                                             map[string]string
	Params                                               params

	area string
}

type params struct {
	paper    `yaml:",inline"`
	Activity string
	Every    day.Span
	// Certificate: its own last good day counts as well.
	Certificate bool
	Habitual    bool // says nothing of today
	Most        int
	Count, Of   string
	Unless      []wayOut
}

type paper struct {
	Class   string
	Match   []string
	Renewal struct {
		Lead   day.Span
		Counts string
	}
	Pending struct{ Means, Citation string }
}

type wayOut struct {
	Citation, Scope string
	Paper           *paper
}

// Rego writes the rules of packs, given by file, as one module.
func Rego(files map[string]string) (string, error) {
	s, err := newScopes()
	if err != nil {
		return "", err
	}
	w := &writer{scopes: s}
	for _, file := range slices.Sorted(maps.Keys(files)) {
		var p pack
		d := yaml.NewDecoder(bytes.NewBufferString(files[file]))
		d.KnownFields(true)
		if err := d.Decode(&p); err != nil {
			return "", fmt.Errorf("read %s: %w", file, err)
		}
		for _, r := range p.Rules {
			r.area = p.Jurisdiction
			if err := w.rule(&r); err != nil {
				return "", fmt.Errorf("write %s in Rego: %w", r.ID, err)
			}
		}
	}
	return shared + w.out.String() + w.scopes.out.String(), nil
}

type writer struct {
	scopes *scopes
	out    strings.Builder
	rules  int
}

// subjects says of each kind of subject which function gives those under a
// law, how one is found by its identifier, and with what a scope is asked.
var subjects = map[string]struct{ under, one, asked string }{
	"animal":  {"held_in", "held(input.id)", `(h.site, h.species, h.own)`},
	"site":    {"each_site_in", "each_site(input.id)", `(h.site, "", {})`},
	"place":   {"places_in", "data.places[input.id]", `(h.site, "", {})`},
	"person":  {"people_in", "here(input.id)", `(h.site, "", {"roles": roles(h)})`},
	"holding": {"holdings_in", "held_holding(input.id)", `(h.site, h.species, {})`},
}

// rule writes one rule: its judgement of one subject, which is undefined where
// the rule does not apply, and its part in the answers for all and for one.
func (w *writer) rule(r *rule) error {
	of, ok := subjects[r.Subject]
	if !ok {
		return fmt.Errorf("subject %s is not told of", r.Subject)
	}
	scope, err := w.scopes.name(r.Scope)
	if err != nil {
		return err
	}
	body, err := w.standing(r)
	if err != nil {
		return err
	}
	w.rules++
	id, area := strconv.Quote(r.ID), strconv.Quote(r.area)
	fmt.Fprintf(&w.out, `
judge_%[1]d(id, h) := settle(s, is) if {
	is := %[2]s%[3]s
	is > 0
	%[4]s
}

answers[%[5]s] := {id: s |
	some id, h in %[6]s(%[7]s)
	s := judge_%[1]d(id, h)
}

one[%[5]s] := s if {
	input.kind == %[8]q
	h := %[9]s
	within(data.sites[h.site].path, %[7]s)
	s := judge_%[1]d(input.id, h)
}
`, w.rules, scope, of.asked, body, id, of.under, area, r.Subject, of.one)
	return nil
}

// standing writes what a kind of rule says of one subject.
func (w *writer) standing(r *rule) (string, error) {
	switch r.Kind {
	case "permit":
		k, err := paperOf(&r.Params.paper, r.Subject)
		find := map[string]string{"animal": "paper(%s, id, h)", "site": "site_paper(%s, id)", "person": "person_paper(%s, id)"}[r.Subject]
		return fmt.Sprintf(`s := listed("papers", h.site, `+find+`)`, k), err
	case "recurring":
		every, err := days(r.Params.Every)
		if every == "0" {
			every = "false"
		}
		return fmt.Sprintf(`s := listed("activities", h.site, done({"what": %q, "every": %s, "certificate": %t}, id))`, r.Params.Activity, every, r.Params.Certificate), err
	case "limit":
		return w.limit(r)
	case "prohibit":
		return w.prohibit(r)
	default:
		return "", fmt.Errorf("kind %s is not told of", r.Kind)
	}
}

func (w *writer) limit(r *rule) (string, error) {
	if r.Subject == "holding" {
		return fmt.Sprintf("n := held_at(h.site)[h.species]\n\ts := counted(h.site, most({\"most\": %d}, n, n))", r.Params.Most), nil
	}
	of, err := w.scopes.name(r.Params.Of)
	each := "n"
	if r.Params.Count == "species" {
		each = "1"
	}
	return fmt.Sprintf(`count_of := [[%s, one_is] |
		some species, n in held_at(id)
		n > 0
		one_is := %s(id, species, {})
		one_is > 0
	]
	sure := sum([x[0] | some x in count_of; x[1] == 2])
	perhaps := sum([x[0] | some x in count_of])
	s := counted(id, most({"most": %d}, sure, perhaps))`, each, of, r.Params.Most), err
}

func (w *writer) prohibit(r *rule) (string, error) {
	found := []string{"set()"}
	for _, u := range r.Params.Unless {
		scope, err := w.scopes.name(u.Scope)
		if err != nil {
			return "", err
		}
		standing := "1"
		if u.Paper != nil {
			k, err := paperOf(u.Paper, r.Subject)
			if err != nil {
				return "", err
			}
			standing = fmt.Sprintf(`listed("papers", h.site, paper(%s, id, h))`, k)
		}
		found = append(found, fmt.Sprintf("{e |\n\t\tout := %s(h.site, h.species, h.own)\n\t\tout > 0\n\t\te := exempt(out, %s)\n\t}", scope, standing))
	}
	return "s := unless(" + strings.Join(found, " | ") + ")", nil
}

// paperOf writes which papers are asked for, with what of them must fit.
func paperOf(p *paper, subject string) (string, error) {
	match := p.Match
	if match == nil {
		match = []string{"holder", "place", "taxon", "number"}
	}
	lead, err := days(p.Renewal.Lead)
	pending := p.Pending.Means
	if pending == "" {
		pending = "not-covered"
	}
	animal := subject == "animal"
	return fmt.Sprintf(`{"class": %q, "holder": %t, "place": %t, "taxon": %t, "number": %t, "lead": %s, "posting": %t, "pending": %q}`,
		p.Class, slices.Contains(match, "holder"), slices.Contains(match, "place"), animal && slices.Contains(match, "taxon"),
		animal && slices.Contains(match, "number"), lead, p.Renewal.Counts == "posting", pending), err
}

// days gives a span that is so many days alone.
func days(s day.Span) (string, error) {
	if s != (day.Span{Days: s.Days}) {
		return "", fmt.Errorf("%s is not a number of days: months need a calendar", s)
	}
	return strconv.Itoa(s.Days), nil
}
