package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) personCommand() *cobra.Command {
	return deeds("person", "Record who works in the house, and what they may do", a.personJoined(), a.personLeft(), a.personAway(),
		a.personStage(), a.personSignedOff(), a.personMentor(), a.personSuspended(), a.personCleared(), a.personSetBack(), a.personCredited())
}

// roles reads roles that somebody has at a site; the zero ID means at every
// site.
func roles(names []string, site inventory.ID) (offices []compliance.Office, err error) {
	for _, name := range names {
		role := compliance.Role(strings.TrimSpace(name))
		if err := role.Check("role"); err != nil {
			return nil, err
		}
		offices = append(offices, compliance.Office{Role: role, Site: site})
	}
	return offices, nil
}

func (a *app) personJoined() *cobra.Command {
	var email, site, born string
	var has []string
	return a.deed(saying{words: deed.WordsPersonJoined, args: "NAME", short: "Somebody works in the house", day: "the person joined",
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&email, "email", "", "where to tell the person (default: the person cannot be told)")
			f.StringVar(&site, "site", "", "the site where the person's days end")
			f.StringVar(&born, "born", "", "the day of birth, where the law asks for an age: YYYY-MM-DD (default: not recorded)")
			f.StringSliceVar(&has, "role", nil, "head, administrator, curator, lead-keeper, keeper, trainee, safety-officer, operations or second-contact (outside the house); may be given again")
		},
		made: func(h *heard) (deed.Deed, error) {
			at, err := h.SiteCalled(site)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--site: %w", err)
			}
			p := compliance.Person{ID: inventory.NewID(), Called: h.args[0], Email: email, Site: at.ID}
			if p.Joined, err = h.Day(h.on, at.ID); err != nil {
				return deed.Deed{}, err
			}
			if born != "" {
				if p.Born, err = h.dayOf("--born", born, at.ID); err != nil {
					return deed.Deed{}, err
				}
			}
			p.Offices, err = roles(has, inventory.ID{})
			return deed.PersonJoined(p), err
		}})
}

func (a *app) personLeft() *cobra.Command {
	return a.deed(saying{words: deed.WordsPersonLeft, args: "NAME", short: "Somebody no longer works in the house", day: "the person is no longer here (may be to come)",
		made: func(h *heard) (deed.Deed, error) {
			p, err := h.Person(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			from, err := h.Day(h.on, p.Site)
			return deed.PersonLeft(p.ID, from), err
		}})
}
