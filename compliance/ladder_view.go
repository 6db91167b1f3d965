package compliance

import (
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// standingsKey is what everybody's standing depends on beside the records.
type standingsKey struct {
	ladder *ladder.Ladder
	path   string
}

// Standings says who may open what at a site, by the ladder that counts there
// today; nil where there is none.
func (v *View) Standings(site inventory.ID) *ladder.Standings {
	path := v.laws[site].At(v.Today(site))
	pack := v.Book.LadderAt(path)
	if pack == nil {
		return nil
	}
	key := standingsKey{pack.Ladder, path}
	s, known := v.standings[key]
	if !known {
		s = ladder.Judge(v.handling(pack.Ladder, path, v.Today(site)))
		if v.standings == nil {
			v.standings = make(map[standingsKey]*ladder.Standings)
		}
		v.standings[key] = s
	}
	return s
}

// handling gathers what standings follow from.
func (v *View) handling(l *ladder.Ladder, path string, today day.Day) ladder.Records {
	zones := make(map[inventory.ID]*time.Location) // to load one takes longer than to judge a session
	r := ladder.Records{Ladder: l, Zone: func(site inventory.ID) *time.Location {
		zone, known := zones[site]
		if !known {
			zone = v.zoneAt(site)
			zones[site] = zone
		}
		return zone
	}}
	if v.Ask.Routine {
		r.Routine = today
	}
	for p := range v.People.All() {
		r.People = append(r.People, v.onLadder(p))
	}
	placed := make(map[inventory.ID][]*ladder.Placement)
	for p := range v.Placements.All() {
		placed[p.Subject.ID] = append(placed[p.Subject.ID], p)
	}
	for s := range v.Species.All() {
		traits := ladder.TraitsOf(s, path)
		r.Species = append(r.Species, ladder.Species{ID: s.ID, Name: s.Accepted, Genus: s.Genus(), Family: s.Family,
			Harmless: s.Venomous.Not(), Place: ladder.Decided(l.Placing.Of(traits), placed[s.ID], v.wasHead)})
	}
	r.Sessions = make([]*ladder.Session, 0, v.Sessions.Len())
	for s := range v.Sessions.All() {
		r.Sessions = append(r.Sessions, s)
	}
	for a := range v.Authorisations.All() {
		r.Authorisations = append(r.Authorisations, a)
	}
	for c := range v.Credits.All() {
		r.Credits = append(r.Credits, c)
	}
	return r
}

func (v *View) wasHead(person inventory.ID, d day.Day) bool {
	p, ok := v.People.Get(person)
	return ok && p.HasAnywhere(Head, d)
}

// onLadder is a person as the ladder sees him.
func (v *View) onLadder(p *Person) ladder.Person {
	out := ladder.Person{ID: p.ID, Born: p.Born, Here: v.atWork(p), Done: v.doneBy(p.Ref()), Papers: v.papersOf(p.Ref()),
		Roles: func(role string, d day.Day) bool { return p.HasAnywhere(Role(role), d) }}
	if feed := v.freshness(TopicActivities, p.Site).feed; feed != nil {
		out.KnownFrom = feed.Complete
	}
	return out
}

// atWork gives the days on which somebody works in the house and is not away.
// Whoever may be back on an unknown day is away until then.
func (v *View) atWork(p *Person) day.Line[bool] {
	line := v.employed(p)
	for _, away := range p.Away {
		gone := day.NewBuilder(false)
		gone.Add(away.From, true)
		if !away.Last.IsZero() {
			gone.Add(away.Last+1, false)
		}
		line = day.Combine(line, gone.Line(), func(here, gone bool) bool { return here && !gone })
	}
	return line
}

// doneBy gives what somebody did or got, by the word for it.
func (v *View) doneBy(person inventory.Ref) map[string][]ladder.Done {
	if v.done == nil {
		v.done = make(map[inventory.Ref]map[string][]ladder.Done)
		for k, list := range v.activities {
			if k.subject.Kind != inventory.KindPerson {
				continue
			}
			of := v.done[k.subject]
			if of == nil {
				of = make(map[string][]ladder.Done)
				v.done[k.subject] = of
			}
			for _, a := range list {
				of[k.what] = append(of[k.what], ladder.Done{On: a.On, Passed: a.Passed, Until: a.Until})
			}
		}
	}
	return v.done[person]
}

// papersOf gives the days on which somebody holds a paper of each class that
// is in force for sure, or may be.
func (v *View) papersOf(person inventory.Ref) map[string]day.Line[inventory.Tri] {
	held := v.papers.held[person]
	if len(held) == 0 {
		return nil
	}
	out := make(map[string]day.Line[inventory.Tri])
	for _, p := range held {
		kind := &permitKind{class: p.Class, holder: true, pending: notEnough}
		alone := kind.open(v, plainRule, p)
		line := day.Map(alone.line(v), inForce)
		if other, ok := out[p.Class]; ok {
			line = day.Combine(other, line, inventory.Tri.Or)
		}
		out[p.Class] = line
	}
	return out
}

// plainRule is asked of a paper that stands for itself.
var plainRule = &Rule{Owner: Administrator}
