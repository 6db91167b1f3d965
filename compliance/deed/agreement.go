package deed

import (
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// AgreementSigned records that a partner hands out antivenom for a site, from
// the day of the signature on. It counts once the partner has confirmed how
// many vials are there.
func AgreementSigned(a inventory.Agreement) Deed { return put(WordsAgreementSigned, a) }

func agreement(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindAgreement, ID: id}
}

// AgreementConfirmed records what the partner said on a day, told late or not.
// Of two confirmations on one day the later recorded counts.
func AgreementConfirmed(id inventory.ID, c inventory.Confirmation) Deed {
	return alter(WordsAgreementConfirmed, agreement(id), func(_ *compliance.Snapshot, a *inventory.Agreement) error {
		if err := inForce(a, c.On); err != nil {
			return err
		}
		at := len(a.Confirmations)
		for at > 0 && a.Confirmations[at-1].On > c.On {
			at--
		}
		a.Confirmations = append(with(a.Confirmations[:at], c), a.Confirmations[at:]...)
		return nil
	})
}

// inForce refuses a day on which the agreement does not hold by its record.
func inForce(a *inventory.Agreement, on day.Day) error {
	if err := before(on, "it was signed", a.Signed); err != nil {
		return err
	}
	if !a.Ended.IsZero() && on >= a.Ended {
		return fmt.Errorf("it ended on %s: record the agreement that follows it", a.Ended)
	}
	if last, known := a.Until.Known(); known && on > last {
		return fmt.Errorf("its last day was %s: record the agreement that follows it", last)
	}
	return nil
}

// AgreementEnded records that an agreement holds no longer from a day on,
// before its own end.
func AgreementEnded(id inventory.ID, on day.Day) Deed {
	return alter(WordsAgreementEnded, agreement(id), func(_ *compliance.Snapshot, a *inventory.Agreement) error {
		if err := inForce(a, on); err != nil {
			return err
		}
		a.Ended = on
		return nil
	})
}

// PlaceReaches records how many minutes it takes until vials of a place are at
// hand at a site; what was recorded of that site before is replaced.
func PlaceReaches(place, site inventory.ID, minutes int) Deed {
	ref := inventory.Ref{Kind: inventory.KindPlace, ID: place}
	return alter(WordsPlaceReaches, ref, func(_ *compliance.Snapshot, p *inventory.Place) error {
		if minutes < 1 {
			return errors.New("minutes must be at least 1")
		}
		reach := make([]inventory.Reach, 0, len(p.Reach)+1)
		for _, r := range p.Reach {
			if r.Site != site {
				reach = append(reach, r)
			}
		}
		p.Reach = append(reach, inventory.Reach{Site: site, Minutes: minutes})
		return nil
	})
}
