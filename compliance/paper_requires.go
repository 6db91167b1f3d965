package compliance

import (
	"slices"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// prerequisite is another paper that a paper needs: so that the authority
// takes the application (at filing), or on every day on which the paper itself
// is to be worth anything (throughout).
//
// It must be for the same holder and place as the paper, as far as the rule
// matches these, and for the same animal where it names animals. What the
// prerequisite itself needs is asked by its own rule.
type prerequisite struct {
	paper      *permitKind // its class, and what of it must fit
	throughout bool
	lead       day.Span // at filing: how long it must have been there by then
	cite       string   // the text that asks for it
}

func readRequires(m *strict.Map, k *permitKind) (all []prerequisite) {
	for _, rm := range m.OptMaps("requires") {
		r := prerequisite{paper: &permitKind{class: readWord(rm, "class"), holder: k.holder, place: k.place, pending: notEnough}}
		r.throughout = rm.OptEnum("at", "filing", "filing", "throughout") == "throughout"
		lead := rm.OptText("lead", &r.lead)
		r.cite = rm.OptString("citation")
		switch {
		case r.paper.class == k.class && k.class != "":
			rm.Fail("class", "%q is the class of the paper itself, which cannot wait for itself; write the class of the other paper that must be there", k.class)
		case r.throughout && r.cite == "":
			rm.Fail("citation", "is missing; at: throughout says that the paper is worth nothing without the other one, so write the place in the text that says so")
		case r.throughout && lead:
			rm.Fail("lead", "is for at: filing alone; leave it out, or ask for the paper twice, once at filing and once throughout")
		case slices.ContainsFunc(all, func(o prerequisite) bool { return o.paper.class == r.paper.class && o.throughout == r.throughout }):
			rm.Fail("class", "%q is asked for twice at the same time; leave out one of the two", r.paper.class)
		}
		all = append(all, r)
	}
	return all
}

// need is a prerequisite of one paper, or of one that is still to be obtained.
type need struct {
	*prerequisite
	// there is the best of the papers that count as it on each day; not
	// applicable where there is none.
	there Line
	// ready says for each day whether an application of that day meets it.
	ready day.Line[inventory.Tri]
}

// withRequires turns the line of a paper into one that knows what the paper
// needs. p is nil for the paper that is still to be obtained.
func (k *permitKind) withRequires(v *View, d *Duty, p *Permit, site inventory.ID, line Line) Line {
	if len(k.requires) == 0 {
		return line
	}
	needs := k.needs(v, d, p, site)
	line = k.untilFiling(v, p, line, needs)
	for i := range needs {
		if needs[i].throughout {
			line = needs[i].bound(v, d, p, line)
		}
	}
	return line
}

func (k *permitKind) needs(v *View, d *Duty, p *Permit, site inventory.ID) []need {
	needs := make([]need, len(k.requires))
	for i := range k.requires {
		r := &k.requires[i]
		there := r.line(v, d, p, site)
		needs[i] = need{prerequisite: r, there: there, ready: r.readiness(there)}
	}
	return needs
}

// line is the best paper that counts as the prerequisite on each day.
func (r *prerequisite) line(v *View, d *Duty, p *Permit, site inventory.ID) Line {
	best := day.Constant(notApplicable)
	ahead := r.throughout && d.ahead(v, site)
	for _, q := range r.candidates(v, d, p, site) {
		is := r.isFor(d, p, q, site)
		if is == inventory.No {
			continue
		}
		if ahead { // then the duty rests on it
			v.papers.asked[q] = struct{}{}
		}
		line := day.Map(r.paper.stateOf(v, d, q), func(verdict *Verdict) *Verdict { return r.doubted(v, d, verdict, is) })
		best = day.Combine(best, line, better)
	}
	return best
}

// doubted makes doubtful what is not known to be for the same holder and
// place, and what is past its date with an application pending: whether it
// continues until then is said by its own rule, and not by this one.
func (r *prerequisite) doubted(v *View, d *Duty, verdict *Verdict, is inventory.Tri) *Verdict {
	unsure := is == inventory.Unknown && verdict.Standing == InOrder
	if !unsure && verdict.State != PendingNotCovered {
		return verdict
	}
	return v.in.Of(Verdict{Standing: CannotTell, State: PrerequisiteUnknown, Cause: verdict.Cause,
		Step: Step{Do: CompleteRecord, Instance: verdict.Cause, Owner: d.Rule.Owner}})
}

// candidates are the papers that may be the prerequisite of a paper.
func (r *prerequisite) candidates(v *View, d *Duty, p *Permit, site inventory.ID) []*Permit {
	all := v.papers.candidates(r.paper.class, d, site)
	if d.paper == nil || len(p.Animals) == 0 {
		return all
	}
	first := v.stayOf[p.Animals[0]]
	if first == nil {
		return all
	}
	for _, q := range appendClass(nil, first.named, r.paper.class) { // one that names all that the paper names
		if !slices.ContainsFunc(p.Animals, func(id inventory.ID) bool { return !slices.Contains(q.Animals, id) }) {
			all = append(all, q)
		}
	}
	newestFirst(all)
	return all
}

// isFor says whether q is for the holder and the place of the paper p, or of
// the duty's subject where the paper is still to be obtained.
func (r *prerequisite) isFor(d *Duty, p, q *Permit, site inventory.ID) inventory.Tri {
	is := inventory.Yes
	switch {
	case !r.paper.holder:
	case p == nil:
		is = heldBy(d, q)
	case p.Holder.IsZero() || q.Holder.IsZero():
		is = inventory.Unknown
	default:
		is = inventory.Bool(p.Holder == q.Holder)
	}
	switch {
	case !r.paper.place:
	case d.paper != nil && len(d.paper.Sites) > 0:
		for _, s := range d.paper.Sites {
			is = is.And(placed(q, s))
		}
	default:
		is = is.And(placed(q, site))
	}
	return is
}

// inForce is what a verdict about a paper says of it on a day.
func inForce(verdict *Verdict) inventory.Tri {
	switch verdict.Standing {
	case InOrder:
		return inventory.Yes
	case CannotTell:
		return inventory.Unknown
	default:
		return inventory.No
	}
}

// readiness says for each day whether it is in force then and, without a day
// between, has been for the lead.
func (r *prerequisite) readiness(there Line) day.Line[inventory.Tri] {
	is := day.Map(there, inForce)
	if r.lead.IsZero() {
		return is
	}
	sure := r.since(day.Map(is, func(t inventory.Tri) bool { return t == inventory.Yes }))
	perhaps := r.since(day.Map(is, func(t inventory.Tri) bool { return t != inventory.No }))
	return day.Combine(sure, perhaps, func(sure, perhaps bool) inventory.Tri {
		switch {
		case sure:
			return inventory.Yes
		case perhaps:
			return inventory.Unknown
		default:
			return inventory.No
		}
	})
}

// since gives the days on which something has held for the lead.
func (r *prerequisite) since(holds day.Line[bool]) day.Line[bool] {
	b := day.NewBuilder(holds.First())
	var from day.Day // on which the lead of the days at hand is over; unset: it is, or nothing holds
	for on, now := range holds.Changes() {
		switch {
		case now:
			from = r.lead.AddTo(on)
		case from.IsZero():
			b.Add(on, false)
		case from < on:
			b.Add(from, true)
			b.Add(on, false)
		}
		if !now {
			from = 0
		}
	}
	if !from.IsZero() {
		b.Add(from, true)
	}
	return b.Line()
}
