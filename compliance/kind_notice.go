package compliance

import (
	"iter"
	"strings"
	"time"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// noticeKind asks that an authority is told within a time of an event. Each
// event is a duty of its own, from its day on, under the law of the place and
// the rules that were in effect on that day.
//
// The facts apply in this order: what was told for sure makes in order, late
// or not; what may have been told makes cannot tell; else the time that the
// rule gives decides. Where the activities are listed only from a day after
// the event, nothing proves that nobody was told.
type noticeKind struct {
	happens  []string // activities about the subject that are events
	animal   []string // events that an animal's own record tells
	told     string   // the activity by which the authority is told
	within   grace
	calendar string         // whose working days
	zone     *time.Location // in which the authority's days end; nil: the site's
	forget   day.Span       // after which an event is asked about no more; empty: never
}

// The events that an animal's own record tells, beside the ways in which it
// leaves. A move is one to another site: what moves within a site is told to
// nobody.
const (
	eventArrival = "arrival"
	eventBirth   = "birth"
	eventMove    = "move"
)

// AnimalEvents lists them all.
var AnimalEvents = []string{eventArrival, eventBirth, eventMove,
	string(inventory.Died), string(inventory.Transferred), string(inventory.Lent), string(inventory.Escaped), string(inventory.Released)}

func readNoticeKind(m *strict.Map, r *Rule) Kind {
	wrongSubject(m, r, inventory.KindAnimal, inventory.KindSite, inventory.KindPerson, inventory.KindPlace, inventory.KindPermit, inventory.KindOrganisation)
	k := &noticeKind{happens: readWords(m, "events"), told: readWord(m, "told"), calendar: m.OptString("calendar")}
	for i, what := range m.OptStrings("animal_events") {
		if !isOneOf(what, AnimalEvents) {
			m.FailItem("animal_events", i, "%q is not an event of an animal; allowed: %s", what, strings.Join(AnimalEvents, ", "))
		}
		k.animal = append(k.animal, what)
	}
	switch {
	case len(k.animal) > 0 && r.Subject != inventory.KindAnimal && r.Subject != inventory.KindNone:
		m.Fail("animal_events", "only a rule about animals has them; write events, or subject: animal")
	case !m.Has("events") && !m.Has("animal_events"):
		m.Fail("", "needs events and/or animal_events: of what must the authority be told?")
	}
	m.Text("within", &k.within)
	spanned := k.within.period.Shape == day.AfterEvent
	if k.within.period.Moves = m.OptBool("moves_to_working_day", false); k.within.period.Moves && !spanned {
		m.Fail("moves_to_working_day", "hours and working days never move; only a span such as 10 days does")
	}
	if zone := m.OptString("zone"); zone != "" {
		if err := inventory.CheckZone("zone", zone); err != nil {
			m.Fail("zone", "%s", strings.TrimPrefix(err.Error(), "zone: "))
		}
		k.zone = zoneOf(zone)
	}
	m.OptText("forgotten_after", &k.forget)
	return k
}

// readWords reads a list of activities, which may be left out.
func readWords(m *strict.Map, key string) []string {
	words := m.OptStrings(key)
	for i, w := range words {
		if err := CheckClass(key, w); err != nil {
			m.FailItem(key, i, "%s", strings.TrimPrefix(err.Error(), key+": "))
		}
	}
	return words
}

func isOneOf(what string, allowed []string) bool {
	for _, a := range allowed {
		if a == what {
			return true
		}
	}
	return false
}

func (k *noticeKind) activities() []string { return append([]string{k.told}, k.happens...) }

// Bind implements Kind: a duty for each event.
func (k *noticeKind) Bind(v *View, r *Rule) iter.Seq[Duty] {
	if r.Subject == inventory.KindAnimal {
		return k.bindAnimals(v, r)
	}
	return func(yield func(Duty) bool) {
		for d := range v.bind(r, TopicActivities) {
			events := v.happened(k.happens, d.Subject)
			for i := range events {
				e := &events[i]
				e.applies, e.site = d.Applies.At(e.on), d.Site(e.on)
			}
			if !k.each(v, d, events, yield) {
				return
			}
		}
	}
}

// bindAnimals asks for each event under the law of the site of that day. An
// animal that is no longer held, or never was for a whole day, has events all
// the same.
func (k *noticeKind) bindAnimals(v *View, r *Rule) iter.Seq[Duty] {
	return func(yield func(Duty) bool) {
		b := v.binder(r, TopicActivities)
		for a := range v.wantedStays() {
			events := v.animalEvents(k, a)
			var d Duty
			for i := range events {
				e := &events[i]
				d = b.animalAt(a, e.site)
				e.applies = d.Applies.At(e.day())
			}
			if !k.each(v, d, events, yield) {
				return
			}
		}
	}
}

// each yields a duty for each event to which the rule may apply.
func (k *noticeKind) each(v *View, d Duty, events []event, yield func(Duty) bool) bool {
	events = asked(events)
	k.match(v.activities[activityKey{k.told, d.Subject}], events)
	for i := range events {
		e := events[i]
		one := d
		one.Occurrence, one.Sites, one.event = e.occurrence(), day.Constant(e.site), &e
		from := day.Change[inventory.Tri]{On: e.day(), To: e.applies}
		one.Applies = day.Steps(inventory.No, from)
		if !k.forget.IsZero() {
			one.Applies = day.Steps(inventory.No, from, day.Change[inventory.Tri]{On: k.forgotten(&e), To: inventory.No})
		}
		if !yield(one) {
			return false
		}
	}
	return true
}

// forgotten gives the first day on which an event is asked about no more.
func (k *noticeKind) forgotten(e *event) day.Day {
	if k.forget.IsZero() {
		return day.Last
	}
	return k.forget.AddTo(e.day()) + 1
}

// Judge implements Kind.
func (k *noticeKind) Judge(v *View, d *Duty) Line {
	e := d.event
	t := k.terms(v, e)
	turns := []day.Day{e.day(), e.sure, e.maybe}
	turns = append(turns, t.turns()...)
	b := day.NewBuilder(notApplicable)
	for _, on := range sorted(turns) {
		if on >= e.day() {
			b.Add(on, v.in.Of(k.on(v, d, t, on)))
		}
	}
	return b.Line()
}

func (k *noticeKind) on(v *View, d *Duty, t terms, on day.Day) Verdict {
	e := d.event
	complete := Step{Do: CompleteRecord, Instance: d.Subject, Owner: d.Rule.Owner}
	switch {
	case !e.sure.IsZero() && e.sure <= on:
		return Verdict{Standing: InOrder, State: Told}
	case !e.maybe.IsZero() && e.maybe <= on:
		return Verdict{Standing: CannotTell, State: ResultUnknown, Step: complete}
	case e.on.IsZero():
		return Verdict{Standing: CannotTell, State: EventDayUnknown, Step: complete}
	}
	step := Step{Do: TellAuthority, Instance: d.Subject, By: t.by, Legal: t.legal, At: t.at, Window: d.Rule.Window, Owner: d.Rule.Owner, Provisional: t.provisional}
	out := Verdict{Standing: t.standing(on), State: NotToldYet, Step: step}
	switch {
	case out.Standing == OutOfOrder && v.listedFrom(TopicActivities, e.site) > e.on:
		out.Standing, out.State = CannotTell, NotListedThen
	case out.Standing == OutOfOrder:
		out.State = NotTold
	case out.Standing == CannotTell && t.atOnce:
		out.State = ToldAtOnceUnknown
	case out.Standing == CannotTell:
		out.State = EventTimeUnknown
	}
	return out
}

// listedFrom gives the day from which the list of a topic is complete at a
// site; the last day of all where nobody keeps one.
func (v *View) listedFrom(topic Topic, site inventory.ID) day.Day {
	if feed := v.freshness(topic, site).feed; feed != nil {
		return feed.Complete
	}
	return day.Last
}

// Why implements Kind.
func (k *noticeKind) Why(v *View, d *Duty, on day.Day) []Reason {
	e := d.event
	reasons := []Reason{Because("event", "activity", e.what, "when", e.when(v))}
	if e.on.IsZero() {
		return append(reasons, k.whyTold(v, d, on)...)
	}
	t := k.terms(v, e)
	reasons = append(reasons, Because("notice-due", "within", k.within.String(), "when", t.due(v, e)))
	if t.provisional {
		reasons = append(reasons, Because("holidays-unknown", "day", t.legal.String()))
	}
	return append(reasons, k.whyTold(v, d, on)...)
}

// whyTold tells of every notice to that day: which of them was of this event
// follows from all.
func (k *noticeKind) whyTold(v *View, d *Duty, on day.Day) (reasons []Reason) {
	e := d.event
	for _, a := range v.activities[activityKey{k.told, d.Subject}] {
		if a.On <= on && a.On >= e.on {
			said := event{on: a.On, at: a.At, site: e.site}
			reasons = append(reasons, Because("notice-given", "activity", k.told, "when", said.when(v), "passed", a.Passed.String()))
		}
	}
	switch {
	case len(reasons) == 0:
		return []Reason{Because("notice-none", "activity", k.told)}
	case e.sure.IsZero() || e.sure > on:
		return append(reasons, Because("notice-of-another"))
	}
	return reasons
}
