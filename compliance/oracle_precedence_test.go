package compliance

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// anyLaw is a random rule about the drills of a site, with what it lifts.
type anyLaw struct {
	id, layer, area, every string
	severity               string
	from, last             day.Day
	scope                  string
	lifts                  []anyLift
}

type anyLift struct {
	of      int
	how     LiftKind
	when    string
	inOrder bool
}

// conditions are scopes of a site, and their answers straight.
var conditions = map[string]func(inventory.Site) inventory.Tri{
	"":                                    func(inventory.Site) inventory.Tri { return inventory.Yes },
	`site_use == "zoo"`:                   uses(inventory.UseZoo),
	`site_use == "private"`:               uses(inventory.UsePrivate),
	`jurisdiction == "us/tx" || !(1 < 2)`: nil, // asked of the law of the day
	`site_use != "" || site_use == "" // why`: func(s inventory.Site) inventory.Tri { return inventory.Bool(s.Use != "").Or(inventory.Unknown) },
}

func uses(use inventory.SiteUse) func(inventory.Site) inventory.Tri {
	return func(s inventory.Site) inventory.Tri {
		if s.Use == "" {
			return inventory.Unknown
		}
		return inventory.Bool(s.Use == use)
	}
}

func anyCondition(t *rapid.T, label string) string {
	return rapid.SampledFrom([]string{"", "", `site_use == "zoo"`, `site_use == "private"`, `jurisdiction == "us/tx" || !(1 < 2)`, `site_use != "" || site_use == "" // why`}).Draw(t, label)
}

// anyLaws draws rules of which later ones may lift earlier ones.
func anyLaws(t *rapid.T, most int) []anyLaw {
	var laws []anyLaw
	for i := range rapid.IntRange(1, most).Draw(t, "rules") {
		l := anyLaw{id: fmt.Sprint("r", i), layer: rapid.SampledFrom([]string{"law", "law", "law", "house", "guidance"}).Draw(t, "layer"),
			every: rapid.SampledFrom([]string{"5 days", "14 days", "30 days", "2 months"}).Draw(t, "every"), severity: rapid.SampledFrom([]string{"critical", "serious", "notice"}).Draw(t, "severity"),
			scope: anyCondition(t, "scope")}
		l.area = rapid.SampledFrom([]string{"us", "us/fl", "us/tx", "us/fl/coast"}).Draw(t, "area")
		if l.layer != "law" && rapid.Bool().Draw(t, "everywhere") {
			l.area = ""
		}
		if rapid.IntRange(0, 2).Draw(t, "begins?") == 0 {
			l.from = anyDay(t, "in effect from")
		}
		if rapid.IntRange(0, 3).Draw(t, "ends?") == 0 {
			l.last = max(l.from, anyDay(t, "in effect to"))
		}
		for j, of := range laws {
			if l.layer != "law" || of.layer != "law" || rapid.Bool().Draw(t, "lifts nothing") {
				continue
			}
			lift := anyLift{of: j, how: Exempts, when: anyCondition(t, "when"), inOrder: rapid.IntRange(0, 2).Draw(t, "while in order") == 0}
			above := l.area != of.area && inventory.Within(of.area, l.area)
			switch {
			case above && rapid.Bool().Draw(t, "preempts"):
				lift.how = Preempts
			case !above && !inventory.Within(l.area, of.area):
				continue
			}
			l.lifts = append(l.lifts, lift)
		}
		laws = append(laws, l)
	}
	return laws
}

// yaml writes a rule as a pack of its own.
func (l anyLaw) yaml(name func(int) string, self int, requirement string) string {
	more := "    exemptions: [{name: way-out, citation: {text: c, certainty: R}}]\n"
	if l.scope != "" {
		more += "    scope: '" + l.scope + "'\n"
	}
	if !l.from.IsZero() {
		more += "    from: " + l.from.String() + "\n"
	}
	if !l.last.IsZero() {
		more += "    last: " + l.last.String() + "\n"
	}
	for _, how := range []LiftKind{Exempts, Preempts} {
		items := ""
		for _, lift := range l.lifts {
			if lift.how != how {
				continue
			}
			items += "      - rule: " + name(lift.of) + "\n        citation: {text: c, certainty: R}\n"
			if how == Exempts {
				items += "        exemption: way-out\n"
			}
			if lift.when != "" {
				items += "        when: '" + lift.when + "'\n"
			}
			if lift.inOrder {
				items += "        while_in_order: true\n"
			}
		}
		if items != "" {
			more += "    " + string(how) + ":\n" + items
		}
	}
	text := rule(name(self), requirement, "site", "recurring", "{activity: drill.x, every: "+l.every+"}", more)
	return pack(fmt.Sprint("p", self), l.layer, l.area, replaced(text, "severity: serious", "severity: "+l.severity))
}

func plainName(i int) string { return fmt.Sprint("r", i) }

// packsOf writes rules that all meet under one requirement.
func packsOf(laws []anyLaw, name func(int) string) (out []string) {
	for i, l := range laws {
		out = append(out, l.yaml(name, i, "drill"))
	}
	return out
}

// naivePrecedence answers for one site on one day, straight from the
// definition, from what each rule says by itself.
type naivePrecedence struct {
	laws []anyLaw
	site inventory.Site
	on   day.Day
	own  map[string]*Verdict // what each rule says by itself
}

