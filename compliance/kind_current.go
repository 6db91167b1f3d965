package compliance

import (
	"iter"

	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// currentKind asks of each person that what he was signed off for does not
// lapse unseen: that he handles often enough, and renews the certificates and
// reviews that it rests on. A stage that a person took from him, and a
// suspension, are decisions and nothing to be told of here.
//
// The facts apply in this order: without a ladder nobody can tell; a species
// that he may not open because of a lapse is out of order; where all may still
// be opened, the step is due by the last day of the first that lapses.
type currentKind struct{ task ladder.Level }

func readCurrentKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindPerson)
	k := &currentKind{task: ladder.Hook}
	m.OptText("task", &k.task)
	return k
}

// Bind implements Kind. Who was never signed off for anything has nothing that
// could lapse.
func (k *currentKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	ever := make(map[inventory.ID]bool)
	for a := range v.Authorisations.All() {
		if a.What == ladder.SpeciesGrant {
			ever[a.Person] = true
		}
	}
	return func(yield func(Duty) bool) {
		for d := range v.bind(r, TopicHandling) {
			if ever[d.Subject.ID] && !yield(d) {
				return
			}
		}
	}
}

// lapsed says whether a reason is a lapse, which handling, a certificate or a
// review mends.
func lapsed(no ladder.No) bool {
	switch no {
	case ladder.StageLapsed, ladder.SpeciesLapsed, ladder.NotInForce, ladder.SignOffEnded:
		return true
	}
	return false
}

// Judge implements Kind.
func (k *currentKind) Judge(v *View, d *Duty) Line {
	site := d.Sites.First()
	standings := v.Standings(site)
	if standings == nil {
		return day.Constant(v.in.Of(noLadder(d)))
	}
	line := day.Constant(notApplicable)
	for _, species := range k.species(v, standings, d) {
		line = day.Combine(line, k.ofSpecies(v, d, standings, species), worse)
	}
	return line
}

// species gives what the person was signed off for and the site holds.
func (k *currentKind) species(v *View, s *ladder.Standings, d *Duty) (all []inventory.ID) {
	for _, species := range s.Signed(d.Subject.ID) {
		if _, held := v.counts[inventory.Holding(species, d.Sites.First())]; held {
			all = append(all, species)
		}
	}
	return all
}

// ofSpecies is the line of one species, while the site holds it.
func (k *currentKind) ofSpecies(v *View, d *Duty, s *ladder.Standings, species inventory.ID) Line {
	worst := s.Why(d.Subject.ID, species, k.task, ladder.Worst)
	best := s.Why(d.Subject.ID, species, k.task, ladder.Best)
	ref := inventory.Ref{Kind: inventory.KindSpecies, ID: species}
	step := Step{Do: KeepCurrent, Instance: ref, Owner: d.Rule.Owner, Window: d.Rule.Window, Told: [2]inventory.ID{d.Subject.ID}}
	b := day.NewBuilder(notApplicable)
	joint := day.Combine(worst, best, func(w, b ladder.No) [2]ladder.No { return [2]ladder.No{w, b} })
	for on, no := range joint.Changes() {
		verdict := Verdict{}
		switch {
		case no[0] == ladder.MayOpen:
			verdict = Verdict{Standing: InOrder, State: AuthorisationCurrent}
			if ends, _, ok := worst.Next(on, lapsed); ok {
				verdict.Step = step
				verdict.Step.By = ends - 1
			}
		case lapsed(no[0]) && lapsed(no[1]):
			verdict = Verdict{Standing: OutOfOrder, State: AuthorisationLapsed, Cause: ref, Step: step}
		case lapsed(no[0]):
			verdict = Verdict{Standing: CannotTell, State: AuthorisationUnknown, Cause: ref, Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
		}
		b.Add(on, v.in.Of(verdict))
	}
	held := day.Map(v.counts[inventory.Holding(species, d.Sites.First())], func(n int) bool { return n > 0 })
	return day.Combine(b.Line(), held, func(verdict *Verdict, held bool) *Verdict {
		if !held {
			return notApplicable
		}
		return verdict
	})
}

// Why implements Kind: for each species until when, or why not.
func (k *currentKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	standings := v.Standings(d.Sites.First())
	if standings == nil {
		return nil
	}
	for _, species := range k.species(v, standings, d) {
		line := standings.Why(d.Subject.ID, species, k.task, ladder.Worst)
		name := v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: species})
		no := line.At(on)
		switch ends, why, ok := line.Next(on, lapsed); {
		case lapsed(no):
			reasons = append(reasons, Because("lapsed", "species", name, "refused", no.String()))
		case no == ladder.MayOpen && ok:
			reasons = append(reasons, Because("lapses", "species", name, "until", (ends-1).String(), "refused", why.String()))
		}
	}
	return append(reasons, v.whyTopic(TopicHandling, d.Site(on), on)...)
}
