package compliance

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// The precedence vectors of the project's reference on law, section 6. Those
// that turn on one kind of rule are beside that kind: P3 in kind_keep_test.go,
// P4 in kind_limit_test.go, P5 in kind_wording_test.go, P6 in
// kind_prohibit_test.go, P7 in law_precedence_test.go. P9 is about hours of
// experience; what it asks of layers is shown here on another kind.

// leads is a house with one paper that ends on 2026-12-31, and what each layer
// asks of its renewal.
func leads(t *testing.T, packs ...string) *Judgement {
	t.Helper()
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	h.put(Record(h.permit("P", day.Until(d("2026-12-31")))))
	return Evaluate(books(t, packs...), h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "paper", Subject: a.Ref()})
}

func leadRule(id, lead string) string {
	return rule(id, "paper", "animal", "permit", "{class: keep, renewal: {lead: "+lead+"}}", "    window_days: 60\n")
}

func TestLeadsOfLayers(t *testing.T) {
	on := d("2026-06-15")
	for _, c := range []struct {
		name        string
		packs       []string
		law, policy day.Day // legal days
		binds       string
		laxer       map[string]string
		source      string
	}{
		{"P1", []string{pack("g", "guidance", "", leadRule("g.a", "14 days")), pack("us", "law", "us", leadRule("us.a", "30 days"))},
			d("2026-12-01"), 0, "us.a", nil, "P1: default lead 14 d, federal 30 d (50 CFR 13.22(a), R): law over default; date D"},
		{"P2", []string{pack("g", "guidance", "", leadRule("g.a", "60 days")), pack("us", "law", "us", leadRule("us.a", "30 days"))},
			d("2026-12-01"), 0, "us.a", nil, "P2: default lead 60 d, law 30 d (50 CFR 13.22(a), R): the legal deadline is 30 d; date D"},
		{"P2 as a rule of the house", []string{pack("h", "house", "", leadRule("h.a", "60 days")), pack("us", "law", "us", leadRule("us.a", "30 days"))},
			d("2026-12-01"), d("2026-11-01"), "h.a", nil, "P2: the house may ask for more beside the law; date D"},
		{"P10", []string{pack("fl", "law", "us/fl", leadRule("fl.a", "15 days")), pack("us", "law", "us", leadRule("us.a", "30 days"))},
			d("2026-12-01"), 0, "us.a", map[string]string{"fl.a": "us.a"}, "P10: lower law 15 d, higher 30 d, no exempts: 30 d and a warning that the lower layer is laxer"},
		{"P10 the other way round", []string{pack("fl", "law", "us/fl", leadRule("fl.a", "45 days")), pack("us", "law", "us", leadRule("us.a", "30 days"))},
			d("2026-11-16"), 0, "fl.a", nil, "CITES Art. XIV(1) (R2): a lower law may be stricter"},
		{"a house rule that is laxer", []string{pack("h", "house", "", leadRule("h.a", "5 days")), pack("us", "law", "us", leadRule("us.a", "30 days"))},
			d("2026-12-01"), d("2026-12-26"), "us.a", map[string]string{"h.a": "us.a"}, "no house rule relaxes a law"},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := leads(t, c.packs...)
			if law, policy := j.Law.At(on).Step.Legal, j.Policy.At(on).Step.Legal; law != c.law || policy != c.policy {
				t.Errorf("by law %s, by policy %s; want %s, %s (%s)", law, policy, c.law, c.policy, c.source)
			}
			for _, rl := range j.Rules {
				got, want := "", c.laxer[rl.Rule.ID]
				if above := j.Laxer(rl, on); above != nil {
					got = above.ID
				}
				if binds := j.PartOf(rl, on) == Binds; got != want || binds != (rl.Rule.ID == c.binds) {
					t.Errorf("%s: binds %t, laxer than %q; want %s to bind, laxer than %q (%s)", rl.Rule.ID, binds, got, c.binds, want, c.source)
				}
			}
		})
	}
}

// TestProhibitionIsLiftedByItsOwnExemptionAlone is P6 where another law uses
// the exemption: the state bans, and names licensed zoos; the law on zoos, of
// the same state, lifts the ban while a zoo licence is in force.
func TestProhibitionIsLiftedByItsOwnExemptionAlone(t *testing.T) {
	const source = "P6; 3 Del. C. 7201 (R): no permit shall be issued, except for a licensed zoo"
	ban := rule("de.ban", "held", "animal", "prohibit", "{}", "    exemptions: [{name: licensed-zoo, citation: {text: 3 Del. C. 7201, certainty: R}}]\n")
	zoos := rule("de.zoo", "paper.zoo", "animal", "permit", "{class: zoo-licence}", "    scope: site_use == \"zoo\"\n",
		"    exempts: [{rule: de.ban, exemption: licensed-zoo, while_in_order: true, citation: {text: 3 Del. C. 7201, certainty: R}}]\n")
	local := rule("city.permit", "paper.city", "animal", "permit", "{class: keep}")
	for _, c := range []struct {
		name   string
		use    inventory.SiteUse
		class  string
		want   Standing
		before Standing // once the licence has ended
	}{
		{"a private keeper with a valid local permit", inventory.UsePrivate, "keep", OutOfOrder, OutOfOrder},
		{"a licensed zoo", inventory.UseZoo, "zoo-licence", NotApplicable, OutOfOrder},
		{"a zoo without its licence", inventory.UseZoo, "keep", OutOfOrder, OutOfOrder},
		{"nobody recorded what it is", "", "zoo-licence", CannotTell, CannotTell},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			h.site.Use, h.site.Jurisdiction = c.use, inventory.Always("us/de/city")
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			p := h.permit("P", day.Until(d("2026-08-31")))
			p.Class = c.class
			h.put(Record(h.site), Record(p))
			line := lineOf(t, books(t, pack("de", "law", "us/de", ban+zoos), pack("city", "law", "us/de/city", local)), h.snapshot(), "held", a.Ref())
			if got := line.At(d("2026-06-15")).Standing; got != c.want {
				t.Errorf("%s, want %s (%s)", got, c.want, source)
			}
			if got := line.At(d("2026-09-01")).Standing; got != c.before {
				t.Errorf("once the paper has ended %s, want %s (%s)", got, c.before, source)
			}
		})
	}
}

// TestTheHighestOfTwoWins is P9 on another kind: a default asks for less than
// the law of the state, and the law counts.
func TestTheHighestOfTwoWins(t *testing.T) {
	drill := func(id, every string) string {
		return rule(id, "drill", "site", "recurring", "{activity: drill.x, every: "+every+"}")
	}
	h := newHouse(t).lists()
	h.put(Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: d("2026-03-01"), Passed: inventory.Yes}))
	j := Evaluate(books(t, pack("city", "guidance", "us/fl", drill("city.a", "6 months")), pack("fl", "law", "us/fl", drill("fl.a", "3 months"))), h.snapshot(), Ask{Now: noon}).
		Of(Key{Requirement: "drill", Subject: h.site.Ref()})
	if on := d("2026-06-15"); j.Law.At(on).Standing != OutOfOrder || j.Policy.At(on).Standing != NotApplicable || j.Binding(on).Rule.ID != "fl.a" {
		t.Errorf("law %s, policy %s by %s (P9)", j.Law.At(on).Standing, j.Policy.At(on).Standing, j.Binding(on).Rule.ID)
	}
}
