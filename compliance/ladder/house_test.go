package ladder

import (
	"math/rand/v2"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

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
  review: 40 days
  founding_review: 1 year
  untimed: doubtful
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
      - any:
          - mentors: {at_least: 2}
          - age: {at_least: 30}
    signs: [head]
    review: 30 days
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
        - any:
            - individuals: {at_least: 3}
            - span: {at_least: 9 days}
            - paper: {class: licence, for: 1 month}
      signs: [mentor, lead-keeper]
      sign_off:
        task: tube
        entry:
          - clean: {at_least: 2, same: species}
        signs: [lead-keeper]
      currency: {handled: 10 days, species: 20 days, higher_counts: true, refresher: 2, set_back_after: 15 days, in_force: [first-aid]}
    - stage: 3
      name: Fast
      entry:
        - held: {stage: 2, for: 5 days}
        - any:
            - hours: {at_least: 2, animals: venomous, same: family}
            - sessions: {at_least: 2, within: 20 days, task_from: tube, alone: true}
            - repetitions: {at_least: 4, stage_from: 2}
        - none: {of: [incident], within: 20 days}
      signs: [mentor, lead-keeper]
      sign_off:
        task: restrain
        entry:
          - clean_run: {at_least: 2, same: genus, alone: true}
          - species: {at_least: 1}
          - did: {what: drill}
        signs: [mentor, lead-keeper]
      currency: {handled: 10 days, species: 15 days, higher_counts: false, refresher: 2, set_back_after: 20 days, in_force: [first-aid], lately: [{what: drill, within: 1 month}]}
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

// randomHouse makes a house. Its days are those of a place far from Greenwich.
func randomHouse(t testing.TB, seed uint64, unknown bool) *house {
	h := &house{rng: rand.New(rand.NewPCG(seed, 7)), first: day.MustParse("2026-01-01"), length: 70, unknown: unknown, ladder: parsed(t, small)}
	h.ladder.Untimed = h.maybe(20)
	h.ladder.Stages[2].HigherCounts = h.maybe(80)
	for i := range 5 {
		h.people = append(h.people, h.person(i))
	}
	for i := range 4 {
		h.species = append(h.species, h.kind(i))
	}
	zone := time.FixedZone("far", []int{0, -9, 10}[h.rng.IntN(3)]*3600)
	h.records = Records{Ladder: h.ladder, People: h.people, Species: h.species, Zone: func(inventory.ID) *time.Location { return zone }}
	h.founders()
	for i := range 70 {
		h.records.Sessions = append(h.records.Sessions, h.session(i))
	}
	for i := range 35 {
		h.records.Authorisations = append(h.records.Authorisations, h.act(i))
	}
	for i := range 3 {
		h.records.Credits = append(h.records.Credits, h.credit(i))
	}
	for _, err := range h.check() {
		t.Fatal(err)
	}
	return h
}

// check refuses a house that no store would take.
func (h *house) check() (errs []error) {
	add := func(err error) {
		if err != nil {
			errs = append(errs, err)
		}
	}
	for _, s := range h.records.Sessions {
		add(s.Check())
	}
	for _, a := range h.records.Authorisations {
		add(a.Check())
	}
	for _, c := range h.records.Credits {
		add(c.Check())
	}
	return errs
}

func (h *house) maybe(percent int) bool { return h.rng.IntN(100) < percent }

// doubt is maybe, in a house in which something is unknown.
func (h *house) doubt(percent int) bool { return h.unknown && h.maybe(percent) }

func (h *house) day() day.Day { return h.first.Add(h.rng.IntN(h.length)) }

// tri is mostly yes.
func (h *house) tri() inventory.Tri {
	switch {
	case h.doubt(15):
		return inventory.Unknown
	case h.maybe(15):
		return inventory.No
	}
	return inventory.Yes
}

func (h *house) person(i int) Person {
	p := Person{ID: id('p', i), Here: day.Constant(true), KnownFrom: day.First, Done: make(map[string][]Done)}
	if !h.doubt(20) {
		p.Born = day.Of(1985+h.rng.IntN(20), 2, 27).Add(h.rng.IntN(4))
	}
	if h.maybe(20) {
		d := h.day()
		p.Here = day.Steps(true, day.Change[bool]{On: d, To: false}, day.Change[bool]{On: d + 9, To: true})
	}
	for range 1 + h.rng.IntN(2) {
		cert := Done{On: h.first.Add(h.rng.IntN(30) - 20), Passed: h.tri(), Until: day.Until(h.day().Add(20))}
		if h.doubt(20) {
			cert.Until = day.End{}
		}
		p.Done["first-aid"] = append(p.Done["first-aid"], cert)
		p.Done["drill"] = append(p.Done["drill"], Done{On: h.day() - 20, Passed: h.tri()})
	}
	if h.maybe(20) {
		p.Done["incident"] = []Done{{On: h.day(), Passed: inventory.Yes}}
	}
	if h.doubt(20) {
		p.KnownFrom = h.day() - 30
	}
	d := h.day()
	p.Papers = map[string]day.Line[inventory.Tri]{"licence": day.Steps(h.tri(), day.Change[inventory.Tri]{On: d - 60, To: h.tri()}, day.Change[inventory.Tri]{On: d, To: h.tri()})}
	lead, head := i < 3 || h.maybe(30), i == 0 || h.maybe(30)
	p.Roles = func(role string, d day.Day) bool {
		return role == "lead-keeper" && lead || role == "head" && head
	}
	return p
}

func (h *house) kind(i int) Species {
	s := Species{ID: id('s', i), Name: "Genus " + string(rune('a'+i)), Genus: "Genus", Family: "Familidae", Harmless: inventory.Bool(i == 0)}
	if i == 3 && h.maybe(50) {
		s.Genus, s.Family = "Other", "Otheridae"
	}
	if h.doubt(10) {
		s.Family = ""
	}
	at := Place{1 + (i+1)/2, 1 + (i+1)/2}
	if i == 0 {
		at = Place{1, 1}
	}
	s.Place = day.Constant(at)
	if h.doubt(30) && i > 0 {
		s.Place = day.Constant(Place{2, 3})
		if h.maybe(30) {
			s.Harmless = inventory.Unknown
		}
	}
	if i > 0 && h.maybe(30) {
		d, to := h.day(), 1+h.rng.IntN(4) // 4: above the ladder
		s.Place = day.Steps(at, day.Change[Place]{On: d, To: Place{to, to}}, day.Change[Place]{On: d.Add(1 + h.rng.IntN(30)), To: at})
	}
	return s
}

// founders are two people whose evidence of before is reviewed at its time.
func (h *house) founders() {
	n := 0
	add := func(a Authorisation) {
		a.ID, a.On, a.Founding, a.Signers = id('f', n), h.first.Add(-1), "kept before", []inventory.ID{h.people[3].ID}
		switch {
		case h.maybe(10):
			a.Until = day.Until(h.day())
		case h.maybe(3):
			a.Signers = nil
		}
		n++
		h.records.Authorisations = append(h.records.Authorisations, &a)
	}
	for _, p := range h.people[:2] {
		add(Authorisation{Person: p.ID, What: StageGrant, Stage: 3})
		if h.maybe(30) {
			add(Authorisation{Person: p.ID, What: StageGrant, Stage: 2})
		}
		add(Authorisation{Person: p.ID, What: MentorGrant, Stage: 3})
		for _, s := range h.species[1:] {
			add(Authorisation{Person: p.ID, What: SpeciesGrant, Species: s.ID, Level: Level(1 + h.rng.IntN(4))})
		}
	}
}
