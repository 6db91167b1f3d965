package compliance

import (
	"iter"
	"slices"
	"strconv"

	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// authorisedKind asks that for each species held at a site there are so many
// people who may open its enclosure: with one alone nobody may, where two must
// be there.
//
// The facts apply in this order: without a ladder nobody can tell; whoever may
// open for sure counts; where they are too few, but would be enough with those
// of whom nobody can tell, nobody can tell. While they are enough, the step is
// to keep it so until the day on which they are not.
type authorisedKind struct {
	people int
	task   ladder.Level
}

func readAuthorisedKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindHolding)
	k := &authorisedKind{people: m.Int("people", 1, 50), task: ladder.Hook}
	m.OptText("task", &k.task)
	return k
}

// Bind implements Kind.
func (k *authorisedKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bind(r, TopicHandling) }

// able is how many people may open: for sure, and at most.
type able struct{ sure, most int }

// Judge implements Kind.
func (k *authorisedKind) Judge(v *View, d *Duty) Line {
	standings := v.Standings(d.Subject.At)
	if standings == nil {
		return day.Constant(v.in.Of(noLadder(d)))
	}
	var hands []handsOf
	for _, p := range v.Handlers(d.Subject.At) {
		hands = append(hands, handsOf{p, standings.Line(p.ID, d.Subject.ID, k.task)})
	}
	return k.line(v, d, hands)
}

// handsOf is on which days a person may open.
type handsOf struct {
	person *Person
	may    day.Line[inventory.Tri]
}

func ableOf(hands []handsOf) day.Line[able] {
	count := day.Constant(able{})
	for _, one := range hands {
		count = day.Combine(count, one.may, func(n able, may inventory.Tri) able {
			switch may {
			case inventory.Yes:
				n.sure, n.most = n.sure+1, n.most+1
			case inventory.Unknown:
				n.most++
			}
			return n
		})
	}
	return count
}

// Handlers gives whoever may work at a site.
func (v *View) Handlers(site inventory.ID) (all []*Person) {
	for p := range v.People.All() {
		if p.Site == site || p.Site == (inventory.ID{}) || slices.ContainsFunc(p.Offices, func(o Office) bool { return o.Site == site || o.Site == inventory.ID{} }) {
			all = append(all, p)
		}
	}
	return all
}

// line answers on each day; in order carries the day on which it ends.
func (k *authorisedKind) line(v *View, d *Duty, hands []handsOf) Line {
	count := ableOf(hands)
	b := day.NewBuilder(v.in.Of(k.on(d, hands, count, day.First)))
	for on := range count.Changes() {
		b.Add(on, v.in.Of(k.on(d, hands, count, on)))
	}
	return b.Line()
}

func (k *authorisedKind) on(d *Duty, hands []handsOf, count day.Line[able], on day.Day) Verdict {
	n := count.At(on)
	step := Step{Do: BringOn, Instance: d.Subject, Owner: d.Rule.Owner, Window: d.Rule.Window}
	switch {
	case n.sure >= k.people:
		verdict := Verdict{Standing: InOrder, State: HandsEnough}
		if falls, _, ok := count.Next(on, func(n able) bool { return n.sure < k.people }); ok {
			step.By = falls - 1
			verdict.Step, verdict.Cause = step, leaver(hands, falls)
		}
		return verdict
	case n.most >= k.people:
		return Verdict{Standing: CannotTell, State: HandsUnknown, Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
	case n.sure > 0:
		return Verdict{Standing: OutOfOrder, State: HandsTooFew, Step: step}
	}
	return Verdict{Standing: OutOfOrder, State: HandsNone, Step: step}
}

// leaver is whoever may no longer open from a day on.
func leaver(hands []handsOf, falls day.Day) inventory.Ref {
	for _, one := range hands {
		if one.may.At(falls-1) == inventory.Yes && one.may.At(falls) != inventory.Yes {
			return one.person.Ref()
		}
	}
	return inventory.Ref{}
}

// Why implements Kind: who may, until when, and why whoever was signed off may
// not.
func (k *authorisedKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	standings := v.Standings(d.Subject.At)
	if standings == nil {
		return nil
	}
	for _, p := range v.Handlers(d.Subject.At) {
		worst := standings.Why(p.ID, d.Subject.ID, k.task, ladder.Worst)
		switch no := worst.At(on); {
		case no == ladder.MayOpen:
			until := "never"
			if ends, _, ok := worst.Next(on, func(no ladder.No) bool { return no != ladder.MayOpen }); ok {
				until = (ends - 1).String()
			}
			reasons = append(reasons, Because("hand-may", "person", p.Called, "until", until))
		case slices.Contains(standings.Signed(p.ID), d.Subject.ID):
			reasons = append(reasons, Because("hand-may-not", "person", p.Called))
		}
	}
	if len(reasons) == 0 {
		reasons = append(reasons, Because("hand-nobody", "people", strconv.Itoa(k.people)))
	}
	return append(reasons, v.whyTopic(TopicHandling, d.Subject.At, on)...)
}
