package compliance

import (
	"iter"
	"slices"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// orderKind asks that one thing is there before an animal arrives: antivenom
// in hand, a paper in force, or an activity such as an inspection.
//
// An animal arrives on the day on which it comes to a site where the rule is
// in effect. One that was there when the rule began did not arrive under it,
// and one that was born there did not arrive at all.
//
// The facts apply in this order: whether day and site of the arrival are
// known; whether the first thing was there on the day before and still is on
// the day itself: then it came first. Where it came on the very day, which
// came first cannot be told on that day. Where it was not there the animal
// came too early, until the first thing comes: what is done late is in order
// again. What becomes of it afterwards is asked by other rules.
type orderKind struct {
	lead  day.Span // from acting to having it
	first first
}

func readOrderKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindAnimal)
	m.Enum("before", "arrival")
	k := &orderKind{}
	m.OptText("lead", &k.lead)
	ways := 0
	if am, ok := m.OptMap("antivenom"); ok {
		ways++
		k.first = readAntivenomFirst(am)
	}
	if pm, ok := m.OptMap("paper"); ok {
		ways++
		k.first = &paperFirst{readPaper(pm, r)}
	}
	if cm, ok := m.OptMap("activity"); ok {
		ways++
		k.first = readActivityFirst(cm)
	}
	if ways != 1 {
		m.Fail("", "needs one thing that must come first; allowed: either antivenom, paper or activity")
	}
	return k
}

// Bind implements Kind. The list that the answer rests on must reach back to
// the arrival, so Judge looks through it itself.
func (k *orderKind) Bind(v *View, r *Rule) iter.Seq[Duty] { return v.bindArrivals(r) }

// arrived is an animal's arrival under a rule, and what is not known of it.
type arrived struct {
	on    day.Day
	site  inventory.ID
	lacks Code // then the arrival was on that day or earlier
}

// arrival finds when and where the animal of a duty arrived; ok false where
// it did not arrive under the rule.
func (k *orderKind) arrival(d *Duty) (in arrived, ok bool) {
	a := d.animal
	in = arrived{on: d.begins, site: a.sites.At(d.begins)}
	before := a.sites.At(in.on - 1)
	switch {
	case in.on.IsZero() || in.site == inventory.Nowhere:
		in.lacks = SiteUnknown
	case before == inventory.Nowhere:
		in.lacks = SiteUnknown
	case before == in.site: // it was there already
		return in, false
	case before == inventory.ID{} && a.Arrived.IsZero():
		in.lacks = ArrivalUnknown
	case !a.Born.IsZero() && a.Born == a.Arrived && a.Arrived == in.on:
		return in, false
	}
	if in.on.IsZero() || in.site == inventory.Nowhere {
		known := func(site inventory.ID) bool { return site != inventory.Nowhere && site != inventory.ID{} }
		in.on, in.site, _ = a.sites.Next(max(in.on, day.First-1), known)
	}
	return in, true
}

// Judge implements Kind.
func (k *orderKind) Judge(v *View, d *Duty) Line {
	in, ok := k.arrival(d)
	switch {
	case !ok:
		return day.Constant(notApplicable)
	case in.site == inventory.ID{}: // it never was anywhere that is recorded
		return day.Constant(v.in.Of(k.doubt(d, in.lacks)))
	}
	ways := k.first.ways(v, d, in)
	missed := k.step(v, d, in, ways)
	before := Verdict{Standing: InOrder, State: NotHereYet, Step: missed}
	if in.lacks != "" {
		before = Verdict{}
	}
	line := from(v.in.Of(before), in.on, k.since(v, d, in, ways, missed))
	return k.throughList(v, in, line)
}

