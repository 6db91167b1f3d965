package compliance

import (
	"iter"

	"antidotary/compliance/scope"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// prohibitKind says that an animal is not to be held here, unless an
// exemption holds that the same law names. No paper helps but one that such
// an exemption asks for: lines of law are ANDed, so that whatever other laws
// allow, this one prohibits.
//
// The facts apply in this order: for each exemption whether it is for this
// animal, species and site (scope), and whether a paper that it asks for is
// in order; the best exemption counts; without one the animal is prohibited.
// Before the animal comes, or the rule begins, somebody is told to keep it
// out.
type prohibitKind struct {
	unless []wayOut
}

// wayOut is one exemption. Where it has both a scope and a paper, both must
// hold.
type wayOut struct {
	citation string
	scope    *scope.Scope // of animals
	paper    *permitKind  // nil: it asks for none
}

func readProhibitKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindAnimal)
	k := &prohibitKind{}
	for _, um := range m.OptMaps("unless") {
		w := wayOut{citation: um.String("citation"), scope: readScope(um, inventory.KindAnimal)}
		if pm, ok := um.OptMap("paper"); ok {
			w.paper = readPaper(pm, r)
		}
		if !um.Has("scope") && !um.Has("paper") {
			um.Fail("", "exempts everything; allowed: a scope, a paper, or both of them")
		}
		k.unless = append(k.unless, w)
	}
	return k
}

// Bind implements Kind. Only exemptions rest on a list, that of papers, so
// Judge looks through it itself: that an animal is here is recorded.
func (k *prohibitKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bindArrivals(r) }

// Cohort implements Cohort: animals of one species at one site, kept by one
// custodian, of one origin and named on no paper, are exempt alike.
func (k *prohibitKind) Cohort(v *View, d *Duty) (any, inventory.ID, bool) {
	a := d.animal
	if d.Subject.Kind != inventory.KindAnimal || len(a.named) > 0 || a.only == (inventory.ID{}) {
		return nil, inventory.ID{}, false
	}
	return struct {
		site, species inventory.ID
		custodian     inventory.Ref
		bred          inventory.Tri
		begins        day.Day
		ahead         bool
	}{a.only, a.Species, a.Custodian, a.Origin.Bred, d.begins, d.ahead(v, a.only)}, a.only, true
}

// Judge implements Kind.
func (k *prohibitKind) Judge(v *View, d *Duty) Line {
	line := day.Switch(d.Sites, func(site inventory.ID) Line {
		best := day.Constant(v.in.Of(k.prohibited(d)))
		for i := range k.unless {
			best = day.Combine(best, k.exempt(v, d, site, &k.unless[i]), better)
		}
		return best
	})
	if d.begins.IsZero() {
		return line
	}
	before, then := Verdict{Standing: InOrder, State: NotHereYet}, line.At(d.begins)
	if then.Standing > InOrder {
		before.Step = Step{Do: KeepOut, Instance: d.Subject, By: d.begins - 1, Legal: d.begins - 1, Window: d.Rule.Window, Owner: d.Rule.Owner}
		if then.Standing == CannotTell {
			before.Step.Do = then.Step.Do
		}
	}
	return from(v.in.Of(before), d.begins, line)
}

func (k *prohibitKind) prohibited(d *Duty) Verdict {
	return Verdict{Standing: OutOfOrder, State: Prohibited, Step: Step{Do: MoveOut, Instance: d.Subject, Owner: d.Rule.Owner}}
}

// exempt is the line of one exemption at one site: in order while it holds.
func (k *prohibitKind) exempt(v *View, d *Duty, site inventory.ID, w *wayOut) Line {
	is := k.isFor(v, d, site, w)
	if is.Always(inventory.No) {
		return day.Constant(notApplicable)
	}
	paper := day.Constant(v.in.Of(Verdict{Standing: InOrder, State: ExemptByLaw}))
	if w.paper != nil {
		there := *d
		there.Sites = day.Constant(site)
		paper = v.throughList(TopicPapers, site, w.paper.Judge(v, &there))
	}
	return day.Combine(is, paper, func(is inventory.Tri, paper *Verdict) *Verdict {
		switch {
		case is == inventory.No || paper.Standing == OutOfOrder || paper.Standing == NotApplicable:
			return notApplicable
		case is == inventory.Unknown:
			return v.in.Of(Verdict{Standing: CannotTell, State: ExemptionUnknown, Cause: paper.Cause,
				Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}})
		case paper.Standing == CannotTell:
			return paper
		default:
			return v.in.Of(Verdict{Standing: InOrder, State: ExemptByLaw, Step: paper.Step, Cause: paper.Cause})
		}
	})
}

// isFor says whether an exemption is for the animal at a site, whatever paper
// it may ask for.
func (k *prohibitKind) isFor(v *View, d *Duty, site inventory.ID, w *wayOut) day.Line[inventory.Tri] {
	return day.Map(v.lawOf(site), func(path string) inventory.Tri { return inventory.Tri(k.ask(v, d, site, path, w).Truth) })
}

func (k *prohibitKind) ask(v *View, d *Duty, site inventory.ID, path string, w *wayOut) scope.Answer {
	return w.scope.Ask(&attributes{path: path, site: v.Site(site), house: v.House(), species: d.animal.species, animal: d.animal.Animal})
}

// Why implements Kind: each exemption, and why it holds or does not.
func (k *prohibitKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	if len(k.unless) == 0 {
		return []Reason{Because("exemption-none")}
	}
	on = max(on, d.begins)
	site := d.Site(on)
	for i := range k.unless {
		w := &k.unless[i]
		answer := k.ask(v, d, site, v.lawOf(site).At(on), w)
		switch {
		case answer.Truth == scope.No:
			reasons = append(reasons, Because("exemption-not-for-this", "citation", w.citation))
			continue
		case answer.Truth == scope.Unknown:
			reasons = append(reasons, Because("exemption-doubtful", "citation", w.citation))
			for _, name := range answer.Missing {
				reasons = append(reasons, Because("exemption-lacks", "attribute", name))
			}
		case w.paper == nil:
			reasons = append(reasons, Because("exemption-holds", "citation", w.citation))
		}
		if w.paper == nil {
			continue
		}
		reasons = append(reasons, Because("exemption-paper", "citation", w.citation, "class", w.paper.class))
		reasons = append(reasons, w.paper.whyPapers(v, d, on)...)
		list := Duty{Rule: d.Rule, Applies: day.Constant(inventory.Yes), Sites: day.Constant(site), Topic: TopicPapers}
		reasons = append(reasons, v.whyList(&list, on)...)
	}
	return reasons
}
