package ladder

import (
	"fmt"
	"strings"
	"testing"
)

// filters are ways of saying which sessions count.
var filters = []string{
	"", "animals: harmless", "animals: venomous", "same: species", "same: genus", "same: family",
	"names: [Genus b]", "names: [Other, Familidae]", "stage_from: 2", "stage_to: 2", "stage_from: 2, stage_to: 2, alone: true",
	"task_from: hook", "task_to: closed", "within: 1 month", "within: 15 days, alone: true", "animals: venomous, within: 20 days, same: genus, task_from: tube",
}

// everyCondition reads one condition for each measure, filter and amount, and
// the others.
func everyCondition(t *testing.T) All {
	var text strings.Builder
	for _, of := range Measures {
		for _, f := range filters {
			amounts := []string{"1", "2", "3", "5", "9"}
			if of == SpanOf {
				amounts = []string{"1 day", "10 days", "1 month"}
			}
			for _, n := range amounts {
				fmt.Fprintf(&text, "  - %s: {%s}\n", strings.ReplaceAll(string(of), "-", "_"), strings.TrimSuffix("at_least: "+n+", "+f, ", "))
			}
		}
	}
	text.WriteString(`
  - held: {stage: 1}
  - held: {stage: 1, for: 10 days}
  - held: {stage: 2, for: 20 days}
  - held: {stage: 3, for: 1 month}
  - age: {at_least: 21}
  - age: {at_least: 30}
  - in_force: {what: first-aid}
  - did: {what: drill}
  - did: {what: drill, at_least: 2, within: 1 month}
  - none: {of: [incident], within: 20 days}
  - none: {of: [incident, drill], within: 1 month}
  - none: {of: [incident]}
  - paper: {class: licence}
  - paper: {class: licence, for: 1 month}
  - paper: {class: licence, for: 2 months}
  - paper: {class: another}
`)
	return conditions(t, text.String())
}

// TestTheDefinitionsOfConditions: each condition says on any day what the slow
// evaluator says, in both worlds; most are met of some people and unmet of
// others.
func TestTheDefinitionsOfConditions(t *testing.T) {
	all := everyCondition(t)
	seen := make([][2]int, len(all)) // unmet and met
	for seed := range uint64(200) {
		h := randomHouse(t, 5000+seed, seed%4 != 0)
		s := Judge(h.records)
		oracles := [2]*oracle{newOracle(h.records, Worst), newOracle(h.records, Best)}
		for n := range 6 {
			p, sp, d := &h.people[h.rng.IntN(len(h.people))], h.rng.IntN(len(h.species)), h.first.Add(10+12*n+h.rng.IntN(10))
			for w, o := range oracles {
				asked := s.at(s.h.person(p.ID), d, World(w)).ask(d, &s.h.Species[sp])
				state := o.after(p, d)
				for i, c := range all {
					got, want := c.Met(asked), o.met(state, c, &o.Species[sp])
					if got != want {
						t.Fatalf("house %d, world %d: %v on %s about %s: %+v: %v; by definition %v", 5000+seed, w, p.ID, d, h.species[sp].Name, describe(c), got, want)
					}
					if got {
						seen[i][1]++
					} else {
						seen[i][0]++
					}
				}
			}
		}
	}
	both := 0
	for _, n := range seen {
		if n[0] > 0 && n[1] > 0 {
			both++
		}
	}
	if both < len(all)/2 {
		t.Errorf("only %d of %d conditions were met and unmet", both, len(all))
	}
}

func describe(c Condition) any {
	if c, ok := c.(*Count); ok {
		return *c
	}
	return c
}