func (n naivePrecedence) holds(condition string) inventory.Tri {
	if ask := conditions[condition]; ask != nil {
		return ask(n.site)
	}
	return inventory.Bool(n.law() == "us/tx")
}

func (n naivePrecedence) law() string {
	law := ""
	for _, dated := range n.site.Jurisdiction {
		if dated.From <= n.on {
			law = dated.Value
		}
	}
	return law
}

func (n naivePrecedence) applies(i int) inventory.Tri {
	l := n.laws[i]
	if n.on < l.from || l.last != 0 && n.on > l.last || l.area != "" && !inventory.Within(n.law(), l.area) {
		return inventory.No
	}
	return n.holds(l.scope)
}

func (n naivePrecedence) lifted(i int) inventory.Tri {
	out := inventory.No
	for by, l := range n.laws {
		for _, lift := range l.lifts {
			if lift.of != i {
				continue
			}
			is := n.applies(by).And(n.holds(lift.when))
			switch n.lifted(by) { // a rule that is lifted lifts nothing
			case inventory.Yes:
				is = inventory.No
			case inventory.Unknown:
				is = is.And(inventory.Unknown)
			}
			if lift.inOrder {
				switch own := n.own[l.id]; {
				case own == nil || own.Standing == NotApplicable || own.Standing == OutOfOrder:
					is = inventory.No
				case own.Standing == CannotTell:
					is = is.And(inventory.Unknown)
				}
			}
			out = out.Or(is)
		}
	}
	return out
}

// says is a rule's standing as far as it counts, and whether it speaks.
func (n naivePrecedence) says(i int) (Standing, inventory.Tri) {
	own := n.own[n.laws[i].id]
	if own == nil || own.Standing == NotApplicable {
		return NotApplicable, inventory.No
	}
	switch n.lifted(i) {
	case inventory.Yes:
		return NotApplicable, inventory.No
	case inventory.Unknown:
		if own.Standing != InOrder {
			return CannotTell, inventory.Unknown
		}
		return InOrder, inventory.Unknown
	}
	return own.Standing, n.applies(i)
}

func (n naivePrecedence) answer() (law, policy Standing) {
	spoken, guidance := inventory.No, NotApplicable
	for i, l := range n.laws {
		standing, speaks := n.says(i)
		switch l.layer {
		case "law":
			law, spoken = max(law, standing), spoken.Or(speaks)
		case "house":
			policy, spoken = max(policy, standing), spoken.Or(speaks)
		default:
			guidance = max(guidance, standing)
		}
	}
	switch {
	case spoken == inventory.No:
		policy = max(policy, guidance)
	case spoken == inventory.Unknown && guidance == InOrder:
		policy = max(policy, InOrder)
	case spoken == inventory.Unknown && guidance != NotApplicable:
		policy = max(policy, CannotTell)
	}
	return law, policy
}

// TestPrecedenceAgreesWithItsOracle: random rules of all layers and places,
// some lifting others, some in effect for a while, some whose scope hangs on
// a fact that is missing.
func TestPrecedenceAgreesWithItsOracle(t *testing.T) {
	var lifted, doubtful int
	rapid.Check(t, func(t *rapid.T) {
		laws := anyLaws(t, 5)
		s := randomHouse(t)
		r := Evaluate(books(discard{}, packsOf(laws, plainName)...), s, Ask{Now: noon})
		for site := range s.Sites.All() {
			j := r.Of(Key{Requirement: "drill", Subject: site.Ref()})
			if j == nil {
				continue
			}
			for on := base - 3; on <= base.Add(stretch+60); on++ {
				n := naivePrecedence{laws, *site, on, map[string]*Verdict{}}
				for _, rl := range j.Rules {
					n.own[rl.Rule.ID] = rl.Line.At(on)
					for _, l := range rl.LiftedOn(on) {
						if l.Line.At(on) == inventory.Yes {
							lifted++
						} else {
							doubtful++
						}
					}
				}
				law, policy := n.answer()
				if j.Law.At(on).Standing != law || j.Policy.At(on).Standing != policy {
					t.Fatalf("%s at %s: law %s, policy %s; the oracle says %s, %s\n%+v", on, site.Title, j.Law.At(on).Standing, j.Policy.At(on).Standing, law, policy, laws)
				}
			}
		}
	})
	if lifted == 0 || doubtful == 0 {
		t.Errorf("%d lifts and %d doubtful ones were met: too few to prove anything", lifted, doubtful)
	}
}

// TestBindingIsOne: on each day exactly one rule binds wherever any counts,
// and its verdict is the one that counts.
func TestBindingIsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Evaluate(books(discard{}, packsOf(anyLaws(t, 5), plainName)...), randomHouse(t), Ask{Now: noon})
		for j, on := range everyVerdict(r) {
			verdict, _ := j.At(on)
			if verdict.Standing == NotApplicable {
				continue
			}
			var binds []string
			for _, rl := range j.Rules {
				if j.PartOf(rl, on) == Binds {
					binds = append(binds, rl.Rule.ID)
					if *rl.Counted().At(on) != *verdict {
						t.Fatalf("%v on %s: %s binds and says %+v; what counts is %+v", j.Key, on, rl.Rule.ID, rl.Counted().At(on), verdict)
					}
				}
			}
			if len(binds) != 1 {
				t.Fatalf("%v on %s: %v bind", j.Key, on, slices.Sorted(slices.Values(binds)))
			}
		}
	})
}
