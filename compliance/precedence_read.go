package compliance

import (
	"strings"

	"antidotary/compliance/scope"
	"antidotary/compliance/strict"
	"antidotary/inventory"
)

// readExemptions reads the ways out that a rule itself names.
func readExemptions(m *strict.Map) (out []Exemption) {
	seen := make(map[string]bool)
	for _, em := range m.OptMaps("exemptions") {
		e := Exemption{Name: readWord(em, "name"), Citation: readCitation(em)}
		if seen[e.Name] {
			em.Fail("name", "%q is named twice", e.Name)
		}
		seen[e.Name] = true
		out = append(out, e)
	}
	return out
}

// readLifts reads which other rules a rule lifts.
func readLifts(m *strict.Map, r *Rule) (out []*Lift) {
	for _, how := range []LiftKind{Exempts, Preempts} {
		for _, lm := range m.OptMaps(string(how)) {
			l := &Lift{By: r, Of: readWord(lm, "rule"), How: how, Where: lm.Pos("rule"), field: lm.Path() + ".rule"}
			if how == Exempts {
				l.Exemption = readWord(lm, "exemption")
			}
			l.Scope = readCondition(lm, r)
			l.InOrder = lm.OptBool("while_in_order", false)
			l.Citation = readCitation(lm)
			if r.Layer != Law {
				lm.Fail("rule", "only a law lifts a law, and this pack is %s; to ask less of your house, change your own rule", r.Layer)
			}
			out = append(out, l)
		}
	}
	return out
}

func readCitation(m *strict.Map) (out Citation) {
	c := m.Map("citation")
	out.Text = c.String("text")
	out.ReadOn = c.OptDay("read_on")
	out.Certainty = inventory.Certainty(c.Enum("certainty",
		string(inventory.Read), string(inventory.Secondary), string(inventory.Memory), string(inventory.Derived)))
	return out
}

// readCondition reads when a rule lifts another: where its own scope holds,
// and what follows "when" as well.
func readCondition(m *strict.Map, r *Rule) *scope.Scope {
	when := m.OptString("when")
	env, ok := scopeEnvs()[r.Subject]
	if !ok || strings.TrimSpace(when) == "" {
		return r.Scope
	}
	alone, err := env.Compile(when)
	if err != nil {
		m.Fail("when", "%v", err)
		return r.Scope
	}
	own := r.Scope.String()
	if strings.TrimSpace(own) == "" {
		return alone
	}
	both, err := env.Compile("(" + own + "\n) && (" + when + "\n)") // the new lines end comments
	if err != nil {
		m.Fail("when", "cannot be joined with the rule's own scope: %v", err)
		return r.Scope
	}
	return both
}
