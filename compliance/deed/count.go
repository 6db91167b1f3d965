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
	On       day.Day
	Vials    map[inventory.ID]inventory.Found // by lot
	AsBooked bool                             // every lot as the records say; then Vials is empty
	Seal     string                           // that was found on it; none: NoSeal; empty: nobody looked
	Watched
}

// AntivenomCounted records a count of the antivenom in one place before a
// witness, and adjusts the lots to it. A lot that should be there and is not
// named is refused: not to have looked is not to have found none. What differs
// is kept with the count, and adjusting says nothing of where the vials went.
// A seal that is not the recorded one is kept as found, and the record of it
// stays.
func AntivenomCounted(c Count) Deed {
	d := of(WordsCountedAntivenom, stocktake{c})
	d.remarks = c.remarks
	return d
}

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
	at := place(c.Place)
	refuse := func(err error) (*compliance.Snapshot, error) {
		return nil, &compliance.Refusal{Subject: at, Name: s.NameOf(at), Err: err}
	}
	if c.AsBooked == (len(c.Vials) > 0) {
		return refuse(errors.New("name what was counted, lot by lot, or say that all is as recorded"))
	}
	if err := c.check(s, siteOf(s, c.Place), c.On); err != nil {
		return refuse(err)
	}
	batch, differs, err := c.adjusted(s)
	if err != nil {
		return refuse(err)
	}
	if p, ok := s.Places.Get(c.Place); ok && c.Seal != "" {
		if note, same := sealFound(p, c.Seal, c.On); same != inventory.Yes {
			differs = append([]string{note}, differs...)
		}
	}
	batch = append(batch, compliance.Record(compliance.Activity{ID: c.Activity, What: "count.antivenom", Subject: at,
		On: c.On, By: c.By, Passed: inventory.Yes, Note: strings.Join(differs, "; "), Witness: c.Witness, Unwitnessed: c.Unwitnessed}))
	return batch.Apply(s)
}

// adjusted gives the lots as they were found, and what differed.
func (c stocktake) adjusted(s *compliance.Snapshot) (batch compliance.Batch, differs []string, err error) {
	var unnamed []string
	for l := range s.Lots.All() {
		there := l.There(c.Place, c.On)
		found, named := c.Vials[l.ID]
		switch {
		case c.AsBooked || !named && len(there) == 0:
			continue
		case !named:
			unnamed = append(unnamed, fmt.Sprintf("%s (%s recorded)", l.Number, plainly(there)))
			continue
		case negative(found):
			return nil, nil, fmt.Errorf("lot %s: a count is a number from 0", l.Number)
		}
		more := l.Adjusted(c.Place, c.On, found, inventory.Unchecked)
		if len(more) == 0 {
			continue
		}
		for i := range more {
			more[i].By, more[i].Witness, more[i].Unwitnessed = c.By, c.Witness, c.Unwitnessed
		}
		differs = append(differs, fmt.Sprintf("%s: %s counted, %s recorded", l.Number, foundWords(found), plainly(there)))
		batch = append(batch, compliance.Record(l.Put(more...)))
	}
	if len(unnamed) > 0 {
		slices.Sort(unnamed)
		return nil, nil, fmt.Errorf("the count leaves out %s: write LOT=0 for what is not there", strings.Join(unnamed, ", "))
	}
	slices.Sort(differs)
	return batch, differs, nil
}

func negative(f inventory.Found) bool {
	for _, n := range f.By {
		if n < 0 {
			return true
		}
	}
	return f.Vials < 0
}

// plainly says how many vials there are: "10", or "8 checked and 2 unfit".
func plainly(there map[inventory.Condition]int) string {
	if len(there) == 0 {
		return "0"
	}
	if n, only := there[inventory.Checked]; only && len(there) == 1 {
		return fmt.Sprint(n)
	}
	return Conditions(there)
}

func foundWords(f inventory.Found) string {
	if f.By == nil {
		return fmt.Sprint(f.Vials)
	}
	return Conditions(f.By)
}

// remarks tells each lot of the place, expected against counted, and what was
// found of the seal.
func (c Count) remarks(was, is *compliance.Snapshot) (all []string) {
	if a, ok := is.Activities.Get(c.Activity); ok && strings.HasPrefix(a.Note, sealDiffers) {
		note, _, _ := strings.Cut(a.Note, ";")
		all = append(all, words(note))
	}
	for l := range was.Lots.All() {
		expected := l.There(c.Place, c.On)
		now, ok := is.Lots.Get(l.ID)
		if !ok {
			continue
		}
		if found := now.There(c.Place, c.On); len(expected)+len(found) > 0 {
			all = append(all, fmt.Sprintf("Lot %s: %s expected, %s now.", l.Number, Conditions(expected), Conditions(found)))
		}
	}
	return all
}
