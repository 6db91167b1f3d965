package ladder

import (
	"math/rand/v2"
	"slices"
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestTheOrderOfRecordsDoesNotMatter, nor that of people and species.
func TestTheOrderOfRecordsDoesNotMatter(t *testing.T) {
	for seed := range uint64(100) {
		h := randomHouse(t, seed, seed%2 == 1)
		mixed := h.records
		mixed.People, mixed.Species = shuffled(h.rng, mixed.People), shuffled(h.rng, mixed.Species)
		mixed.Sessions, mixed.Authorisations = shuffled(h.rng, mixed.Sessions), shuffled(h.rng, mixed.Authorisations)
		mixed.Credits = shuffled(h.rng, mixed.Credits)
		same(t, h, Judge(h.records), Judge(mixed))
	}
}

func shuffled[T any](rng *rand.Rand, list []T) []T {
	list = slices.Clone(list)
	rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	return list
}

// TestWorstIsNeverBetterThanBest: whatever holds at worst holds at best.
func TestWorstIsNeverBetterThanBest(t *testing.T) {
	doubts := 0
	for seed := range uint64(400) {
		h := randomHouse(t, seed, true)
		s := Judge(h.records)
		for _, p := range h.people {
			for _, x := range s.Sessions(p.ID) {
				if x.Worst.good() && !x.Best.good() {
					t.Errorf("house %d: session %v: %d at worst and %d at best", seed, x.ID, x.Worst, x.Best)
				}
			}
			for _, a := range s.Acts(p.ID) {
				if a.Worst == Holds && a.Best != Holds {
					t.Errorf("house %d: act %v: %d at worst and %d at best", seed, a.ID, a.Worst, a.Best)
				}
			}
		}
		eachAnswer(h, func(p *Person, sp *Species, level Level, d day.Day) {
			a := s.May(p.ID, sp.ID, level, d, 0)
			if a.Worst == MayOpen && a.Best != MayOpen {
				t.Errorf("house %d: %v, %s on %s: %d at worst and %d at best", seed, p.ID, sp.Name, d, a.Worst, a.Best)
			}
			if st := s.Stages(p.ID, d); st.Least > st.Most {
				t.Errorf("house %d: %v on %s: stages %v", seed, p.ID, d, st)
			}
			if a.May == inventory.Unknown {
				doubts++
			}
		})
		if t.Failed() {
			return
		}
	}
	if doubts == 0 {
		t.Error("nothing was in doubt")
	}
}

// eachAnswer asks about everybody and every species on every fifth day.
func eachAnswer(h *house, with func(*Person, *Species, Level, day.Day)) {
	for d := h.first; d < h.first.Add(h.length+30); d += 5 {
		for i := range h.people {
			for j := range h.species {
				with(&h.people[i], &h.species[j], Level(int(d+day.Day(i))%4), d)
			}
		}
	}
}

// TestMoreGoodWorkNeverHarms: with clean sessions more, under a mentor and at an
// hour at which neither was elsewhere, nothing that anybody might do is lost,
// in either world.
func TestMoreGoodWorkNeverHarms(t *testing.T) {
	gained := 0
	for seed := range uint64(800) {
		h := randomHouse(t, seed, seed%2 == 1)
		h.ladder.Untimed = true // else a session beside one without times may have been at its time
		before := Judge(h.records)
		more := h.records
		more.Sessions = slices.Clone(more.Sessions)
		for n := range 1 + int(seed%5) {
			more.Sessions = append(more.Sessions, h.cleanSession(1000+n))
		}
		after := Judge(more)
		eachAnswer(h, func(p *Person, sp *Species, level Level, d day.Day) {
			was, is := before.May(p.ID, sp.ID, level, d, 0), after.May(p.ID, sp.ID, level, d, 0)
			if was.Worst == MayOpen && is.Worst != MayOpen || was.Best == MayOpen && is.Best != MayOpen {
				t.Errorf("house %d: %v, %s on %s: %d, %d; with more sessions %d, %d", seed, p.ID, sp.Name, d, was.Worst, was.Best, is.Worst, is.Best)
			}
			if was != is {
				gained++
			}
		})
		if t.Failed() {
			return
		}
	}
	if gained < 50 {
		t.Errorf("more sessions made a difference to %d answers only", gained)
	}
}

// cleanSession is one under a founder, before dawn.
func (h *house) cleanSession(i int) *Session {
	s := &Session{ID: id('m', i), Site: id('x', 0), On: h.day(), Watched: inventory.Yes, Level: Hook, Results: "cccc", Mentor: h.people[h.rng.IntN(2)].ID}
	for s.Trainee == (inventory.ID{}) || s.Trainee == s.Mentor {
		s.Trainee = h.people[h.rng.IntN(len(h.people))].ID
	}
	s.Species = h.species[h.rng.IntN(len(h.species))].ID
	s.Begun, s.Ended = instant(s.On, 4, 2*(i%10)), instant(s.On, 4, 2*(i%10)+2)
	s.Signed = s.Ended.AddDate(0, 0, h.rng.IntN(3))
	s.Animals = []inventory.ID{id('n', 99)}
	return s
}

// TestNobodyRisesWithoutAFounder: people who sign and mentor each other, with
// no founding authorisation among them, stay at nothing.
func TestNobodyRisesWithoutAFounder(t *testing.T) {
	for seed := range uint64(200) {
		h := randomHouse(t, seed, seed%2 == 1)
		h.records.Authorisations = slices.DeleteFunc(h.records.Authorisations, func(a *Authorisation) bool { return a.Founding != "" })
		s := Judge(h.records)
		eachAnswer(h, func(p *Person, sp *Species, level Level, d day.Day) {
			if at := s.Stages(p.ID, d); at != (Place{}) {
				t.Fatalf("house %d: %v holds %v on %s", seed, p.ID, at, d)
			}
			if a := s.May(p.ID, sp.ID, level, d, 0); a.Best == MayOpen {
				t.Fatalf("house %d: %v may open %s on %s", seed, p.ID, sp.Name, d)
			}
		})
	}
}

// TestTwoNeverProveEachOtherRight: two who vouch for each other on one day, or
// teach each other what neither may do, gain nothing by it.
func TestTwoNeverProveEachOtherRight(t *testing.T) {
	x := tell(t, plain)
	lead, ann, bob := x.person("lead", "lead-keeper"), x.person("ann"), x.person("bob")
	fast := x.kind("fast", "Fastidae", 2)
	x.founded(lead, "2026-04-20", 2, fast)
	for _, p := range []*Person{ann, bob} {
		x.founded(p, "2026-04-20", 1)
	}
	for i, pair := range [][2]*Person{{ann, bob}, {bob, ann}} {
		s := x.session(pair[0], pair[1], fast, "2026-05-01", "cccc")
		s.Begun, s.Ended = instant(s.On, 10+i, 0), instant(s.On, 11+i, 0)
		by := []inventory.ID{lead.ID}
		for _, what := range []What{MentorGrant, StageGrant} {
			x.act(Authorisation{Person: pair[0].ID, What: what, Stage: 2, On: on("2026-05-02"), At: instant(on("2026-05-02"), 10+i, 0), Mentor: pair[1].ID, Signers: by})
		}
		x.act(Authorisation{Person: pair[0].ID, What: SpeciesGrant, Species: fast.ID, Level: Tube, On: on("2026-05-02"), Mentor: pair[1].ID, Signers: by})
	}
	s := x.judge()
	for _, p := range []*Person{ann, bob} {
		if got := s.Sessions(p.ID)[0]; got.Best.good() {
			t.Errorf("a session counts: %d", got.Best)
		}
		for _, a := range s.Acts(p.ID) {
			if a.Founding == "" && a.Best == Holds {
				t.Errorf("%s holds", a.Name())
			}
		}
		if at := s.Stages(p.ID, on("2026-05-03")); at.Most != 1 {
			t.Errorf("stage %d", at.Most)
		}
	}
}
