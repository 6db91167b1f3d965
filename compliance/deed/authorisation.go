package deed

import (
	"errors"
	"fmt"
	"slices"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// authorised has the words of each kind of authorisation.
var authorised = map[ladder.What]string{
	ladder.StageGrant:   WordsPersonStage,
	ladder.SpeciesGrant: WordsPersonSignedOff,
	ladder.MentorGrant:  WordsPersonMentor,
	ladder.Suspension:   WordsPersonSuspended,
	ladder.Clearance:    WordsPersonCleared,
	ladder.SetBack:      WordsPersonSetBack,
}

// Authorised records that somebody's standing on the ladder changes. Whether
// the ladder's conditions were met is judged, not asked here: what does not
// meet them is kept, and grants nothing.
func Authorised(a ladder.Authorisation) Deed {
	return of(authorised[a.What], following[ladder.Authorisation]{a, func(s *compliance.Snapshot) error {
		if err := joined(s, a.Person, a.On); err != nil {
			return err
		}
		if a.What.Grants() && a.Founding == "" && len(a.Signers) == 0 {
			return errors.New("nobody has signed it: name who signs by --signer, or by --founding the evidence on which it rests")
		}
		if twin := sameDay(s, a); twin != nil {
			return fmt.Errorf("%s is recorded already", s.NameOf(twin.Ref()))
		}
		switch a.What {
		case ladder.Clearance:
			if !suspended(s, a.Person, a.On) {
				return errors.New("no suspension that lasts is recorded")
			}
			if len(a.Signers) == 0 {
				return errors.New("nobody has signed it: name who clears the person by --signer")
			}
		case ladder.SetBack:
			return below(s, a)
		}
		return nil
	}})
}

func joined(s *compliance.Snapshot, id inventory.ID, on day.Day) error {
	p, ok := s.People.Get(id)
	switch {
	case !ok:
		return nil
	case !p.Joined.IsZero() && on < p.Joined:
		return fmt.Errorf("%s joined on %s", p.Called, p.Joined)
	case !p.Here(on):
		return fmt.Errorf("%s is no longer here since %s", p.Called, p.Leaves)
	}
	return nil
}

// sameDay finds what says the same of one day.
func sameDay(s *compliance.Snapshot, a ladder.Authorisation) *ladder.Authorisation {
	for other := range s.Authorisations.All() {
		if other.ID != a.ID && other.Person == a.Person && other.What == a.What && other.On == a.On && other.Stage == a.Stage &&
			other.Species == a.Species && other.Level == a.Level && other.At.Equal(a.At) {
			return other
		}
	}
	return nil
}

// suspended says whether a suspension lasts on a day.
func suspended(s *compliance.Snapshot, id inventory.ID, on day.Day) bool {
	var lasting []ladder.Authorisation
	for a := range s.Authorisations.All() {
		if last, ends := a.Until.Known(); a.Person == id && a.What == ladder.Suspension && a.On <= on && (!ends || last >= on) {
			lasting = append(lasting, *a)
		}
	}
	return slices.ContainsFunc(lasting, func(x ladder.Authorisation) bool { return !clearedSince(s, x, on) })
}

// clearedSince says whether a clearance ended a suspension by a day. Of two on
// one day the later instant counts; where that is not known, the suspension.
func clearedSince(s *compliance.Snapshot, x ladder.Authorisation, on day.Day) bool {
	for a := range s.Authorisations.All() {
		if a.Person != x.Person || a.What != ladder.Clearance || a.On > on {
			continue
		}
		if a.On > x.On || a.On == x.On && !x.At.IsZero() && a.At.After(x.At) {
			return true
		}
	}
	return false
}

// below refuses a set-back to where somebody never was above, and one of a
// species that was never signed off.
func below(s *compliance.Snapshot, a ladder.Authorisation) error {
	highest, signedOff := 0, false
	for other := range s.Authorisations.All() {
		if other.Person != a.Person || other.On > a.On {
			continue
		}
		switch {
		case other.What == ladder.StageGrant:
			highest = max(highest, other.Stage)
		case other.What == ladder.SpeciesGrant && other.Species == a.Species:
			signedOff = true
		}
	}
	switch {
	case a.Species != (inventory.ID{}) && !signedOff:
		return fmt.Errorf("%s was never signed off for %s", s.NameOf(person(a.Person)), s.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: a.Species}))
	case a.Species == (inventory.ID{}) && a.Stage >= highest:
		return fmt.Errorf("the highest stage recorded for %s is %d: a set-back is to a lower one", s.NameOf(person(a.Person)), highest)
	}
	return nil
}

// PersonCredited records work done elsewhere that counts here in part.
func PersonCredited(c ladder.Credit) Deed {
	return of(WordsPersonCredited, following[ladder.Credit]{c, func(s *compliance.Snapshot) error {
		if len(c.Signers) == 0 {
			return errors.New("nobody has signed it: name who takes it over by --signer")
		}
		for other := range s.Credits.All() {
			if other.ID != c.ID && other.Person == c.Person && other.Where == c.Where && other.Taxon == c.Taxon && other.First <= c.Last && c.First <= other.Last {
				return fmt.Errorf("work there with %s from %s to %s is credited already: undo that entry to correct it", other.Taxon, other.First, other.Last)
			}
		}
		return nil
	}})
}

// Placed puts a species or an animal on a stage.
func Placed(p ladder.Placement) Deed {
	words := WordsSpeciesPlaced
	if p.Subject.Kind == inventory.KindAnimal {
		words = WordsAnimalPlaced
	}
	return of(words, following[ladder.Placement]{p, func(s *compliance.Snapshot) error {
		if err := joined(s, p.By, p.On); err != nil {
			return err
		}
		for other := range s.Placements.All() {
			if other.ID != p.ID && other.Subject == p.Subject && other.On == p.On {
				return fmt.Errorf("%s is recorded already: undo that entry to correct it", s.NameOf(other.Ref()))
			}
		}
		return nil
	}})
}
