package ladder

import (
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// roles are those that a ladder of these tests may name.
var roles = []string{"head", "lead-keeper", "safety-officer", "keeper"}

// parsed reads a ladder.
func parsed(t testing.TB, text string) *Ladder {
	t.Helper()
	doc, err := strict.Parse("ladder.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	l := Read(doc.Root().Map("ladder"), "1", roles)
	if err := doc.Err(); err != nil {
		t.Fatal(err)
	}
	return l
}

// small is a ladder with short terms, so that a random history of a few months
// goes up and down it.
const small = `
ladder:
  name: small
  title: A small ladder
  sign_within_days: 5
  hours_per_day: 8
  handling_from: hook
  harmless_at_once: 2
  founding_review: 1 year
  holding: [lead-keeper]
  clear: [head]
  credit: {percent: 50, probation: 2}
  opening: {back_up: 1}
  placing:
    harmless: 1
    by_score: {lowest: 2, low: 2, middle: 2, high: 3, highest: 3}
    floors:
      - {when: spitting, stage: 3}
  mentor:
    entry:
      - held: {stage: 1, for: 5 days}
    signs: [head]
  stages:
    - {stage: 0, name: None}
    - stage: 1
      name: Harmless
      signs: [lead-keeper]
    - stage: 2
      name: Slow
      entry:
        - repetitions: {at_least: 3, animals: harmless}
        - clean_run: {at_least: 2, animals: harmless}
        - days: {at_least: 2, animals: harmless}
      signs: [mentor, lead-keeper]
      sign_off:
        task: tube
        entry:
          - clean: {at_least: 2, same: species}
        signs: [lead-keeper]
      currency: {handled: 10 days, species: 20 days, higher_counts: true, refresher: 2, set_back_after: 15 days}
    - stage: 3
      name: Fast
      entry:
        - held: {stage: 2, for: 5 days}
        - any:
            - hours: {at_least: 2, animals: venomous}
            - repetitions: {at_least: 4, stage_from: 2}
        - none: {of: [incident], within: 20 days}
      signs: [mentor, lead-keeper]
      sign_off:
        task: restrain
        entry:
          - clean: {at_least: 2, same: species}
        signs: [lead-keeper]
      currency: {handled: 10 days, species: 15 days, higher_counts: false, refresher: 2, set_back_after: 20 days, in_force: [first-aid]}
`

// house is a random house: few people, much mutual mentoring, signatures that
// are late or missing, times that are missing, overlaps, acts of all kinds.
type house struct {
	rng     *rand.Rand
	first   day.Day
	length  int
	people  []Person
	species []Species
	ladder  *Ladder
	unknown bool // whether anything is unknown
	records Records
}

func id(kind byte, n int) (out inventory.ID) {
	out[0], out[14], out[15] = kind, byte(n>>8), byte(n)
	return out
}

func randomHouse(t testing.TB, seed uint64, unknown bool) *house {
	h := &house{rng: rand.New(rand.NewPCG(seed, 7)), first: day.MustParse("2026-01-01"), length: 70, unknown: unknown, ladder: parsed(t, small)}
	for i := range 5 {
		h.people = append(h.people, h.person(i))
	}
	for i := range 4 {
		h.species = append(h.species, h.kind(i))
	}
	h.records = Records{Ladder: h.ladder, People: h.people, Species: h.species, Zone: func(inventory.ID) *time.Location { return time.UTC }}
	h.founders()
	for i := range 60 {
		h.records.Sessions = append(h.records.Sessions, h.session(i))
	}
	for i := range 30 {
		h.records.Authorisations = append(h.records.Authorisations, h.act(i))
	}
	return h
}

func (h *house) maybe(percent int) bool { return h.rng.IntN(100) < percent }

// doubt is maybe, in a house in which something is unknown.
func (h *house) doubt(percent int) bool { return h.unknown && h.maybe(percent) }

func (h *house) day() day.Day { return h.first.Add(h.rng.IntN(h.length)) }

func (h *house) person(i int) Person {
	p := Person{ID: id('p', i), Here: day.Constant(true), KnownFrom: day.First, Done: make(map[string][]Done), Born: day.MustParse("1990-01-01")}
	if h.maybe(20) {
		d := h.day()
		p.Here = day.Steps(true, day.Change[bool]{On: d, To: false}, day.Change[bool]{On: d + 9, To: true})
	}
	cert := Done{On: h.first.Add(-10), Passed: inventory.Yes, Until: day.Until(h.day().Add(20))}
	if h.doubt(20) {
		cert.Until = day.End{}
	}
	p.Done["first-aid"] = []Done{cert}
	if h.maybe(20) {
		p.Done["incident"] = []Done{{On: h.day(), Passed: inventory.Yes}}
	}
	lead, head := i < 3 || h.maybe(30), i == 0 || h.maybe(30)
	p.Roles = func(role string, d day.Day) bool {
		return role == "lead-keeper" && lead || role == "head" && head
	}
	return p
}

func (h *house) kind(i int) Species {
	s := Species{ID: id('s', i), Name: "Genus " + string(rune('a'+i)), Genus: "Genus", Family: "Familidae", Harmless: inventory.Bool(i == 0)}
	at := Place{1 + (i+1)/2, 1 + (i+1)/2}
	if i == 0 {
		at = Place{1, 1}
	}
	s.Place = day.Constant(at)
	if h.doubt(30) && i > 0 {
		s.Place = day.Constant(Place{2, 3})
	}
	if i == 2 && h.maybe(30) {
		s.Place = day.Steps(at, day.Change[Place]{On: h.day(), To: Place{3, 3}})
	}
	return s
}

func (h *house) founders() {
	n := 0
	add := func(a Authorisation) {
		a.ID, a.On, a.Founding, a.Signers = id('f', n), h.first.Add(-1), "kept before", []inventory.ID{h.people[3].ID}
		n++
		h.records.Authorisations = append(h.records.Authorisations, &a)
	}
	for _, p := range h.people[:2] {
		add(Authorisation{Person: p.ID, What: StageGrant, Stage: 3})
		add(Authorisation{Person: p.ID, What: MentorGrant, Stage: 3})
		for _, s := range h.species[1:] {
			add(Authorisation{Person: p.ID, What: SpeciesGrant, Species: s.ID, Level: Restrain})
		}
	}
}

func (h *house) session(i int) *Session {
	s := &Session{ID: id('h', i), Site: id('x', 0), On: h.day(), Watched: inventory.Yes}
	s.Trainee = h.people[h.rng.IntN(len(h.people))].ID
	for s.Mentor == s.Trainee || s.Mentor == (inventory.ID{}) {
		s.Mentor = h.people[h.rng.IntN(len(h.people))].ID
	}
	s.Species = h.species[h.rng.IntN(len(h.species))].ID
	s.Level = Level(h.rng.IntN(4))
	for range h.rng.IntN(5) {
		s.Results += string("cccccps"[h.rng.IntN(7)])
	}
	begun := day.StartOf(s.On, time.UTC).Add(time.Duration(8+h.rng.IntN(10)) * time.Hour)
	s.Begun, s.Ended = begun, begun.Add(time.Duration(20+h.rng.IntN(60))*time.Minute)
	switch {
	case h.maybe(15):
		s.Mentor, s.Watched = inventory.ID{}, inventory.No
	case h.maybe(85):
		s.Signed = s.Ended.AddDate(0, 0, h.rng.IntN(7))
	}
	if h.doubt(10) && s.Watched == inventory.Yes {
		s.Mentor, s.Watched = inventory.ID{}, inventory.Tri([]int{0, 2}[h.rng.IntN(2)])
	}
	if h.doubt(10) {
		s.Begun, s.Ended = time.Time{}, time.Time{}
	}
	return s
}

func (h *house) act(i int) *Authorisation {
	a := &Authorisation{ID: id('a', i), On: h.day(), Person: h.people[h.rng.IntN(len(h.people))].ID, What: Whats[h.rng.IntN(len(Whats))]}
	if h.maybe(60) {
		a.What = []What{StageGrant, SpeciesGrant, MentorGrant}[h.rng.IntN(3)]
	}
	switch a.What {
	case SpeciesGrant:
		a.Species, a.Level = h.species[1+h.rng.IntN(len(h.species)-1)].ID, Level(1+h.rng.IntN(4))
	case StageGrant, MentorGrant:
		a.Stage = 1 + h.rng.IntN(3)
	case SetBack:
		if a.Stage = h.rng.IntN(3); a.Stage == 0 && h.maybe(50) {
			a.Species = h.species[1].ID
		}
	case Suspension:
		if h.maybe(70) {
			a.Until = day.Until(a.On.Add(h.rng.IntN(10)))
		}
	}
	for _, p := range h.people {
		switch {
		case p.ID == a.Person:
		case a.Mentor == (inventory.ID{}) && h.maybe(40):
			a.Mentor = p.ID
		case h.maybe(60):
			a.Signers = append(a.Signers, p.ID)
		}
	}
	if !h.doubt(30) || h.maybe(50) {
		a.At = day.StartOf(a.On, time.UTC).Add(time.Duration(8+h.rng.IntN(10)) * time.Hour)
	}
	return a
}

// same says whether two judgements agree on everything that is asked.
func same(t *testing.T, h *house, a, b *Standings) {
	t.Helper()
	for _, p := range h.people {
		as, bs := a.Sessions(p.ID), b.Sessions(p.ID)
		if len(as) != len(bs) {
			t.Fatalf("%d and %d sessions", len(as), len(bs))
		}
		for i := range as {
			if as[i] != bs[i] {
				t.Fatalf("session %v: %+v and %+v", as[i].ID, as[i], bs[i])
			}
		}
		ax, bx := a.Acts(p.ID), b.Acts(p.ID)
		for i := range ax {
			if ax[i] != bx[i] {
				t.Fatalf("act %v %s: %+v and %+v", ax[i].ID, ax[i].Name(), ax[i], bx[i])
			}
		}
		for _, s := range h.species {
			if x, y := a.Line(p.ID, s.ID, Hook), b.Line(p.ID, s.ID, Hook); !x.Equal(y) {
				t.Fatalf("lines of %v: %v and %v", s.Name, x, y)
			}
		}
	}
}

// TestAfterIsAJudgementOfEverything: what is judged again after a change is
// what a judgement of everything says.
func TestAfterIsAJudgementOfEverything(t *testing.T) {
	for seed := range uint64(400) {
		h := randomHouse(t, seed, seed%2 == 1)
		whole := h.records
		split := len(whole.Sessions) - 1 - h.rng.IntN(5)
		early := whole
		early.Sessions = whole.Sessions[:split]
		early.Authorisations = whole.Authorisations[:len(whole.Authorisations)-2]
		before := Judge(early)
		var c Change
		for _, s := range whole.Sessions[split:] {
			c.Sessions = append(c.Sessions, SessionChange{Is: s})
		}
		for _, a := range whole.Authorisations[len(early.Authorisations):] {
			c.Acts = append(c.Acts, ActChange{Is: a})
		}
		for _, i := range []int{3, 11} { // corrected: taken out, and another result
			c.Sessions = append(c.Sessions, SessionChange{Was: whole.Sessions[i]})
		}
		other := *whole.Sessions[20]
		other.Results = "ps"
		c.Sessions = append(c.Sessions, SessionChange{Was: whole.Sessions[20], Is: &other})
		corrected := whole
		corrected.Sessions = nil
		for i, s := range whole.Sessions {
			switch i {
			case 3, 11:
			case 20:
				corrected.Sessions = append(corrected.Sessions, &other)
			default:
				corrected.Sessions = append(corrected.Sessions, s)
			}
		}
		same(t, h, before.After(c), Judge(corrected))
		same(t, h, before, Judge(early)) // and what stood is left alone
	}
}

// TestHistoriesGoUpAndDown: the random histories do what they are for.
func TestHistoriesGoUpAndDown(t *testing.T) {
	statuses, grants, nos := make(map[Status]int), make(map[Grant]int), make(map[No]int)
	for seed := range uint64(300) {
		h := randomHouse(t, seed, seed%2 == 1)
		s := Judge(h.records)
		for _, p := range h.people {
			for _, x := range s.Sessions(p.ID) {
				statuses[x.Worst]++
			}
			for _, x := range s.Acts(p.ID) {
				grants[x.Worst]++
			}
			for _, sp := range h.species {
				nos[s.May(p.ID, sp.ID, Hook, h.first.Add(h.length/2), 0).Worst]++
			}
		}
	}
	for st := Counts; st <= AloneNotOpen; st++ {
		if statuses[st] == 0 {
			t.Errorf("no session has the status %d: %v", st, statuses)
		}
	}
	for g := Holds; g <= ConditionsUnmet; g++ {
		if grants[g] == 0 && g != FoundingUnsigned && g != NoSuchStage {
			t.Errorf("no act has the word %d: %v", g, grants)
		}
	}
	t.Log(statuses, grants, nos)
}

func TestShippedLadderReads(t *testing.T) {
	data, err := os.ReadFile("../../deploy/rules/ladder.yaml")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := strict.Parse("ladder.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	m := doc.Root()
	Read(m.Map("ladder"), "1", roles)
	for _, key := range m.Keys() {
		if key != "ladder" {
			m.Has(key)
		}
	}
	if err := doc.Err(); err != nil {
		t.Log(err) // keys of the pack itself are read elsewhere
	}
}
