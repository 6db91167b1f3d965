package deed

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Count is what somebody counted in one place: every lot that is there or
// should be, each with its vials.
type Count struct {
	Activity inventory.ID // made by the client
	Place    inventory.ID
	By       inventory.ID // zero: not recorded
	On       day.Day
	Vials    map[inventory.ID]int // by lot
	AsBooked bool                 // every lot as the records say; then Vials is empty
}

// AntivenomCounted records a count of the antivenom in one place, and adjusts
// the lots to it. A lot that should be there and is not named is refused: not
// to have looked is not to have found none. What differs is kept with the
// count, and adjusting says nothing of where the vials went.
func AntivenomCounted(c Count) Deed { return of(WordsCountedAntivenom, stocktake{c}) }

type stocktake struct{ Count }

// Touches names the activity and the lots.
func (c stocktake) Touches() []inventory.Ref {
	refs := []inventory.Ref{{Kind: inventory.KindActivity, ID: c.Activity}}
	for id := range c.Vials {
		refs = append(refs, lot(id))
	}
	slices.SortFunc(refs, inventory.Ref.Compare)
	return refs
}

// Apply compares with the records as they are now.
func (c stocktake) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	place := inventory.Ref{Kind: inventory.KindPlace, ID: c.Place}
	refuse := func(err error) (*compliance.Snapshot, error) {
		return nil, &compliance.Refusal{Subject: place, Name: s.NameOf(place), Err: err}
	}
	if c.AsBooked == (len(c.Vials) > 0) {
		return refuse(errors.New("name what was counted, lot by lot, or say that all is as recorded"))
	}
	var batch compliance.Batch
	var differs, unnamed []string
	for l := range s.Lots.All() {
		booked := VialsAt(l, c.Place, c.On)
		found, named := c.Vials[l.ID]
		switch {
		case c.AsBooked || !named && booked == 0:
		case !named:
			unnamed = append(unnamed, fmt.Sprintf("%s (%d recorded)", l.Number, booked))
		case found < 0:
			return refuse(fmt.Errorf("lot %s: a count is a number from 0", l.Number))
		case found != booked:
			differs = append(differs, fmt.Sprintf("%s: %d counted, %d recorded", l.Number, found, booked))
			batch = append(batch, compliance.Record(adjusted(*l, c, found-booked)))
		}
	}
	if len(unnamed) > 0 {
		slices.Sort(unnamed)
		return refuse(fmt.Errorf("the count leaves out %s: write LOT=0 for what is not there", strings.Join(unnamed, ", ")))
	}
	slices.Sort(differs)
	batch = append(batch, compliance.Record(compliance.Activity{ID: c.Activity, What: "count.antivenom", Subject: place,
		On: c.On, By: c.By, Passed: inventory.Yes, Note: strings.Join(differs, "; ")}))
	return batch.Apply(s)
}

// adjusted gives the lot with a movement that makes it what was counted.
func adjusted(l inventory.Lot, c stocktake, by int) inventory.Lot {
	v, sign := Vials{Place: c.Place, Count: by, On: c.On}, 1
	if by < 0 {
		v.Count, sign = -by, -1
	}
	if err := move(&l, inventory.Counted, v, sign); err != nil { // by is not 0
		panic(err)
	}
	return l
}
