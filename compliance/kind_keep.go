package compliance

import (
	"iter"
	"strings"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// keepKind asks that the record of a paper, an animal or a lot is kept until
// the last day that any of its grounds gives: a permit's expiry and five years,
// a departure and two. Its last day is the last on which the line is not "not
// applicable".
//
// What is in the books is kept, unless an activity says that the record was
// destroyed. Destroyed on a day on which it had to be kept, it stays out of
// order for as long as it had to be. A ground of which nobody knows the day
// keeps the record, and is no proof that destroying it was wrong.
type keepKind struct {
	grounds   []ground
	destroyed string // the activity that says so
}

// ground is one reason to keep a record.
type ground struct {
	after    string // see groundsOf
	span     day.Span
	class    string // of paper, where after is paper
	activity string // where after is activity
	paper    *permitKind
}

// groundsOf lists what a record may be kept after, by subject.
var groundsOf = map[inventory.Kind][]string{
	inventory.KindPermit: {"expiry", "activity"},
	inventory.KindLot:    {"expiry", "emptied", "activity"},
	inventory.KindAnimal: {"departure", "paper", "activity"},
}

func readKeepKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindPermit, inventory.KindAnimal, inventory.KindLot)
	k := &keepKind{destroyed: readWord(m, "destroyed")}
	for _, g := range m.Maps("grounds") {
		k.grounds = append(k.grounds, readGround(g, r))
	}
	return k
}

func readGround(m *strict.Map, r *Rule) ground {
	allowed := groundsOf[r.Subject]
	if allowed == nil { // that the subject is wrong is told already
		allowed = []string{"expiry", "emptied", "departure", "paper", "activity"}
	}
	g := ground{after: m.Enum("after", allowed...)}
	m.Text("for", &g.span)
	only := func(key, after string) (word string) {
		if m.Has(key) {
			word = readWord(m, key)
		}
		switch {
		case g.after == after && !m.Has(key):
			m.Fail(key, "is missing: after: %s needs it", after)
		case g.after != after && g.after != "" && m.Has(key):
			m.Fail(key, "belongs to after: %s alone", after)
		}
		return word
	}
	g.class, g.activity = only("class", "paper"), only("activity", "activity")
	g.paper = &permitKind{class: g.class, holder: true, place: true, taxon: true}
	return g
}

func (k *keepKind) activities() []string {
	all := []string{k.destroyed}
	for _, g := range k.grounds {
		all = append(all, g.activity)
	}
	return all
}

// Bind implements Kind. The record of an animal is kept after it has left, by
// the law of the place where it was last.
func (k *keepKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	if r.Subject != inventory.KindAnimal {
		return v.bind(r, "")
	}
	return func(yield func(Duty) bool) {
		b := v.binder(r, "")
		for a := range v.wantedStays() {
			d := b.animalEver(a)
			if d.Applies.Always(inventory.No) {
				continue
			}
			if !yield(d) {
				return
			}
		}
	}
}

// animalEver is a duty about an animal from the day on which it came, held or
// not: after it has left it stays at its last site.
func (b *binder) animalEver(a *stay) Duty {
	sites := day.NewBuilder(b.view.siteOn(a, 0))
	came := a.Arrived
	for _, s := range a.Stays {
		sites.Add(s.From, b.view.SiteOf(s.Enclosure))
		if came.IsZero() {
			came = s.From
		}
	}
	at := sites.Line()
	there := day.Steps(false, day.Change[bool]{On: max(came, day.First), To: true})
	d := b.dutyUnder(b.lawful(at), a.Ref(), at, there, cohort{species: a.Species, bred: a.Origin.Bred}, attributes{animal: a.Animal, species: a.species})
	d.animal = a
	return d
}

// required says whether the record must be kept on a day.
func required(all []lastDay, on day.Day) inventory.Tri {
	out := inventory.No
	for _, l := range all {
		last, known := l.until.Known()
		switch {
		case known:
			out = out.Or(inventory.Bool(on <= last))
		case l.until.Kind == day.Never:
			return inventory.Yes
		default:
			out = out.Or(inventory.Unknown)
		}
	}
	return out
}

// Judge implements Kind.
func (k *keepKind) Judge(v *View, d *Duty) Line {
	all := k.lastDays(v, d)
	gone := v.activities[activityKey{k.destroyed, d.Subject}]
	var turns []day.Day
	for _, l := range all {
		if last, known := l.until.Known(); known {
			turns = append(turns, last+1)
		}
	}
	for _, a := range gone {
		turns = append(turns, a.On)
	}
	b := day.NewBuilder(v.in.Of(k.on(d, all, gone, 0)))
	for _, on := range sorted(turns) {
		b.Add(on, v.in.Of(k.on(d, all, gone, on)))
	}
	line := b.Line()
	return day.Switch(d.Sites, func(site inventory.ID) Line { return v.throughFacts(TopicActivities, site, line) })
}

func (k *keepKind) on(d *Duty, all []lastDay, gone []*Activity, on day.Day) Verdict {
	must := required(all, on)
	if must == inventory.No {
		return Verdict{}
	}
	destroyed := inventory.No
	for _, a := range gone {
		if a.On <= on && a.Passed != inventory.No {
			destroyed = destroyed.Or(a.Passed)
		}
	}
	complete := Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}
	switch {
	case destroyed == inventory.No:
		return Verdict{Standing: InOrder, State: MustBeKept}
	case must == inventory.Unknown:
		return Verdict{Standing: CannotTell, State: KeepUnknown, Step: complete}
	case destroyed == inventory.Unknown:
		return Verdict{Standing: CannotTell, State: DestroyedUnknown, Step: complete}
	default:
		return Verdict{Standing: OutOfOrder, State: DestroyedEarly, Step: Step{Do: RestoreRecord, Instance: d.Subject, Owner: d.Rule.Owner}}
	}
}

// Why implements Kind.
func (k *keepKind) Why(v *View, d *Duty, on day.Day) (reasons []Reason) {
	for _, l := range k.lastDays(v, d) {
		what := map[string]string{"activity": strings.ReplaceAll(l.ground.activity, ".", " "), "paper": "end of paper " + l.of,
			"departure": "departure", "emptied": "last vial", "expiry": "expiry"}[l.ground.after]
		from := l.from.String()
		if l.from.Kind == day.Never {
			from = "not yet"
		}
		reasons = append(reasons, Because("keep-ground", "ground", what, "when", from, "within", l.ground.span.String(), "until", l.until.String()))
	}
	for _, a := range v.activities[activityKey{k.destroyed, d.Subject}] {
		if a.On <= on {
			reasons = append(reasons, Because("destroyed", "activity", a.What, "day", a.On.String(), "passed", a.Passed.String()))
		}
	}
	return append(reasons, v.whyTopic(TopicActivities, d.Site(on), on)...)
}
