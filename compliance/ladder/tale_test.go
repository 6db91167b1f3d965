package ladder

import (
	"slices"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// tale is a small history that a test tells step by step.
type tale struct {
	t       testing.TB
	ladder  *Ladder
	people  []*Person
	kinds   []*Species
	records Records
}

// tell begins a tale under a ladder.
func tell(t testing.TB, ladder string) *tale {
	return &tale{t: t, ladder: parsed(t, ladder)}
}

// called makes an identity of a name.
func called(name string) (out inventory.ID) {
	if len(name) > len(out) {
		panic("too long a name: " + name)
	}
	copy(out[:], name)
	return out
}

func on(text string) day.Day { return day.MustParse(text) }

// instant is an hour of a day in UTC.
func instant(d day.Day, hour, minute int) time.Time {
	return day.StartOf(d, time.UTC).Add(time.Duration(60*hour+minute) * time.Minute)
}

// person adds somebody who is always there, with roles that he always has.
func (x *tale) person(name string, roles ...string) *Person {
	p := &Person{ID: called(name), Here: day.Constant(true), Done: map[string][]Done{}, Papers: map[string]day.Line[inventory.Tri]{}, KnownFrom: day.First, Born: on("1990-01-01")}
	p.Roles = func(role string, _ day.Day) bool { return slices.Contains(roles, role) }
	x.people = append(x.people, p)
	return p
}

// kind adds a species of a family at a stage.
func (x *tale) kind(name, family string, stage int) *Species {
	s := &Species{ID: called(name), Name: name, Genus: name, Family: family, Harmless: inventory.No, Place: day.Constant(Place{stage, stage})}
	x.kinds = append(x.kinds, s)
	return s
}

func (x *tale) act(a Authorisation) *Authorisation {
	a.ID = called("a" + string(rune('0'+len(x.records.Authorisations)/10)) + string(rune('0'+len(x.records.Authorisations)%10)))
	if err := a.Check(); err != nil {
		x.t.Fatal(err)
	}
	x.records.Authorisations = append(x.records.Authorisations, &a)
	return &a
}

// founded gives somebody a stage and sign-offs, on evidence of before.
func (x *tale) founded(p *Person, d string, stage int, kinds ...*Species) {
	by := []inventory.ID{called("founder")}
	x.act(Authorisation{Person: p.ID, What: StageGrant, Stage: stage, On: on(d), Founding: "kept them before", Signers: by})
	for _, k := range kinds {
		x.act(Authorisation{Person: p.ID, What: SpeciesGrant, Species: k.ID, Level: Recapture, On: on(d), Founding: "kept them before", Signers: by})
	}
}

// teaching makes somebody a mentor up to a stage, on evidence of before.
func (x *tale) teaching(p *Person, d string, stage int) {
	x.act(Authorisation{Person: p.ID, What: MentorGrant, Stage: stage, On: on(d), Founding: "taught before", Signers: []inventory.ID{called("founder")}})
}

// session adds an hour from ten o'clock, signed as it ended.
func (x *tale) session(trainee, mentor *Person, kind *Species, d, results string) *Session {
	s := &Session{Trainee: trainee.ID, Watched: inventory.No, Site: called("site"), Species: kind.ID, Level: Hook, Results: results, On: on(d)}
	s.ID = called("s" + string(rune('0'+len(x.records.Sessions)/100)) + string(rune('0'+len(x.records.Sessions)/10%10)) + string(rune('0'+len(x.records.Sessions)%10)))
	s.Begun, s.Ended = instant(s.On, 10, 0), instant(s.On, 11, 0)
	if mentor != nil {
		s.Mentor, s.Watched, s.Signed = mentor.ID, inventory.Yes, s.Ended
	}
	x.records.Sessions = append(x.records.Sessions, s)
	return s
}

func (x *tale) all() Records {
	r := x.records
	r.Ladder, r.Zone = x.ladder, func(inventory.ID) *time.Location { return time.UTC }
	for _, p := range x.people {
		r.People = append(r.People, *p)
	}
	for _, k := range x.kinds {
		r.Species = append(r.Species, *k)
	}
	for _, s := range r.Sessions {
		if err := s.Check(); err != nil {
			x.t.Fatal(err)
		}
	}
	return r
}

func (x *tale) judge() *Standings { return Judge(x.all()) }

// asked puts a question to a condition, about somebody and a species, in one
// world, by what counts at the end of a day.
func (x *tale) met(c Condition, p *Person, about *Species, d string, w World) bool {
	s := x.judge()
	i := s.h.person(p.ID)
	var target *Species
	if about != nil {
		target = &s.h.Species[s.h.species[about.ID]]
	}
	return c.Met(s.at(i, on(d), w).ask(on(d), target))
}

// grants gives what became of the acts about somebody, in their order.
func (x *tale) grants(p *Person) (worst, best []Grant) {
	for _, a := range x.judge().Acts(p.ID) {
		worst, best = append(worst, a.Worst), append(best, a.Best)
	}
	return worst, best
}
