package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func (a *app) animalCommand() *cobra.Command {
	return deeds("animal", "Record what happened to an animal", a.animalArrived(), a.animalBorn(), a.animalMoved(), a.animalDied(), a.animalLeft(), a.animalPlaced())
}

// entering is what is said of animals that come.
type entering struct{ species, enclosure, site string }

func (e *entering) flags(f *pflag.FlagSet) {
	f.StringVar(&e.species, "species", "", "its species, by the full scientific name")
	f.StringVar(&e.enclosure, "enclosure", "", "the code of the enclosure that it is in")
	f.StringVar(&e.site, "site", "", "the site of the enclosure, where several have that code")
}

// animal makes the record of one that comes on the day that is said.
func (e *entering) animal(h *heard, accession string) (inventory.Animal, error) {
	var a inventory.Animal
	species, err := h.SpeciesOf(e.species)
	if err != nil {
		return a, fmt.Errorf("--species: %w", err)
	}
	door, err := h.Enclosure(e.enclosure, e.site)
	if err != nil {
		return a, fmt.Errorf("--enclosure: %w", err)
	}
	on, err := h.Happened(h.on, door.Site)
	if err != nil {
		return a, err
	}
	return inventory.Animal{ID: inventory.NewID(), Accession: accession, Species: species.ID, Arrived: on,
		Custodian: h.House().Ref(), Stays: []inventory.Stay{{Enclosure: door.ID, From: on}}}, nil
}

func (a *app) animalArrived() *cobra.Command {
	var e entering
	var from, country, bred, as string
	var planned bool
	return a.deed(saying{words: deed.WordsAnimalArrived, args: "ACCESSION", short: "An animal came", day: "it arrived",
		long: `Record an animal that came, with the enclosure that it is in. Its species, and
antivenom for it, should have been in the records before: see what breaks with
antidotary check.`,
		flags: func(f *pflag.FlagSet) {
			e.flags(f)
			f.StringVar(&from, "from", "", "who sent it")
			f.StringVar(&country, "country", "", "the country that it comes from")
			f.StringVar(&bred, "bred", "", "whether it was bred in captivity: yes or no (default: not recorded)")
			f.StringVar(&as, "received-as", "", "the name on the papers that it came with, if that is another one")
			f.BoolVar(&planned, "as-planned", false, "take it off the planned arrival of its species at that site")
		},
		made: func(h *heard) (deed.Deed, error) {
			x, err := e.animal(h, h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			x.From, x.Origin.Country, x.ReceivedAs = from, country, as
			if err := x.Origin.Bred.UnmarshalText([]byte(bred)); err != nil {
				return deed.Deed{}, fmt.Errorf("--bred: %w", err)
			}
			var plan inventory.ID
			if planned {
				if plan, err = planOf(h, x); err != nil {
					return deed.Deed{}, err
				}
			}
			return deed.AnimalArrived(x, plan), nil
		}})
}

// planOf finds the earliest plan that an arrival fulfils.
func planOf(h *heard, a inventory.Animal) (inventory.ID, error) {
	var first *inventory.Planned
	for p := range h.Planned.All() {
		fits := p.Kind == inventory.PlanArrival && p.Cancelled.IsZero() && p.Species == a.Species && p.Site == h.SiteOf(a.Stays[0].Enclosure)
		if fits && (first == nil || p.On < first.On) {
			first = p
		}
	}
	if first == nil {
		return inventory.ID{}, errors.New("--as-planned: no arrival of that species is planned for that site")
	}
	return first.ID, nil
}

func (a *app) animalBorn() *cobra.Command {
	var e entering
	return a.deed(saying{words: deed.WordsAnimalBorn, args: "ACCESSION...", short: "Animals were born or hatched here", day: "they were born",
		flags: e.flags,
		made: func(h *heard) (deed.Deed, error) {
			var litter []inventory.Animal
			for _, accession := range h.args {
				x, err := e.animal(h, accession)
				if err != nil {
					return deed.Deed{}, err
				}
				x.Born = x.Arrived
				litter = append(litter, x)
			}
			return deed.AnimalBorn(litter), nil
		}})
}

// creature finds the animal that is named and the day of what happened to it.
func (h *heard) creature() (*inventory.Animal, day.Day, error) {
	x, err := h.Animal(h.args[0])
	if err != nil {
		return nil, 0, err
	}
	var site inventory.ID
	if n := len(x.Stays); n > 0 {
		site = h.SiteOf(x.Stays[n-1].Enclosure)
	}
	on, err := h.Happened(h.on, site)
	return x, on, err
}

func (a *app) animalMoved() *cobra.Command {
	var site string
	return a.deed(saying{words: deed.WordsAnimalMoved, args: "ACCESSION ENCLOSURE", short: "An animal is in another enclosure", day: "it moved",
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&site, "site", "", "the site of the enclosure, where several have that code")
		},
		made: func(h *heard) (deed.Deed, error) {
			x, on, err := h.creature()
			if err != nil {
				return deed.Deed{}, err
			}
			door, err := h.Enclosure(h.args[1], site)
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.AnimalMoved(x.ID, door.ID, on), nil
		}})
}

func (a *app) animalDied() *cobra.Command {
	return a.deed(saying{words: deed.WordsAnimalDied, args: "ACCESSION", short: "An animal died", day: "it died",
		made: func(h *heard) (deed.Deed, error) {
			x, on, err := h.creature()
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.AnimalDied(x.ID, on), nil
		}})
}

func (a *app) animalLeft() *cobra.Command {
	var how, to string
	return a.deed(saying{words: deed.WordsAnimalLeft, args: "ACCESSION", short: "An animal is no longer in the house", day: "it left (the first day without it)",
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&how, "how", string(inventory.Transferred), "transfer, loan, release or escape")
			f.StringVar(&to, "to", "", "who has it now")
		},
		made: func(h *heard) (deed.Deed, error) {
			x, on, err := h.creature()
			if err != nil {
				return deed.Deed{}, err
			}
			if how == string(inventory.Died) {
				return deed.Deed{}, usageError{errors.New("an animal that died is recorded with animal died")}
			}
			return deed.AnimalLeft(x.ID, inventory.Disposition{How: inventory.Departure(how), On: on, To: to}), nil
		}})
}
