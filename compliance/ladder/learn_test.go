package ladder

import (
	"slices"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestLearningStaysWithinTheBounds: whatever turns out to have been so where
// nobody knew, the answer was not worse than the worst that was given before,
// nor better than the best.
func TestLearningStaysWithinTheBounds(t *testing.T) {
	settled := 0
	for seed := range uint64(400) {
		h := randomHouse(t, 3000+seed, true)
		h.ladder.Untimed = false // what is trusted may turn out otherwise
		before := Judge(h.records)
		learnt := *h
		learnt.learn()
		for _, err := range learnt.check() {
			t.Fatalf("house %d: %v", 3000+seed, err)
		}
		after := Judge(learnt.records)
		for _, p := range h.people {
			was, is := before.Sessions(p.ID), statuses(after.Sessions(p.ID))
			for _, x := range was {
				if y := is[x.ID]; x.Worst.good() && !y.Worst.good() || y.Best.good() && !x.Best.good() {
					t.Errorf("house %d: session %v: %d and %d; then %d and %d", 3000+seed, x.ID, x.Worst, x.Best, y.Worst, y.Best)
				}
			}
		}
		eachAnswer(h, func(p *Person, sp *Species, level Level, d day.Day) {
			was, is := before.May(p.ID, sp.ID, level, d, 0), after.May(p.ID, sp.ID, level, d, 0)
			if was.Worst == MayOpen && is.Worst != MayOpen || is.Best == MayOpen && was.Best != MayOpen {
				t.Errorf("house %d: %v, %s for %s on %s: %d and %d; then %d and %d", 3000+seed, p.ID, sp.Name, level, d, was.Worst, was.Best, is.Worst, is.Best)
			}
			if was.May == inventory.Unknown && is.May != inventory.Unknown {
				settled++
			}
		})
		if t.Failed() {
			return
		}
	}
	if settled < 100 {
		t.Errorf("only %d answers were settled", settled)
	}
}

func statuses(list []HeldSession) map[inventory.ID]HeldSession {
	byID := make(map[inventory.ID]HeldSession)
	for _, x := range list {
		byID[x.ID] = x
	}
	return byID
}

// learn finds out much of what was not known, this way or that.
func (h *house) learn() {
	h.people, h.species = slices.Clone(h.people), slices.Clone(h.species)
	for i := range h.people {
		h.learnOfPerson(&h.people[i])
	}
	for i := range h.species {
		s := &h.species[i]
		s.Harmless = h.learnTri(s.Harmless)
		if s.Family == "" && h.maybe(50) {
			s.Family = []string{"Familidae", "Otheridae"}[h.rng.IntN(2)]
		}
		if up := h.rng.IntN(3); up < 2 {
			s.Place = day.Map(s.Place, func(at Place) Place { return Place{min(at.Least+up, at.Most), min(at.Least+up, at.Most)} })
		}
	}
	h.records.People, h.records.Species = h.people, h.species
	h.records.Sessions, h.records.Authorisations = slices.Clone(h.records.Sessions), slices.Clone(h.records.Authorisations)
	for i, s := range h.records.Sessions {
		one := *s
		h.learnOfSession(&one)
		h.records.Sessions[i] = &one
	}
	for i, a := range h.records.Authorisations {
		one := *a
		if one.At.IsZero() && h.maybe(50) {
			one.At = instant(one.On, h.rng.IntN(24), 0)
		}
		h.records.Authorisations[i] = &one
	}
}

func (h *house) learnTri(t inventory.Tri) inventory.Tri {
	if t == inventory.Unknown && h.maybe(70) {
		return inventory.Bool(h.maybe(50))
	}
	return t
}

func (h *house) learnOfPerson(p *Person) {
	if p.Born.IsZero() && h.maybe(70) {
		p.Born = day.Of(1985+h.rng.IntN(20), 5, 5)
	}
	done := make(map[string][]Done)
	for what, list := range p.Done {
		for _, d := range list {
			d.Passed = h.learnTri(d.Passed)
			if d.Until.IsZero() && h.maybe(70) {
				d.Until = day.Until(max(h.day(), d.On))
			}
			done[what] = append(done[what], d)
		}
	}
	if p.KnownFrom > day.First && h.maybe(70) {
		if h.maybe(50) {
			done["incident"] = append(done["incident"], Done{On: p.KnownFrom.Add(-1 - h.rng.IntN(20)), Passed: inventory.Yes})
		}
		p.KnownFrom = day.First
	}
	p.Done = done
	p.Papers = map[string]day.Line[inventory.Tri]{"licence": day.Map(p.Papers["licence"], h.learnTri)}
}

// free says that somebody had no session around a day: that nobody knows who
// the mentor of one was does not make everybody else's overlaps doubtful.
func (h *house) free(who inventory.ID, d day.Day) bool {
	return !slices.ContainsFunc(h.records.Sessions, func(s *Session) bool {
		return (s.Trainee == who || s.Mentor == who) && s.On.Sub(d) <= 1 && d.Sub(s.On) <= 1
	})
}

func (h *house) learnOfSession(s *Session) {
	if s.Mentor == (inventory.ID{}) && s.Watched != inventory.No && h.maybe(70) {
		switch who := h.someone(); {
		case who != s.Trainee && h.free(who, s.On):
			s.Mentor, s.Watched = who, inventory.Yes
		case s.Watched == inventory.Unknown && s.Signed.IsZero():
			s.Watched = inventory.No
		}
	}
	if len(s.Animals) == 0 && h.maybe(50) {
		for range 1 + h.rng.IntN(max(len(s.Results), 1)) {
			s.Animals = append(s.Animals, id('n', h.rng.IntN(90)))
		}
	}
	if !h.maybe(60) {
		return
	}
	switch {
	case s.Begun.IsZero() && s.Ended.IsZero():
		s.Begun = instant(s.On, 8+h.rng.IntN(10), h.rng.IntN(60))
		s.Ended = s.Begun.Add(time.Duration(20+h.rng.IntN(60)) * time.Minute)
	case s.Begun.IsZero():
		s.Begun = s.Ended.Add(-time.Duration(20+h.rng.IntN(60)) * time.Minute)
	case s.Ended.IsZero():
		s.Ended = s.Begun.Add(time.Duration(20+h.rng.IntN(60)) * time.Minute)
	}
}
