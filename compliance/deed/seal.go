package deed

import (
	"errors"
	"fmt"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func place(id inventory.ID) inventory.Ref { return inventory.Ref{Kind: inventory.KindPlace, ID: id} }

// Seal is what somebody did with the seal of a place, or saw of it.
type Seal struct {
	Activity inventory.ID // made by the client
	Place    inventory.ID
	Number   string // of the seal that was set or found; none: NoSeal
	On       day.Day
	Why      string // it was broken
	Watched
}

// NoSeal is the number of a seal that is not there.
const NoSeal = "none"

const sealDiffers = "SEAL DIFFERS"

// activity tells who did it, and who watched.
func (c Seal) activity(what string, passed inventory.Tri, note string) compliance.Change {
	return compliance.Record(compliance.Activity{ID: c.Activity, What: what, Subject: place(c.Place), On: c.On, By: c.By, Passed: passed,
		Note: note, Witness: c.Witness, Unwitnessed: c.Unwitnessed})
}

// SealSet records a numbered seal on the box or door of a place, before a
// witness.
func SealSet(c Seal) Deed {
	set := compliance.Alter[inventory.Place]{Of: place(c.Place), How: func(s *compliance.Snapshot, p *inventory.Place) error {
		if err := c.check(s, p.Site, c.On); err != nil {
			return err
		}
		if now := p.Sealed(c.On); now != nil {
			return fmt.Errorf("seal %s is on it since %s: record first that it was broken", now.Number, now.From)
		}
		p.Seals = with(p.Seals, inventory.Seal{Number: c.Number, From: c.On})
		return nil
	}}
	return of(WordsSealSet, set, c.activity("seal.set", inventory.Yes, "seal "+c.Number))
}

// SealBroken records that a seal is broken, and why, before a witness.
func SealBroken(c Seal) Deed {
	broke := compliance.Alter[inventory.Place]{Of: place(c.Place), How: func(s *compliance.Snapshot, p *inventory.Place) error {
		if err := c.check(s, p.Site, c.On); err != nil {
			return err
		}
		if c.Why == "" {
			return errors.New("say why it is broken")
		}
		for i, seal := range p.Seals {
			if !seal.Broken.IsZero() {
				continue
			}
			seal.Broken, seal.Why = c.On, c.Why
			p.Seals = append(with(p.Seals[:i], seal), p.Seals[i+1:]...)
			return before(c.On, "it was set", seal.From)
		}
		return errors.New("no seal of it is recorded as whole")
	}}
	return of(WordsSealBroken, broke, c.activity("seal.broken", inventory.Yes, c.Why))
}

// SealChecked records the seal that somebody found. One that is not the
// recorded one is said and kept, and does not pass; the record stays until
// somebody says what happened.
func SealChecked(c Seal) Deed {
	d := of(WordsSealChecked, sealCheck{c})
	d.remarks = func(_, is *compliance.Snapshot) []string {
		if a, ok := is.Activities.Get(c.Activity); ok {
			return []string{words(a.Note)}
		}
		return nil
	}
	return d
}

// words tells what was found of a seal.
func words(note string) string {
	if strings.HasPrefix(note, sealDiffers) {
		return note + ". Both are kept, and neither is corrected: find out, and record what happened."
	}
	return "It is the recorded one: " + note + "."
}

type sealCheck struct{ Seal }

// Touches names the activity.
func (c sealCheck) Touches() []inventory.Ref {
	return []inventory.Ref{{Kind: inventory.KindActivity, ID: c.Activity}}
}

// Apply compares with the records as they are now.
func (c sealCheck) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	p, ok := s.Places.Get(c.Place)
	if !ok || c.Number == "" {
		return nil, &compliance.Refusal{Subject: place(c.Place), Name: s.NameOf(place(c.Place)), Err: errors.New("write the number of the seal that is on it, or none")}
	}
	note, same := sealFound(p, c.Number, c.On)
	return c.activity("seal.checked", same, note).Apply(s)
}

// sealFound compares the seal that was found with the recorded one.
func sealFound(p *inventory.Place, found string, on day.Day) (note string, same inventory.Tri) {
	recorded := NoSeal
	if seal := p.Sealed(on); seal != nil {
		recorded = seal.Number
	}
	if found == recorded {
		return "seal " + found, inventory.Yes
	}
	return fmt.Sprintf("%s: %s found, %s recorded", sealDiffers, found, recorded), inventory.No
}
