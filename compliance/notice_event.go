package compliance

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// event is something that happened to a subject and of which somebody must be
// told.
type event struct {
	what  string
	on    day.Day   // unset: that it happened is known, and not when
	since day.Day   // where the day is not known: it happened on this day at the latest
	at    time.Time // zero: only the day is known
	nth   int       // of those of one name and day; the first has 1
	site  inventory.ID

	applies     inventory.Tri
	sure, maybe day.Day // from which it was told for sure, and perhaps; unset: not
}

// day gives the first day on which the event is asked about.
func (e *event) day() day.Day { return max(e.on, e.since, day.First) }

// occurrence names the event, as its findings are known.
func (e *event) occurrence() string {
	name := e.what
	if !e.on.IsZero() {
		name += " " + e.on.String()
	}
	if e.nth > 1 {
		name += " " + strconv.Itoa(e.nth)
	}
	return name
}

// when gives the instant or the day of an event, as reasons say it.
func (e *event) when(v *View) string {
	if e.at.IsZero() {
		return orUnknown(e.on)
	}
	return clock(e.at, v.zoneAt(e.site))
}

// clock writes an instant as a zone's clock shows it.
func clock(t time.Time, zone *time.Location) string { return t.In(zone).Format("2006-01-02 15:04 MST") }

// zoneAt gives the zone of a site; UTC where the site is not known.
func (v *View) zoneAt(site inventory.ID) *time.Location { return zoneOf(v.Site(site).Zone) }

// byTime orders events: by day, by the instants where both are known, and
// else as they came.
func (e *event) byTime(o event) int {
	if c := cmp.Compare(e.on, o.on); c != 0 || e.at.IsZero() || o.at.IsZero() {
		return c
	}
	return e.at.Compare(o.at)
}

// happened gives the activities about a subject that are events, in order of
// time. Whether it was passed says nothing: what happened, happened.
func (v *View) happened(words []string, subject inventory.Ref) (all []event) {
	for _, what := range words {
		nth := make(map[day.Day]int)
		for _, a := range v.activities[activityKey{what, subject}] { // by day, then in the order in which they were recorded
			nth[a.On]++
			all = append(all, event{what: what, on: a.On, at: a.At, nth: nth[a.On]})
		}
	}
	slices.SortStableFunc(all, func(a, b event) int { return cmp.Compare(a.on, b.on) })
	return all
}

// animalEvents gives what happened to an animal, in order of time. What its own
// record tells and an activity of the same day are one event, of which the
// activity may know the instant.
func (v *View) animalEvents(k *noticeKind, a *stay) []event {
	acts := v.happened(k.happens, a.Ref())
	for i := range acts {
		acts[i].site = v.siteOn(a, acts[i].on)
	}
	var own []event
	for _, e := range v.ownEvents(a) {
		if !isOneOf(e.what, k.animal) {
			continue
		}
		if i := slices.IndexFunc(acts, func(x event) bool { return x.on == e.on }); i >= 0 {
			e.at = acts[i].at
			acts = slices.Delete(acts, i, i+1)
		}
		own = append(own, e)
	}
	all := append(own, acts...)
	slices.SortStableFunc(all, func(a, b event) int { return cmp.Compare(a.on, b.on) })
	return all
}

// ownEvents gives the events that an animal's record tells.
func (v *View) ownEvents(a *stay) (all []event) {
	add := func(what string, on day.Day, site inventory.ID) {
		all = append(all, event{what: what, on: on, nth: 1, site: site})
	}
	switch {
	case a.Arrived.IsZero():
		e := event{what: eventArrival, nth: 1, site: v.siteOn(a, 0)}
		if len(a.Stays) > 0 {
			e.since = a.Stays[0].From
		}
		all = append(all, e)
	case a.Arrived == a.Born:
		add(eventBirth, a.Born, v.siteOn(a, a.Arrived))
	default:
		add(eventArrival, a.Arrived, v.siteOn(a, a.Arrived))
	}
	for i, s := range a.Stays {
		if to := v.SiteOf(s.Enclosure); i > 0 && to != v.SiteOf(a.Stays[i-1].Enclosure) && s.From > a.Arrived {
			add(eventMove, s.From, to)
		}
	}
	if a.Left != nil {
		add(string(a.Left.How), a.Left.On, v.siteOn(a, a.Left.On))
	}
	return all
}

// siteOn gives the site where an animal was last put by a day, held or not;
// the first that is known before that, and Nowhere where none is.
func (v *View) siteOn(a *stay, on day.Day) inventory.ID {
	site := inventory.Nowhere
	for i, s := range a.Stays {
		if i == 0 || s.From <= on {
			site = v.SiteOf(s.Enclosure)
		}
	}
	return site
}

// asked leaves the events to which the rule may apply.
func asked(events []event) []event {
	return slices.DeleteFunc(events, func(e event) bool { return e.applies == inventory.No })
}

// match finds what was told of which event, once by the notices that got
// through for sure and once by those that may have, too. A notice tells of one
// event: of the latest before it of which nothing has told yet, so that what is
// left untold is what is oldest. A notice of an event's day comes after it,
// unless the instants of both say otherwise.
//
// An event of which it is unknown whether the rule applies may need none of
// the notices, so that for the others it takes none that may be theirs.
func (k *noticeKind) match(notices []*Activity, events []event) {
	var all, certain, doubtful []*event
	for i := range events {
		e := &events[i]
		all = append(all, e)
		if e.applies == inventory.Yes {
			certain = append(certain, e)
		} else {
			doubtful = append(doubtful, e)
		}
	}
	k.tell(notices, all, inventory.Yes, func(e *event) *day.Day { return &e.sure })
	if len(doubtful) > 0 {
		k.tell(notices, all, inventory.Unknown, func(e *event) *day.Day { return &e.maybe })
		for _, e := range certain {
			e.maybe = 0
		}
	}
	k.tell(notices, certain, inventory.Unknown, func(e *event) *day.Day { return &e.maybe })
}

// tell goes through the notices that were passed, or of which that is as much
// as least, in order of time.
func (k *noticeKind) tell(notices []*Activity, events []*event, least inventory.Tri, told func(*event) *day.Day) {
	var said []event
	for _, a := range notices {
		if a.Passed == inventory.Yes || a.Passed == least {
			said = append(said, event{on: a.On, at: a.At})
		}
	}
	slices.SortStableFunc(said, func(a, b event) int { return cmp.Or(cmp.Compare(a.on, b.on), a.at.Compare(b.at)) })
	for _, n := range said {
		var latest *event
		for _, e := range events {
			open := told(e).IsZero() && n.on < k.forgotten(e) && e.byTime(n) <= 0
			if open && (latest == nil || e.byTime(*latest) >= 0) {
				latest = e
			}
		}
		if latest != nil {
			*told(latest) = max(n.on, latest.day())
		}
	}
}
