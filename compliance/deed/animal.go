package deed

import (
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// AnimalArrived records an animal that came. It must have an enclosure: what
// is held nowhere cannot be covered. A plan that came true with it counts one
// animal less; the zero ID where none did.
func AnimalArrived(a inventory.Animal, plan inventory.ID) Deed {
	d := put(WordsAnimalArrived, a)
	if plan != (inventory.ID{}) {
		d.Batch = append(d.Batch, fulfil(plan, a.Arrived))
	}
	return d
}

// fulfil takes one animal off a plan, and ends it with the last.
func fulfil(plan inventory.ID, on day.Day) compliance.Change {
	ref := inventory.Ref{Kind: inventory.KindPlanned, ID: plan}
	return compliance.Alter[inventory.Planned]{Of: ref, How: func(_ *compliance.Snapshot, p *inventory.Planned) error {
		if !p.Cancelled.IsZero() {
			return fmt.Errorf("the plan ended on %s", p.Cancelled)
		}
		if p.Count > 1 {
			p.Count--
			return nil
		}
		p.Cancelled = on
		return nil
	}}
}

// AnimalBorn records animals that were born, or hatched, in the house.
func AnimalBorn(litter []inventory.Animal) Deed {
	d := of(WordsAnimalBorn)
	for _, a := range litter {
		a.Origin.Bred = inventory.Yes
		d.Batch = append(d.Batch, compliance.Record(a))
	}
	return d
}

// AnimalMoved records that an animal is in another enclosure from a day on.
func AnimalMoved(id, enclosure inventory.ID, from day.Day) Deed {
	return alter(WordsAnimalMoved, animal(id), func(_ *compliance.Snapshot, a *inventory.Animal) error {
		if err := held(a, from); err != nil {
			return err
		}
		if n := len(a.Stays); n > 0 && a.Stays[n-1].Enclosure == enclosure {
			return fmt.Errorf("it is in that enclosure since %s", a.Stays[n-1].From)
		}
		a.Stays = with(a.Stays, inventory.Stay{Enclosure: enclosure, From: from})
		return nil
	})
}

// AnimalDied records an animal's death. Papers that name it may end with it.
func AnimalDied(id inventory.ID, on day.Day) Deed {
	return gone(WordsAnimalDied, id, inventory.Disposition{How: inventory.Died, On: on})
}

// AnimalLeft records that an animal is no longer in the house.
func AnimalLeft(id inventory.ID, how inventory.Disposition) Deed {
	return gone(WordsAnimalLeft, id, how)
}

func gone(words string, id inventory.ID, how inventory.Disposition) Deed {
	return alter(words, animal(id), func(_ *compliance.Snapshot, a *inventory.Animal) error {
		if err := held(a, how.On); err != nil {
			return err
		}
		a.Left = &how
		return nil
	})
}

// held refuses what happens to an animal that is not in the house.
func held(a *inventory.Animal, on day.Day) error {
	if a.Left != nil {
		return fmt.Errorf("it left the house on %s (%s)", a.Left.On, a.Left.How)
	}
	if n := len(a.Stays); n > 0 {
		if err := before(on, "it came to the enclosure where it is", a.Stays[n-1].From); err != nil {
			return err
		}
	}
	return before(on, "it arrived", a.Arrived)
}

// AnimalsCounted records that somebody counted the animals of a site. A count
// that is not what the records say did not pass: somebody has to find out.
func AnimalsCounted(id, site, by inventory.ID, on day.Day, found int) Deed {
	return of(WordsCountedAnimals, counted{compliance.Activity{ID: id, What: "count.animals",
		Subject: inventory.Ref{Kind: inventory.KindSite, ID: site}, On: on, By: by}, found})
}

// counted compares a count of animals with the records as they are when it is
// recorded.
type counted struct {
	activity compliance.Activity
	found    int
}

// Touches names the activity.
func (c counted) Touches() []inventory.Ref { return []inventory.Ref{c.activity.Ref()} }

// Apply puts the activity.
func (c counted) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	if c.found < 0 {
		return nil, errors.New("a count is a number from 0")
	}
	a := c.activity
	expected := AnimalsHeld(s, a.Subject.ID, a.On)
	a.Passed = inventory.Bool(c.found == expected)
	a.Note = fmt.Sprintf("%d counted, %d recorded", c.found, expected)
	return compliance.Record(a).Apply(s)
}

// AnimalsHeld gives how many animals a site holds on a day by the records.
func AnimalsHeld(s *compliance.Snapshot, site inventory.ID, on day.Day) (n int) {
	for a := range s.Animals.All() {
		if a.Held(s.SiteOf).At(on) == site {
			n++
		}
	}
	return n
}
