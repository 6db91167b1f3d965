package compliance

import (
	"iter"
	"strconv"

	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// experienceKind asks that somebody has the experience that a jurisdiction, an
// insurer or the house wants: hours, spans, days, animals, by species, genus
// or family, all of them or any; in the words of the ladder. Only sessions
// count that count by the ladder where the person works: watched by a mentor
// who was able to, and signed.
//
// The facts apply in this order: without a ladder nobody can tell; what counts
// for sure and is enough is in order; what would not be enough even if all that
// is unknown counted is out of order.
type experienceKind struct {
	species string // that "same" is about; empty: none
	all     ladder.All
}

func readExperienceKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindPerson)
	k := &experienceKind{species: m.OptString("species"), all: ladder.ReadConditions(m, "all", -1)}
	if len(k.all) == 0 {
		m.Fail("all", "needs at least one condition")
	}
	if ladder.AsksSame(k.all) && k.species == "" {
		m.Fail("species", "is needed: the same species, genus or family as which?")
	}
	return k
}

// Bind implements Kind.
func (k *experienceKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, TopicHandling) }

// target gives the species that "same" is about.
func (k *experienceKind) target(v *View) inventory.ID {
	if k.species == "" {
		return inventory.ID{}
	}
	for s := range v.Species.All() {
		if s.Called(k.species) {
			return s.ID
		}
	}
	return inventory.ID{}
}

// Judge implements Kind.
func (k *experienceKind) Judge(v *View, d *Duty) Line {
	standings := v.Standings(d.Sites.First())
	if standings == nil {
		return day.Constant(v.in.Of(noLadder(d)))
	}
	return day.Map(standings.Meets(d.Subject.ID, k.target(v), k.all), func(meets inventory.Tri) *Verdict {
		switch meets {
		case inventory.Yes:
			return v.in.Of(Verdict{Standing: InOrder, State: ExperienceEnough})
		case inventory.No:
			return v.in.Of(Verdict{Standing: OutOfOrder, State: ExperienceShort, Step: Step{Do: GainExperience, Instance: d.Subject, Owner: d.Rule.Owner}})
		}
		return v.in.Of(Verdict{Standing: CannotTell, State: ExperienceUnknown, Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}})
	})
}

// noLadder: nothing says how people are brought on here.
func noLadder(d *Duty) Verdict {
	return Verdict{Standing: CannotTell, State: LadderMissing, Cause: siteRef(d.Sites.First()),
		Step: Step{Do: ConfigureLadder, Instance: siteRef(d.Sites.First()), Owner: Head}}
}

// Why implements Kind.
func (k *experienceKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	standings := v.Standings(d.Sites.First())
	if standings == nil {
		return nil
	}
	target := k.target(v)
	worst := standings.MeetsGaps(d.Subject.ID, target, k.all, on, ladder.Worst)
	best := standings.MeetsGaps(d.Subject.ID, target, k.all, on, ladder.Best)
	for i, g := range worst {
		have := strconv.Itoa(g.Have)
		if i < len(best) && best[i].Have != g.Have {
			have += " to " + strconv.Itoa(best[i].Have)
		}
		reasons = append(reasons, Because("experience-part", "part", g.What, "of", g.Of, "need", strconv.Itoa(g.Need), "have", have, "met", inventory.Bool(g.Met).String()))
	}
	return append(reasons, v.whyTopic(TopicHandling, d.Site(on), on)...)
}
