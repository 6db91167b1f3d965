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

func (a *app) enclosureCommand() *cobra.Command {
	var site, by, with, reason, at string
	return deeds("enclosure", "Record that an enclosure was opened in an emergency", a.deed(saying{words: deed.WordsEnclosureOpened, args: "ENCLOSURE",
		short: "An enclosure was opened in an emergency, whatever the records said", day: "it was opened",
		long: `Record that somebody opened an enclosure in an emergency, whatever the records
said: to recapture, or to help. Do that first; nothing here is asked before. Who,
with whom and why is written down for those who look into it afterwards.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&site, "site", "", "the site, where several have an enclosure of that code")
			f.StringVar(&by, "by", "", "who opened it (default: whoever records it)")
			f.StringVar(&with, "with", "", "who stood by")
			f.StringVar(&reason, "reason", "", "what happened, and what was done")
			f.StringVar(&at, "at", "", "when: HH:MM, or day, time and zone")
		},
		made: func(h *heard) (deed.Deed, error) {
			e, err := h.Enclosure(h.args[0], site)
			if err != nil {
				return deed.Deed{}, err
			}
			if reason == "" {
				return deed.Deed{}, usageError{errors.New("--reason is needed: what happened, and what was done")}
			}
			act := compliance.Activity{ID: inventory.NewID(), Subject: e.Ref(), Note: reason, Passed: inventory.Yes}
			if act.By, err = h.by(by); err != nil {
				return deed.Deed{}, fmt.Errorf("--by: %w", err)
			}
			if with != "" {
				p, err := h.Person(with)
				if err != nil {
					return deed.Deed{}, fmt.Errorf("--with: %w", err)
				}
				act.Witness = p.ID
			}
			if at != "" {
				if act.At, err = h.Instant(at, e.Site); err != nil {
					return deed.Deed{}, fmt.Errorf("--at: %w", err)
				}
				act.On = h.DayOf(act.At, e.Site)
				return deed.EnclosureOpened(act), nil
			}
			act.On, err = h.Happened(h.on, e.Site)
			return deed.EnclosureOpened(act), err
		}}))
}
