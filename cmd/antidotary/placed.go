package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/compliance/ladder"
	"antidotary/daemon/naming"
	"antidotary/inventory"
)

func (a *app) speciesCommand() *cobra.Command {
	return deeds("species", "Record on which stage a species is", a.placed(saying{words: deed.WordsSpeciesPlaced, args: "SPECIES STAGE", short: "A species is on another stage than its hazards say",
		long: `Record that a species is on another stage of the ladder than its hazards say.
Upward whoever decides is heard; downward only the head of collection is.`}, func(h *heard) (inventory.Ref, error) {
		species, err := h.SpeciesOf(h.args[0])
		if err != nil {
			return inventory.Ref{}, err
		}
		return species.Ref(), nil
	}))
}

func (a *app) animalPlaced() *cobra.Command {
	return a.placed(saying{words: deed.WordsAnimalPlaced, args: "ACCESSION STAGE", short: "One animal is on another stage than its species"}, func(h *heard) (inventory.Ref, error) {
		animal, err := h.Animal(h.args[0])
		if err != nil {
			return inventory.Ref{}, err
		}
		return animal.Ref(), nil
	})
}

// placed makes the command that places what of finds.
func (a *app) placed(s saying, of func(*heard) (inventory.Ref, error)) *cobra.Command {
	var by, reason, until string
	s.day = "it counts from"
	s.flags = func(f *pflag.FlagSet) {
		f.StringVar(&by, "by", "", "who decided (default: whoever records it)")
		f.StringVar(&reason, "reason", "", "the reason")
		f.StringVar(&until, "until", "never", "its last day: YYYY-MM-DD, YYYY-MM, never, or unknown")
	}
	s.made = func(h *heard) (deed.Deed, error) {
		p := ladder.Placement{ID: inventory.NewID(), Reason: reason}
		var err error
		if p.Subject, err = of(h); err != nil {
			return deed.Deed{}, err
		}
		if p.Stage, err = stageOf(h.args[1]); err != nil {
			return deed.Deed{}, err
		}
		if p.By, err = h.by(by); err != nil {
			return deed.Deed{}, fmt.Errorf("--by: %w", err)
		}
		if p.By == (inventory.ID{}) {
			return deed.Deed{}, usageError{errors.New("--by is needed: a placement is by a person of the house")}
		}
		if p.Until, _, err = naming.End(until, true); err != nil {
			return deed.Deed{}, fmt.Errorf("--until: %w", err)
		}
		p.On, err = h.Happened(h.on, siteOf(h, p.Subject))
		return deed.Placed(p), err
	}
	return a.deed(s)
}
