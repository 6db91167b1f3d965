package ladder

import (
	"slices"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// someone gives anybody, a founder more often.
func (h *house) someone() inventory.ID {
	if h.maybe(40) {
		return h.people[h.rng.IntN(2)].ID
	}
	return h.people[h.rng.IntN(len(h.people))].ID
}

func (h *house) session(i int) *Session {
	s := &Session{ID: id('h', i), Site: id('x', 0), On: h.day(), Watched: inventory.Yes}
	s.Trainee = h.people[h.rng.IntN(len(h.people))].ID
	for s.Mentor == s.Trainee || s.Mentor == (inventory.ID{}) {
		s.Mentor = h.someone()
	}
	s.Species = h.species[h.rng.IntN(len(h.species))].ID
	s.Level = Level(h.rng.IntN(4))
	for range h.rng.IntN(5) {
		s.Results += string("cccccps"[h.rng.IntN(7)])
	}
	begun := instant(s.On, 8+h.rng.IntN(10), 0)
	if i > 0 && h.maybe(20) { // beside the one before, of the same mentor
		last := h.records.Sessions[i-1]
		s.On, s.Species, s.Mentor, begun = last.On, last.Species, last.Mentor, instant(last.On, 8+h.rng.IntN(10), 0)
		if !last.Begun.IsZero() {
			begun = last.Begun.Add(time.Duration(h.rng.IntN(40)) * time.Minute)
		}
		if s.Mentor == s.Trainee {
			s.Mentor = inventory.ID{}
		}
	}
	s.Begun, s.Ended = begun, begun.Add(time.Duration(20+h.rng.IntN(60))*time.Minute)
	h.sign(s)
	h.forget(s)
	return s
}

// sign signs a session, in time or not.
func (h *house) sign(s *Session) {
	switch {
	case h.maybe(15) || s.Mentor == (inventory.ID{}) && !h.unknown:
		s.Mentor, s.Watched = inventory.ID{}, inventory.No
	case h.maybe(85):
		s.Signed = s.Ended.AddDate(0, 0, h.rng.IntN(7))
	}
}

// forget leaves out what nobody wrote down.
func (h *house) forget(s *Session) {
	if h.doubt(10) && s.Watched == inventory.Yes {
		s.Mentor, s.Watched = inventory.ID{}, inventory.Tri([]int{0, 2}[h.rng.IntN(2)])
	}
	switch {
	case h.doubt(10):
		s.Begun, s.Ended = time.Time{}, time.Time{}
	case h.doubt(3):
		s.Ended = time.Time{}
	case h.doubt(3):
		s.Begun = time.Time{}
	}
	for n := range 3 {
		if !h.unknown && n == 0 || h.maybe(30) {
			s.Animals = append(s.Animals, id('n', 10*int(s.Species[15])+h.rng.IntN(3)))
		}
	}
	if h.maybe(5) {
		s.Unsafe = inventory.Yes
	}
}

func (h *house) act(i int) *Authorisation {
	a := &Authorisation{ID: id('a', i), On: h.day(), Person: h.people[h.rng.IntN(len(h.people))].ID, What: Whats[h.rng.IntN(len(Whats))]}
	if h.maybe(60) {
		a.What = []What{StageGrant, SpeciesGrant, MentorGrant}[h.rng.IntN(3)]
	}
	if i > 0 && h.maybe(20) { // on one day with another, of the same person
		last := h.records.Authorisations[len(h.records.Authorisations)-1]
		a.On, a.Person = max(last.On, h.first), last.Person
	}
	h.about(a)
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
		a.At = instant(a.On, 8+h.rng.IntN(10), 0)
	}
	return a
}

// about says what an act is about, and until when.
func (h *house) about(a *Authorisation) {
	switch a.What {
	case SpeciesGrant:
		a.Species, a.Level = h.species[1+h.rng.IntN(len(h.species)-1)].ID, Level(1+h.rng.IntN(4))
	case StageGrant, MentorGrant:
		a.Stage = 1 + h.rng.IntN(3)
		if h.maybe(3) {
			a.Stage = 4 // which the ladder has not
		}
	case SetBack:
		a.Reason = "as decided"
		if a.Stage = h.rng.IntN(3); a.Stage == 0 && h.maybe(50) {
			a.Species = h.species[1].ID
		}
	case Suspension:
		a.Reason = "as decided"
		if h.maybe(70) {
			a.Until = day.Until(a.On.Add(h.rng.IntN(10)))
		}
	}
	if a.What.Grants() && h.maybe(25) {
		a.Until = day.Until(a.On.Add(h.rng.IntN(20)))
	} else if a.What.Grants() && h.maybe(25) {
		a.Until = day.Forever()
	}
}

func (h *house) credit(i int) *Credit {
	c := &Credit{ID: id('c', i), Person: h.people[h.rng.IntN(len(h.people))].ID, Where: "another house", Proof: Log, Percent: h.rng.IntN(3) * 50, On: h.day()}
	c.Taxon = []string{"Familidae", "Genus", "Genus b", "Elsewhereidae"}[h.rng.IntN(4)]
	c.Last = c.On.Add(-h.rng.IntN(20))
	c.First = c.Last.Add(-h.rng.IntN(20))
	c.Repetitions, c.Hours, c.Days = h.rng.IntN(9), h.rng.IntN(9), h.rng.IntN(int(c.Last-c.First)+2)
	if h.maybe(80) {
		c.Signers = []inventory.ID{id('z', 0)}
	}
	return c
}

// correct takes records out and changes others, long after their day.
func (h *house) correct(c *Change) {
	r := &h.records
	for range 3 {
		i := h.rng.IntN(len(r.Sessions) - 9)
		was := r.Sessions[i]
		if h.maybe(30) {
			c.Sessions = append(c.Sessions, SessionChange{Was: was})
			r.Sessions = slices.Delete(r.Sessions, i, i+1)
			continue
		}
		is := h.session(0)
		is.ID = was.ID
		c.Sessions = append(c.Sessions, SessionChange{Was: was, Is: is})
		r.Sessions[i] = is
	}
	i := h.rng.IntN(len(r.Authorisations) - 9) // a founding one as well
	was := r.Authorisations[i]
	if h.maybe(50) {
		c.Acts = append(c.Acts, ActChange{Was: was})
		r.Authorisations = slices.Delete(r.Authorisations, i, i+1)
		return
	}
	is := *was
	is.On, is.At, is.Until = is.On.Add(h.rng.IntN(9)), time.Time{}, day.End{}
	c.Acts = append(c.Acts, ActChange{Was: was, Is: &is})
	r.Authorisations[i] = &is
}
