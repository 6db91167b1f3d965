package compliance

import (
	"slices"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Ask is the question put to an evaluation.
type Ask struct {
	Now time.Time
	// On replaces each site's today, for a check as of another day; unset:
	// the day of Now in the site's zone.
	On day.Day
	// Until is the last day for which yearly duties are made; unset: 24
	// months from today.
	Until day.Day
	inventory.Assumptions
}

// View is the snapshot as judging reads it: indexed once, so that a duty
// finds its records without a search. It serves one evaluation.
type View struct {
	*Snapshot
	Book *Rulebook
	Ask  Ask
	in   *Interner
	only inventory.Ref // set: bind this subject alone

	todays     map[inventory.ID]day.Day          // by site; in UTC under zero
	laws       map[inventory.ID]day.Line[string] // jurisdiction by site
	calendars  map[inventory.ID]day.Calendar     // by authority
	stays      []stay                            // of every animal, in the order of their table
	stayOf     map[inventory.ID]*stay
	holdings   []inventory.Ref                                   // sorted
	counts     map[inventory.Ref]day.Line[int]                   // animals of each holding
	kept       map[inventory.Ref]map[inventory.Ref]day.Line[int] // the same by custodian; see keptBy
	speciesAt  map[inventory.ID][]inventory.ID                   // species ever held at a site
	papers     paperIndex
	decisions  map[inventory.Ref][]*Decision
	activities map[activityKey][]*Activity
	feeds      map[feedKey]*Feed
	fresh      map[feedKey]proof // see freshness
	unwatched  map[inventory.Ref][]*NotWatched
	leaving    map[inventory.Ref]day.Day // planned departures that count
	coverage   map[inventory.ID][]*inventory.Coverage
	lots       map[productSite][]*inventory.Lot // of a product, ever at a site
	vials      map[stockKey]day.Line[atHand]
	near       map[inventory.ID][]inventory.ID      // sites with a place that says how far a site is; see sitesNear
	supplies   map[inventory.ID][]*inventory.Supply // by product
	agreements map[productSite][]*inventory.Agreement
	orders     map[inventory.ID][]*inventory.Order // by product
	vialPlans  map[productSite][]*inventory.Planned
	scenes     map[stageKey]*Staged
	clashes    map[stageKey]map[inventory.Ref]day.Line[togetherness]
	reliefs    map[extraKey]relief
	approvals  map[productSite]day.Line[inventory.Tri] // see allowed
	placeSite  map[inventory.ID]inventory.ID
	standings  map[standingsKey]*ladder.Standings
	done       map[inventory.Ref]map[string][]ladder.Done
	sessions   map[inventory.ID][]*ladder.Session // by trainee
}

type activityKey struct {
	what    string
	subject inventory.Ref
}

type feedKey struct {
	topic Topic
	site  inventory.ID
}

type productSite struct{ product, site inventory.ID }

// NewView indexes a snapshot for one question.
func NewView(book *Rulebook, s *Snapshot, ask Ask) *View {
	v := &View{
		Snapshot: s, Book: book, Ask: ask, in: NewInterner(),
		todays:     make(map[inventory.ID]day.Day),
		laws:       make(map[inventory.ID]day.Line[string]),
		calendars:  make(map[inventory.ID]day.Calendar),
		decisions:  make(map[inventory.Ref][]*Decision),
		activities: make(map[activityKey][]*Activity),
		feeds:      make(map[feedKey]*Feed),
		fresh:      make(map[feedKey]proof),
		unwatched:  make(map[inventory.Ref][]*NotWatched),
		leaving:    make(map[inventory.Ref]day.Day),
		coverage:   make(map[inventory.ID][]*inventory.Coverage),
		lots:       make(map[productSite][]*inventory.Lot),
		vials:      make(map[stockKey]day.Line[atHand]),
		supplies:   make(map[inventory.ID][]*inventory.Supply),
		agreements: make(map[productSite][]*inventory.Agreement),
		orders:     make(map[inventory.ID][]*inventory.Order),
		vialPlans:  make(map[productSite][]*inventory.Planned),
		scenes:     make(map[stageKey]*Staged),
		clashes:    make(map[stageKey]map[inventory.Ref]day.Line[togetherness]),
		reliefs:    make(map[extraKey]relief),
		approvals:  make(map[productSite]day.Line[inventory.Tri]),
		placeSite:  make(map[inventory.ID]inventory.ID),
	}
	v.indexSites()
	v.indexStock()
	v.indexPlans()
	v.indexAnimals()
	v.papers = indexPapers(s)
	v.indexNamed()
	v.indexDeeds()
	return v
}

func (v *View) indexSites() {
	v.todays[inventory.ID{}] = v.todayIn(time.UTC)
	for s := range v.Sites.All() {
		v.todays[s.ID] = v.todayIn(zoneOf(s.Zone))
		v.laws[s.ID] = inventory.LineOf("", s.Jurisdiction)
	}
	for a := range v.Authorities.All() {
		// An authority whose calendar is not in the data gets the zero
		// calendar: weekends only, and every day provisional.
		if cal, err := v.Book.Holidays.Calendar(a.Calendar); err == nil {
			v.calendars[a.ID] = cal
		}
	}
}

func (v *View) todayIn(zone *time.Location) day.Day {
	if !v.Ask.On.IsZero() {
		return v.Ask.On
	}
	return day.In(v.Ask.Now, zone)
}

func zoneOf(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil { // records refuse such a zone; the cautious reading is the easternmost day
		return time.FixedZone("UTC+14", 14*3600)
	}
	return zone
}

func (v *View) indexStock() {
	for p := range v.Places.All() {
		v.placeSite[p.ID] = p.Site
	}
	for c := range v.Coverage.All() {
		v.coverage[c.Species] = append(v.coverage[c.Species], c)
	}
	for l := range v.Lots.All() {
		v.indexLot(l)
	}
	for s := range v.Supplies.All() {
		v.supplies[s.Product] = append(v.supplies[s.Product], s)
	}
	for o := range v.Orders.All() {
		v.orders[o.Product] = append(v.orders[o.Product], o)
	}
	for a := range v.Agreements.All() {
		k := productSite{a.Product, a.Site}
		v.agreements[k] = append(v.agreements[k], a)
	}
	for _, rows := range v.coverage {
		slices.SortFunc(rows, func(a, b *inventory.Coverage) int { return slices.Compare(a.ID[:], b.ID[:]) })
	}
}

// indexLot puts a lot at each site at which it ever was.
func (v *View) indexLot(l *inventory.Lot) {
	for _, m := range l.Movements {
		k := productSite{l.Product, v.placeSite[m.Place]}
		if here := v.lots[k]; len(here) == 0 || here[len(here)-1] != l {
			v.lots[k] = append(here, l)
		}
	}
}

// indexPlans keeps the planned departures that count: people leaving always,
// animals leaving only under the assumption that plans come true.
func (v *View) indexPlans() {
	for p := range v.Planned.All() {
		if !p.Cancelled.IsZero() {
			continue
		}
		if p.Kind == inventory.PlanVials {
			k := productSite{p.Product, p.Site}
			v.vialPlans[k] = append(v.vialPlans[k], p)
		}
		counts := p.Kind == inventory.PlanPerson || p.Kind == inventory.PlanLeaving && v.Ask.Plans
		if first, known := v.leaving[p.Subject]; counts && (!known || p.On < first) {
			v.leaving[p.Subject] = p.On
		}
	}
}

func (v *View) indexDeeds() {
	for d := range v.Decisions.All() {
		v.decisions[d.Subject] = append(v.decisions[d.Subject], d)
	}
	for a := range v.Activities.All() {
		k := activityKey{a.What, a.Subject}
		v.activities[k] = append(v.activities[k], a)
	}
	for _, list := range v.activities {
		slices.SortFunc(list, func(a, b *Activity) int {
			if a.On != b.On {
				return int(a.On) - int(b.On)
			}
			return slices.Compare(a.ID[:], b.ID[:])
		})
	}
	for f := range v.Feeds.All() {
		v.feeds[feedKey{f.Topic, f.Site}] = f
	}
	for n := range v.NotWatched.All() {
		v.unwatched[n.Subject] = append(v.unwatched[n.Subject], n)
	}
}

// Today gives the civil day at a site at the instant of the question.
func (v *View) Today(site inventory.ID) day.Day {
	if d, ok := v.todays[site]; ok {
		return d
	}
	return v.todays[inventory.ID{}]
}

// DayOfNow gives the civil day at a site at Ask.Now, whatever day is asked
// about: by it, what should have come is overdue.
func (v *View) DayOfNow(site inventory.ID) day.Day {
	zone := time.UTC
	if s, ok := v.Sites.Get(site); ok {
		zone = zoneOf(s.Zone)
	}
	return day.In(v.Ask.Now, zone)
}

// Horizon gives the last day for which yearly duties are made.
func (v *View) Horizon(site inventory.ID) day.Day {
	if !v.Ask.Until.IsZero() {
		return v.Ask.Until
	}
	return v.Today(site).AddMonths(24)
}

// calendarOf gives the working days of an authority.
func (v *View) calendarOf(authority inventory.ID) day.Calendar { return v.calendars[authority] }

// decided gives the days on which a ruling about a subject counts.
func (v *View) decided(ruling Ruling, subject inventory.Ref) day.Line[bool] {
	line := day.Constant(false)
	for _, d := range v.decisions[subject] {
		if d.Ruling == ruling {
			line = day.Combine(line, d.Line(), func(a, b bool) bool { return a || b })
		}
	}
	return line
}
