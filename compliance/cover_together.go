package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/cover"
	"antidotary/inventory/day"
)

// togetherness is what is known of a holding when several are bitten at once.
type togetherness struct{ sure, most bool } // in a clash, with the vials for sure and with the most

// stageKey finds a staged scene.
type stageKey struct {
	scene Scene
	site  inventory.ID
}

// stage sets the scene of a rule at a site, once.
func (k *coverKind) stage(v *View, site inventory.ID) *Staged {
	key := stageKey{k.scene, site}
	s, known := v.scenes[key]
	if !known {
		s = v.Stage(k.scene, k.bases, site)
		v.scenes[key] = s
	}
	return s
}

// together gives, for each holding of a site, the days on which it is in a
// clash: a smallest set of victims that cannot all be treated.
func (k *coverKind) together(v *View, site inventory.ID) map[inventory.Ref]day.Line[togetherness] {
	key := stageKey{k.scene, site}
	lines, known := v.clashes[key]
	if !known {
		lines = k.clashLines(k.stage(v, site))
		v.clashes[key] = lines
	}
	return lines
}

func (k *coverKind) clashLines(s *Staged) map[inventory.Ref]day.Line[togetherness] {
	builders := make([]*day.Builder[togetherness], len(s.Bites))
	before := s.clashesOn(day.First - 1)
	for i := range builders {
		builders[i] = day.NewBuilder(before[i])
	}
	for _, on := range s.days {
		for i, t := range s.clashesOn(on) {
			builders[i].Add(on, t)
		}
	}
	lines := make(map[inventory.Ref]day.Line[togetherness], len(s.Bites))
	for i, holding := range s.Bites {
		lines[holding] = builders[i].Line()
	}
	return lines
}

// extra is vials that do not count for sure: which ones.
type extra uint8

const (
	whatIsComing extra = iota // ordered, planned or lent and due back
	whatArrived               // arrived, and nobody has looked at them
)

// extraKey finds what is left of a scene's clashes with some vials added.
type extraKey struct {
	stageKey
	what extra
}

// relief is what some vials would do at a site: how many there are, of all
// products of a scene, and the clashes that are left with them.
type relief struct {
	vials day.Line[int]
	with  map[inventory.Ref]day.Line[togetherness]
}

// relieved gives the days on which there are vials of some sort with which a
// holding would be in no clash.
func (k *coverKind) relieved(v *View, holding inventory.Ref, what extra) day.Line[bool] {
	key := extraKey{stageKey{k.scene, holding.At}, what}
	r, known := v.reliefs[key]
	if !known {
		r = k.relief(v, holding.At, what)
		v.reliefs[key] = r
	}
	with, ok := r.with[holding]
	if !ok {
		return day.Constant(false)
	}
	return day.Combine(r.vials, with, func(n int, t togetherness) bool { return n > 0 && !t.sure })
}

// relief adds vials to a scene, at its own site. Other sites of the scene do not
// count on them.
func (k *coverKind) relief(v *View, site inventory.ID, what extra) relief {
	s := k.stage(v, site)
	r := relief{vials: day.Constant(0)}
	with := *s
	with.pools, with.known = slices.Clone(s.pools), cover.Memory{}
	for i, product := range s.Products {
		key := k.scene.stock(product, site)
		line := v.unchecked(key)
		if what == whatIsComing {
			line = v.coming(key)
		}
		if line.Always(0) {
			continue
		}
		r.vials = day.Combine(r.vials, line, func(a, b int) int { return a + b })
		if what == whatIsComing && v.Ask.Plans { // it is among what is there
			continue
		}
		with.pools = append(with.pools, poolLine{i, cover.Of(0), day.Map(line, func(n int) inventory.Quantity { return inventory.Quantity{Sure: n, Maybe: n} })})
	}
	if r.vials.Always(0) {
		return r
	}
	with.days = with.turns()
	r.with = k.clashLines(&with)
	return r
}

// clashesOn says of each bite whether it is in a clash on a day.
func (s *Staged) clashesOn(on day.Day) []togetherness {
	out := make([]togetherness, len(s.Bites))
	sure, bites := s.On(on, false)
	for n, clash := range s.known.Clashes(&sure) {
		out[bites[n]].sure = len(clash.Set) > 0
	}
	most, bites := s.On(on, true)
	for n, clash := range s.known.Clashes(&most) {
		out[bites[n]].most = len(clash.Set) > 0
	}
	return out
}

// withOthers lets a holding that is covered alone be short where others are
// bitten too. Whose species is short alone is told of that, and of nothing
// else.
func (k *coverKind) withOthers(v *View, d *Duty, alone Line, grounds []inventory.Ground) Line {
	if k.scene.Victims < 2 {
		return alone
	}
	product := inventory.Ref{Kind: inventory.KindProduct, ID: grounds[0].Product}
	cause := siteRef(d.Subject.At) // it is the stock as a whole that is too small
	line := day.Combine(alone, k.together(v, d.Subject.At)[d.Subject], func(verdict *Verdict, t togetherness) *Verdict {
		switch {
		case verdict.Standing == OutOfOrder || !t.sure:
			return verdict
		case t.most:
			return v.in.Of(Verdict{Standing: OutOfOrder, State: ShortTogether, Cause: cause,
				Step: Step{Do: ReplaceAntivenom, Instance: d.Subject, Owner: d.Rule.Owner}})
		case verdict.Standing == CannotTell:
			return verdict
		default:
			return v.in.Of(Verdict{Standing: CannotTell, State: StockUnknown, Cause: cause,
				Step: Step{Do: CompleteRecord, Instance: product, Owner: d.Rule.Owner}})
		}
	})
	return day.Combine(line, k.relieved(v, d.Subject, whatArrived), func(verdict *Verdict, checked bool) *Verdict {
		if !checked || verdict.State != StockUnknown {
			return verdict
		}
		out := *verdict
		out.State, out.Step.Do, out.Step.Instance = StockUnchecked, CheckVials, cause
		return v.in.Of(out)
	})
}

// beyondOne says nothing of a species that is not covered even for one victim:
// another rule does.
func (k *coverKind) beyondOne(v *View, d *Duty, alone Line, grounds []inventory.Ground) Line {
	return day.Combine(k.withOthers(v, d, alone, grounds), alone, func(verdict, alone *Verdict) *Verdict {
		if alone.Standing != InOrder {
			return notApplicable
		}
		return verdict
	})
}

// Worst gives the worst set of a day's scenario as holdings, with the products
// given; Set is empty where everybody can be treated.
func (s *Staged) Worst(on day.Day, most bool) (worst cover.Worst, victims []inventory.Ref) {
	scenario, bites := s.On(on, most)
	worst = scenario.Worst()
	for _, b := range worst.Set {
		victims = append(victims, s.Bites[bites[b]])
	}
	return worst, victims
}
