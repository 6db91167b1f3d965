package compliance

import (
	"slices"
	"testing"
)

// TestWhatRulesAskFor: every class of paper and every activity, of whatever
// kind of rule.
func TestWhatRulesAskFor(t *testing.T) {
	b := book(t, "law", "us", rule("a.r", "a", "animal", "permit", "{class: one}")+
		rule("b.r", "b", "permit", "limit", "{paper: {class: two}, most: 3}")+
		rule("c.r", "c", "animal", "prohibit", "{unless: [{citation: c, paper: {class: three}}, {citation: c, scope: venomous}]}")+
		rule("d.r", "d", "animal", "order", "{before: arrival, paper: {class: four}}")+
		rule("e.r", "e", "animal", "order", "{before: arrival, activity: {what: inspection.x}}")+
		rule("f.r", "f", "site", "recurring", "{activity: drill.x, every: 1 year}")+
		rule("g.r", "g", "site", "limit", "{most: 3}")+
		rule("h.r", "h", "animal", "order", "{before: arrival, antivenom: {bases: [indicated]}}"))
	if got, want := b.Classes(), []string{"four", "one", "three", "two"}; !slices.Equal(got, want) {
		t.Errorf("classes %v, want %v", got, want)
	}
	if got, want := b.Activities(), []string{"drill.x", "inspection.x"}; !slices.Equal(got, want) {
		t.Errorf("activities %v, want %v", got, want)
	}
}
