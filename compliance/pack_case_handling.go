package compliance

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// FactAuthorised is somebody who may open a species, by grants that rest on
// evidence: the stage that the ladder of the case asks for, and the species.
// What the ladder asks for besides, such as certificates, is among what was
// done.
type FactAuthorised struct {
	Person  string
	Species string
	Task    ladder.Level
	On      day.Day
	Until   day.End // unknown: until the review that the ladder asks for
	Teaches bool    // may teach up to that stage as well
}

// FactSession is a handling session in a case.
type FactSession struct {
	Trainee string
	Mentor  string // a person, nobody or unknown
	Species string
	Task    ladder.Level
	On      day.Day
	Signed  day.Day // unset: not signed
	Results string
	From    time.Time // in UTC; zero: not known
	To      time.Time
}

// signer is the person of every case of whom nothing else is known: whoever
// signed the grants that rest on evidence.
var signer = Person{ID: factID(inventory.KindPerson, ""), Called: "signer of the test", Site: factID(inventory.KindSite, ""), Joined: longAgo}

func (f *Facts) readAuthorised(m *strict.Map) {
	for _, am := range m.OptMaps("authorised") {
		a := FactAuthorised{Person: f.person(am, "person"), Species: f.kind(am), Task: ladder.Hook, On: am.Day("on"), Teaches: am.OptBool("teaches", false)}
		am.OptText("task", &a.Task)
		am.OptText("until", &a.Until)
		if last, known := a.Until.Known(); known && last < a.On {
			am.Fail("until", "is before %s, the day from which it counts", a.On)
		}
		if a.Task < ladder.Closed {
			am.Fail("task", "%s needs no sign-off; write closed or a task above it", a.Task)
		}
		f.Authorised = append(f.Authorised, a)
	}
}

func (f *Facts) readSessions(m *strict.Map) {
	for i, sm := range m.OptMaps("sessions") {
		s := FactSession{Trainee: f.person(sm, "trainee"), Mentor: "unknown", Species: f.kind(sm), Task: ladder.Hook, On: sm.Day("on"),
			Signed: sm.OptDay("signed"), Results: sm.OptString("results")}
		sm.OptText("task", &s.Task)
		if sm.Has("mentor") {
			if s.Mentor = sm.String("mentor"); s.Mentor != "unknown" && s.Mentor != "nobody" {
				f.person(sm, "mentor")
			}
		}
		s.From, s.To = f.clockTime(sm, "from", s.On), f.clockTime(sm, "to", s.On)
		if err := f.session(i, &s).Check(); err != nil && s.Trainee != "" && s.Species != "" && !s.On.IsZero() {
			sm.Fail("", "%v", err)
		}
		f.Sessions = append(f.Sessions, s)
	}
}

// readHazards reads what places a species on a ladder.
func readHazards(m *strict.Map) inventory.Hazards {
	return inventory.Hazards{Venom: m.OptInt("venom", 0, 1, 5), Yield: m.OptInt("yield", 0, 1, 5), Speed: m.OptInt("speed", 0, 1, 5),
		Reach: m.OptInt("reach", 0, 1, 5), Spitting: readTri(m, "spitting"), Arboreal: readTri(m, "arboreal")}
}

// person reads the name of one of the people of the case.
func (f *Facts) person(m *strict.Map, key string) string {
	name := m.String(key)
	if name != "" && !f.hasPerson(name) {
		m.Fail(key, "%q is not among the people of this test", name)
	}
	return name
}

// kind reads one of the species of the case.
func (f *Facts) kind(m *strict.Map) string {
	name := m.String("species")
	if name != "" && !slices.ContainsFunc(f.Species, func(s FactSpecies) bool { return s.Name == name }) {
		m.Fail("species", "%q is not among the species of this test; add it there, with what is known of it", name)
	}
	return name
}

// withoutLadder says what of a case only a ladder can place; empty: nothing.
func (f *Facts) withoutLadder() string {
	var needs []string
	if len(f.Authorised) > 0 {
		needs = append(needs, "facts.authorised")
	}
	if len(f.Sessions) > 0 {
		needs = append(needs, "facts.sessions")
	}
	return strings.Join(needs, " and ")
}

// handling makes the grants and the sessions of a case. l is the ladder of the
// case; nil only where there is neither.
func (f *Facts) handling(add func(inventory.Record), l *ladder.Ladder) {
	if len(f.Authorised) > 0 {
		add(signer)
	}
	for i, a := range f.Authorised {
		grant := func(what ladder.What) ladder.Authorisation {
			return ladder.Authorisation{ID: factID(inventory.KindAuthorisation, string(what)+" "+strconv.Itoa(i)), Person: factID(inventory.KindPerson, a.Person),
				What: what, On: a.On, Until: a.Until, Signers: []inventory.ID{signer.ID}, Founding: "the test"}
		}
		stage := grant(ladder.StageGrant)
		stage.Stage = f.stageOf(a.Species, l)
		add(stage)
		species := grant(ladder.SpeciesGrant)
		species.Species, species.Level = factID(inventory.KindSpecies, a.Species), a.Task
		add(species)
		if a.Teaches {
			mentor := grant(ladder.MentorGrant)
			mentor.Stage = stage.Stage
			add(mentor)
		}
	}
	for i := range f.Sessions {
		add(f.session(i, &f.Sessions[i]))
	}
}

// stageOf gives the stage that a ladder asks for a species of the case: the
// highest that it may be on, where not all that places it is known.
func (f *Facts) stageOf(name string, l *ladder.Ladder) int {
	at := slices.IndexFunc(f.Species, func(s FactSpecies) bool { return s.Name == name }) // read, and so known
	species := f.species(f.Species[at])
	return min(l.Placing.Of(ladder.TraitsOf(&species, f.Law)).Most, l.Top())
}

func (f *Facts) session(i int, s *FactSession) ladder.Session {
	out := ladder.Session{ID: factID(inventory.KindSession, strconv.Itoa(i)), Trainee: factID(inventory.KindPerson, s.Trainee), Site: factID(inventory.KindSite, ""),
		Species: factID(inventory.KindSpecies, s.Species), Level: s.Task, Results: s.Results, On: s.On, Begun: s.From, Ended: s.To}
	switch s.Mentor {
	case "nobody":
		out.Watched = inventory.No
	case "unknown":
	default:
		out.Mentor, out.Watched = factID(inventory.KindPerson, s.Mentor), inventory.Yes
	}
	if !s.Signed.IsZero() { // at noon
		out.Signed = day.StartOf(s.Signed, zoneOf(f.Zone)).Add(12 * time.Hour).UTC()
	}
	return out
}