// since answers from the day of the arrival on.
func (k *orderKind) since(v *View, d *Duty, in arrived, ways []way, missed Step) Line {
	there, came := day.Constant(inventory.No), inventory.No
	for _, w := range ways {
		there = day.Combine(there, w.there, inventory.Tri.Or)
		came = came.Or(w.cameBefore(in.on))
	}
	if in.lacks == "" && came == inventory.Yes {
		return day.Constant(v.in.Of(Verdict{Standing: InOrder, State: CameFirst}))
	}
	since := v.in.Of(Verdict{Standing: InOrder, State: CameSince})
	turns := []day.Day{in.on, in.on + 1}
	for on := range there.Changes() {
		if on > in.on {
			turns = append(turns, on)
		}
	}
	b := day.NewBuilder(notApplicable)
	seen := came
	for _, on := range sorted(turns) {
		is := there.At(on)
		seen = seen.Or(is)
		switch {
		case is == inventory.Yes && (on > in.on || in.lacks != ""):
			b.Add(on, since)
			return b.Line()
		case in.lacks != "":
			b.Add(on, v.in.Of(k.doubt(d, in.lacks)))
		case is == inventory.Yes:
			b.Add(on, v.in.Of(k.doubt(d, SameDay)))
			b.Add(on+1, since)
			return b.Line()
		case seen == inventory.Unknown:
			b.Add(on, v.in.Of(k.doubt(d, k.first.doubt())))
		default:
			late := missed
			late.Do = k.first.late()
			b.Add(on, v.in.Of(Verdict{Standing: OutOfOrder, State: CameTooEarly, Step: late}))
		}
	}
	return b.Line()
}

func (k *orderKind) doubt(d *Duty, state Code) Verdict {
	return Verdict{Standing: CannotTell, State: state, Step: Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
}

// step is what must be done so that the first thing is there on the day
// before the arrival; nothing where it will be.
func (k *orderKind) step(v *View, d *Duty, in arrived, ways []way) Step {
	came := inventory.No
	for _, w := range ways {
		came = came.Or(w.cameBefore(in.on))
	}
	s := Step{Do: k.first.act(), Instance: d.Subject, By: in.on - 1, Legal: in.on - 1, Window: d.Rule.Window, Owner: d.Rule.Owner}
	switch {
	case came == inventory.Yes:
		return Step{}
	case came == inventory.Unknown && !slices.ContainsFunc(ways, func(w way) bool { return w.there.At(in.on) == inventory.Yes }):
		s.Do = CompleteRecord
	case !k.lead.IsZero():
		by := day.WeekendsOnly().Earlier(k.lead.SubtractFrom(in.on - 1))
		s.By, s.Provisional = by.On, by.Provisional
	}
	return s
}

// throughList: that the first thing was not there before the arrival is told
// only where its list reaches back to the day before.
func (k *orderKind) throughList(v *View, in arrived, line Line) Line {
	topic := k.first.topic()
	if list := v.freshness(topic, in.site); list.feed != nil && list.feed.Complete >= in.on {
		line = day.Map(line, func(verdict *Verdict) *Verdict {
			if verdict.Standing != OutOfOrder {
				return verdict
			}
			return v.in.Of(Verdict{Standing: CannotTell, State: ListMissing, Cause: list.feed.Ref(), Step: verdict.Step})
		})
	}
	return v.throughList(topic, in.site, line)
}

// Why implements Kind.
func (k *orderKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	in, ok := k.arrival(d)
	switch {
	case !ok:
		return []Reason{Because("order-no-arrival")}
	case in.site == inventory.ID{}:
		return []Reason{Because("order-arrival-unknown", "lacks", string(in.lacks))}
	case in.lacks != "":
		reasons = append(reasons, Because("order-arrival-unknown", "lacks", string(in.lacks)))
	}
	reasons = append(reasons, Because("order-arrival", "day", in.on.String(), "site", v.Site(in.site).Title))
	if !k.lead.IsZero() {
		reasons = append(reasons, Because("order-lead", "lead", k.lead.String()))
	}
	reasons = append(reasons, k.first.why(v, d, in)...)
	list := Duty{Rule: d.Rule, Applies: day.Constant(inventory.Yes), Sites: day.Constant(in.site), Topic: k.first.topic()}
	return append(reasons, v.whyList(&list, on)...)
}
