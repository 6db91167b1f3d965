package compliance

import (
	"strings"
	"testing"
	"testing/fstest"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

const wayOutNamed = "    exemptions: [{name: licensed-zoo, citation: {text: section 9, certainty: R}}]\n"

// TestOnlyLawLiftsLawByItsOwnExemption: what precedence does not allow is
// refused with its place, and says what is allowed.
func TestOnlyLawLiftsLawByItsOwnExemption(t *testing.T) {
	drill := func(id string, more ...string) string {
		return rule(id, "drill", "site", "recurring", "{activity: drill.x, every: 12 months}", more...)
	}
	lifts := func(how, of, more string) string {
		return "    " + how + ":\n      - {rule: " + of + ", " + more + "citation: {text: c, certainty: R}}\n"
	}
	by := func(how, of, more string) string { return drill("b.r", lifts(how, of, more)) }
	named := "exemption: licensed-zoo, "
	for _, c := range []struct {
		name   string
		a, b   string // packs
		wanted string // empty: taken
	}{
		{"by the exemption that the law names", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", named)), ""},
		{"under a condition", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", named+"when: 'site_use == \"zoo\"', while_in_order: true, ")), ""},
		{"a law below", pack("a", "law", "us/fl", drill("a.r")), pack("b", "law", "us", by("preempts", "a.r", "")), ""},
		{"a law that names no exemption", pack("a", "law", "us", drill("a.r")), pack("b", "law", "us/fl", by("exempts", "a.r", named)), "names no exemption of its own; nobody may lift it"},
		{"an exemption that it does not name", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", "exemption: circus, ")), `names no exemption "circus"; it names: licensed-zoo`},
		{"no exemption at all", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", "")), "exemption: is missing"},
		{"no citation", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", drill("b.r", "    exempts: [{rule: a.r, exemption: licensed-zoo}]\n")), "citation: is missing"},
		{"a house rule", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "house", "", by("exempts", "a.r", named)), "only a law lifts a law"},
		{"a house rule is lifted", pack("a", "house", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", named)), "only a law is lifted"},
		{"a lower law preempts a higher one", pack("a", "law", "us", drill("a.r")), pack("b", "law", "us/fl", by("preempts", "a.r", "")), "preempts only laws of places below it"},
		{"a law preempts one of the same place", pack("a", "law", "us", drill("a.r")), pack("b", "law", "us", by("preempts", "a.r", "")), "preempts only laws of places below it"},
		{"a law of elsewhere", pack("a", "law", "us/tx", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", named)), "never meets"},
		{"a rule that nobody knows", pack("a", "law", "us", drill("a.r")), pack("b", "law", "us/fl", by("exempts", "a.rr", named)), `no rule is called "a.rr"`},
		{"itself", pack("a", "law", "us", drill("a.r")), pack("b", "law", "us", drill("b.r", wayOutNamed, lifts("exempts", "b.r", named))), "does not lift itself"},
		{"a rule about something else", pack("a", "law", "us", rule("a.r", "paper", "animal", "permit", part13, wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", named)), "only rules about the same subject"},
		{"one another", pack("a", "law", "us", drill("a.r", wayOutNamed, lifts("exempts", "b.r", named))), pack("b", "law", "us/fl", drill("b.r", wayOutNamed, lifts("exempts", "a.r", named))), "lift one another in a ring"},
		{"a condition that asks for what is not known", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", named+"when: venomus, ")), "when: "},
		{"a misspelt key", pack("a", "law", "us", drill("a.r", wayOutNamed)), pack("b", "law", "us/fl", by("exempts", "a.r", named+"wen: x, ")), "wen: is not a key"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadRulebook(day.Embedded(), fstest.MapFS{"a.yaml": {Data: []byte(c.a)}, "b.yaml": {Data: []byte(c.b)}})
			switch {
			case c.wanted == "" && err != nil:
				t.Error(err)
			case c.wanted != "" && (err == nil || !strings.Contains(err.Error(), c.wanted) || !strings.Contains(err.Error(), ".yaml:")):
				t.Errorf("it says %v; want %q", err, c.wanted)
			}
		})
	}
}

// TestLiftingIsByDay: an exemption lifts from the day on which the lifting
// rule is in effect, and no longer.
func TestLiftingIsByDay(t *testing.T) {
	h := newHouse(t).lists()
	h.site.Use = inventory.UseZoo
	h.put(Record(h.site))
	old := rule("a.r", "drill", "site", "recurring", "{activity: drill.x, every: 1 month}", wayOutNamed)
	next := rule("b.r", "register", "site", "recurring", "{activity: register, every: 12 months}", "    from: 2026-05-01\n    last: 2026-07-31\n",
		"    exempts: [{rule: a.r, exemption: licensed-zoo, when: 'site_use == \"zoo\"', citation: {text: c, certainty: R}}]\n")
	line := lineOf(t, books(t, pack("a", "law", "us", old), pack("b", "law", "us/fl", next)), h.snapshot(), "drill", h.site.Ref())
	for on, want := range map[string]Standing{"2026-04-30": OutOfOrder, "2026-05-01": NotApplicable, "2026-07-31": NotApplicable, "2026-08-01": OutOfOrder} {
		if got := line.At(d(on)).Standing; got != want {
			t.Errorf("%s: %s, want %s", on, got, want)
		}
	}
}

// TestAnExemptionThatHangsOnALicence lifts only while the licence is in force.
func TestAnExemptionThatHangsOnALicence(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	zoo := h.permit("Z", day.Until(d("2026-06-30")))
	zoo.Class = "zoo-licence"
	h.put(Record(zoo))
	b := books(t, pack("a", "law", "us", rule("a.r", "paper.dwa", "animal", "permit", "{class: dwa-licence}", wayOutNamed)),
		pack("b", "law", "us/fl", rule("b.r", "paper.zoo", "animal", "permit", "{class: zoo-licence}",
			"    exempts: [{rule: a.r, exemption: licensed-zoo, while_in_order: true, citation: {text: c, certainty: R}}]\n")))
	line := lineOf(t, b, h.snapshot(), "paper.dwa", a.Ref())
	for on, want := range map[string]Standing{"2026-06-30": NotApplicable, "2026-07-01": OutOfOrder} {
		if got := line.At(d(on)).Standing; got != want {
			t.Errorf("%s: %s, want %s", on, got, want)
		}
	}
}

// TestPreemptionIsAlwaysToldOf: what a higher law cancels does not count, and
// that needs legal review for as long as both could be in effect.
func TestPreemptionIsAlwaysToldOf(t *testing.T) {
	const source = "16 USC 1535(f) (R, in part): higher law may void lower law; law.md 6: only explicit, with citation, and always needs legal review"
	h := newHouse(t).lists()
	ban := rule("fl.r", "drill", "site", "recurring", "{activity: drill.x, every: 1 month}", "    last: 2026-12-31\n")
	above := rule("us.r", "drill", "site", "recurring", "{activity: drill.x, every: 24 months}", "    preempts: [{rule: fl.r, citation: {text: the treaty, certainty: R}}]\n")
	h.put(Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: d("2026-01-01"), Passed: inventory.Yes}))
	r := Evaluate(books(t, pack("fl", "law", "us/fl", ban), pack("us", "law", "us", above)), h.snapshot(), Ask{Now: noon})
	if got := r.Of(Key{Requirement: "drill", Subject: h.site.Ref()}).Law.At(d("2026-06-15")); got.Standing != InOrder {
		t.Errorf("%s (%s)", got.Standing, source)
	}
	j := r.Of(Key{Requirement: "legal-review", Subject: h.org.Ref(), Occurrence: "us"})
	if j == nil {
		t.Fatalf("nobody is told (%s)", source)
	}
	if f, needed := r.Finding(j); !needed || f.Verdict.State != NeedsLegalReview || f.Verdict.Standing != CannotTell {
		t.Errorf("needed %t: %+v (%s)", needed, f, source)
	}
	if reasons := r.Why(j, d("2026-06-15")); len(reasons) != 1 || reasons[0].Code != "preempts" {
		t.Errorf("why: %v", reasons)
	}
	if got := j.Policy.At(d("2027-01-01")).Standing; got != NotApplicable {
		t.Errorf("after the lower law has ended: %s", got)
	}
}
