package deed

import (
	"errors"
	"fmt"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// SessionHeld records a handling session: who handled, watched by whom, which
// animals, and how each repetition went.
func SessionHeld(h ladder.Session) Deed {
	return of(WordsSessionHeld, following[ladder.Session]{h, func(s *compliance.Snapshot) error {
		if err := atWork(s, h.Trainee, h.On); err != nil {
			return err
		}
		if err := atWork(s, h.Mentor, h.On); err != nil {
			return err
		}
		if err := handled(s, h); err != nil {
			return err
		}
		for other := range s.Sessions.All() {
			if other.ID != h.ID && other.Trainee == h.Trainee && other.Species == h.Species && !h.Begun.IsZero() && other.Begun.Equal(h.Begun) {
				return fmt.Errorf("a session of %s that began at %s is recorded already", s.NameOf(person(h.Trainee)), h.Begun.Format(time.RFC3339))
			}
		}
		return nil
	}})
}

// handled refuses animals of another species, and those that were not here.
func handled(s *compliance.Snapshot, h ladder.Session) error {
	for _, id := range h.Animals {
		a, ok := s.Animals.Get(id)
		switch {
		case !ok:
		case a.Species != h.Species:
			return fmt.Errorf("animal %s is %s: record a session for each species", a.Accession, s.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: a.Species}))
		case !a.Arrived.IsZero() && h.On < a.Arrived:
			return fmt.Errorf("animal %s arrived on %s, after it", a.Accession, a.Arrived)
		case a.Left != nil && h.On > a.Left.On:
			return fmt.Errorf("animal %s left the house on %s, before it", a.Accession, a.Left.On)
		}
	}
	return nil
}

// SessionSigned records that the mentor signed for sessions, at an instant.
func SessionSigned(sessions []inventory.ID, by inventory.ID, at time.Time) Deed {
	d := of(WordsSessionSigned)
	for _, id := range sessions {
		ref := inventory.Ref{Kind: inventory.KindSession, ID: id}
		d.Batch = append(d.Batch, compliance.Alter[ladder.Session]{Of: ref, How: func(s *compliance.Snapshot, h *ladder.Session) error {
			switch {
			case h.Watched == inventory.No:
				return errors.New("nobody watched it: there is nothing to sign")
			case h.Mentor == (inventory.ID{}):
				return errors.New("its mentor is not recorded: only the mentor signs for it")
			case h.Mentor != by:
				return fmt.Errorf("its mentor is %s: only the mentor signs for it", s.NameOf(person(h.Mentor)))
			case !h.Signed.IsZero():
				return fmt.Errorf("it was signed at %s", h.Signed.Format(time.RFC3339))
			case at.Before(h.Begun) || at.Before(h.Ended):
				return errors.New("nobody signs for a session before it is over")
			}
			h.Signed = at
			return nil
		}})
	}
	return d
}

func person(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPerson, ID: id}
}

// atWork refuses somebody who was not at work on a day; nobody is fine.
func atWork(s *compliance.Snapshot, id inventory.ID, on day.Day) error {
	if err := joined(s, id, on); err != nil {
		return err
	}
	if p, ok := s.People.Get(id); ok && p.AwayOn(on) {
		return fmt.Errorf("%s is recorded as away on %s: record first until when, with person away --from --last", p.Called, on)
	}
	return nil
}
