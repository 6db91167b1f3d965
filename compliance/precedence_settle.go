package compliance

import (
	"fmt"
	"slices"
	"strings"

	"antidotary/inventory"
)

// settleLifts finds the rules that others lift, refuses what precedence does
// not allow, and sorts the lifts so that whatever lifts a rule comes before
// what that rule lifts.
func (b *Rulebook) settleLifts(byID map[string]*Rule) (mistakes []error) {
	s := sorting{of: make(map[*Rule][]Lifted), state: make(map[*Rule]visit)}
	for _, r := range b.Rules {
		for _, l := range r.Lifts {
			if problem := l.problem(byID[l.Of]); problem != "" {
				mistakes = append(mistakes, fmt.Errorf("%s: %s: %s", l.Where, l.field, problem))
				continue
			}
			of := byID[l.Of]
			s.of[of] = append(s.of[of], Lifted{l, of})
		}
	}
	for _, r := range b.Rules {
		s.visit(r)
	}
	b.lifts = s.sorted
	return append(mistakes, s.mistakes...)
}

// Lifts gives which rules lift which others.
func (b *Rulebook) Lifts() []Lifted { return b.lifts }

// problem says what is wrong with lifting a rule, and what is allowed.
func (l *Lift) problem(of *Rule) string {
	switch {
	case of == nil:
		return fmt.Sprintf("no rule is called %q; load its pack, or leave this out", l.Of)
	case of == l.By:
		return "a rule does not lift itself; say in its scope where it does not apply"
	case of.Layer != Law:
		return fmt.Sprintf("%q is %s; only a law is lifted: a rule of the house is yours to change, and guidance is silent where law speaks", l.Of, of.Layer)
	case of.Subject != l.By.Subject:
		return fmt.Sprintf("%q is about each %s, and this rule about each %s; a rule lifts only rules about the same subject", l.Of, of.Subject, l.By.Subject)
	case l.How == Preempts && (of.Area == l.By.Area || !inventory.Within(of.Area, l.By.Area)):
		return fmt.Sprintf("%q is a law of %s; a law of %s preempts only laws of places below it", l.Of, of.Area, l.By.Area)
	case !inventory.Within(of.Area, l.By.Area) && !inventory.Within(l.By.Area, of.Area):
		return fmt.Sprintf("%q is a law of %s, which never meets one of %s", l.Of, of.Area, l.By.Area)
	case l.How == Exempts && !of.names(l.Exemption):
		return l.unnamed(of)
	default:
		return ""
	}
}

func (l *Lift) unnamed(of *Rule) string {
	names := make([]string, len(of.Exemptions))
	for i, e := range of.Exemptions {
		names[i] = e.Name
	}
	if len(names) == 0 {
		return fmt.Sprintf("the law %q names no exemption of its own; nobody may lift it", l.Of)
	}
	return fmt.Sprintf("the law %q names no exemption %q; it names: %s", l.Of, l.Exemption, strings.Join(names, ", "))
}

// names says whether the rule itself declares an exemption.
func (r *Rule) names(exemption string) bool {
	return slices.ContainsFunc(r.Exemptions, func(e Exemption) bool { return e.Name == exemption })
}

// sorting sorts lifts by depth first search.
type sorting struct {
	of       map[*Rule][]Lifted // by the rule that is lifted
	state    map[*Rule]visit
	path     []string
	sorted   []Lifted
	mistakes []error
}

type visit uint8

const (
	entered visit = iota + 1
	left
)

func (s *sorting) visit(r *Rule) {
	switch s.state[r] {
	case left:
		return
	case entered:
		from := slices.Index(s.path, r.ID)
		ring := append(slices.Clone(s.path[from:]), r.ID)
		s.mistakes = append(s.mistakes, fmt.Errorf("%s: these rules lift one another in a ring, so that nobody can tell which holds: %s; leave one out",
			r.Where, strings.Join(ring, " is lifted by ")))
		return
	}
	s.state[r] = entered
	s.path = append(s.path, r.ID)
	for _, l := range s.of[r] {
		s.visit(l.By)
	}
	s.path = s.path[:len(s.path)-1]
	s.state[r] = left
	s.sorted = append(s.sorted, s.of[r]...)
}
