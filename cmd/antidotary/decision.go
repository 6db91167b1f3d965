package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) decisionCommand() *cobra.Command {
	var by, why, consequence, last string
	return deeds("decision", "Record a decision of the house", a.deed(saying{words: deed.WordsDecisionMade, args: "RULING SUBJECT",
		short: "The house decided something, by name", day: "it counts from",
		long: `Record a decision, by a named person, with its reason and its consequence:

  will-not-renew NUMBER                    a paper is left to end, and what it allows must end too
  run-down "SPECIES at SITE" or LOT        antivenom is not reordered; the species must leave before cover ends
  hold-without-antivenom "SPECIES at SITE" a species without any antivenom is held all the same
  works-alone SITE                         one person runs it: counts, discards and seals need no witness there

A decision about a paper, a lot or a species ends a reminder. None makes anything
lawful.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&by, "by", "", "who decided (default: whoever records it)")
			f.StringVar(&why, "why", "", "the reason")
			f.StringVar(&consequence, "consequence", "", "what follows from it")
			f.StringVar(&last, "last", "", "the last day on which it counts (default: until another one)")
		},
		made: func(h *heard) (deed.Deed, error) {
			d := compliance.Decision{ID: inventory.NewID(), Ruling: compliance.Ruling(h.args[0]), Why: why, Consequence: consequence}
			var err error
			if d.Subject, err = h.Subject(h.args[1], inventory.KindHolding, inventory.KindPermit, inventory.KindLot, inventory.KindSite); err != nil {
				return deed.Deed{}, err
			}
			if d.By, err = h.by(by); err != nil {
				return deed.Deed{}, fmt.Errorf("--by: %w", err)
			}
			if d.By == (inventory.ID{}) {
				return deed.Deed{}, usageError{errors.New("--by is needed: a decision is by a person of the house")}
			}
			site := d.Subject.At
			if d.Subject.Kind == inventory.KindSite {
				site = d.Subject.ID
			}
			if d.On, err = h.Happened(h.on, site); err != nil {
				return deed.Deed{}, err
			}
			if last != "" {
				if d.Last, err = h.Day(last, site); err != nil {
					return deed.Deed{}, fmt.Errorf("--last: %w", err)
				}
			}
			return deed.DecisionMade(d), nil
		}}))
}
