package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/daemon/intake"
	"antidotary/daemon/naming"
	"antidotary/inventory"
)

// doing is what is said of something that was done.
type doing struct {
	by, failed string
	isNew      bool
	year       int
	at         string
	carries    []string
}

func (d *doing) flags(f *pflag.FlagSet) {
	f.StringVar(&d.by, "by", "", "who did or led it (default: whoever records it)")
	f.StringVar(&d.failed, "passed", "yes", "whether it counts: yes, no, or unknown")
	f.BoolVar(&d.isNew, "new", false, "no rule asks for it, and it is recorded all the same")
}

// activity makes the record of what was done to a subject.
func (d *doing) activity(h *heard, what string, subject inventory.Ref) (compliance.Activity, error) {
	a := compliance.Activity{ID: inventory.NewID(), What: what, Subject: subject, Year: d.year}
	if err := d.asked(h, what); err != nil {
		return a, err
	}
	var err error
	if a.By, err = h.by(d.by); err != nil {
		return a, fmt.Errorf("--by: %w", err)
	}
	if err := a.Passed.UnmarshalText([]byte(d.failed)); err != nil {
		return a, fmt.Errorf("--passed: %w", err)
	}
	if a.Fields = d.carries; d.at != "" {
		return a, d.atInstant(h, &a)
	}
	a.On, err = h.Happened(h.on, siteOf(h, subject))
	return a, err
}

// atInstant sets the instant, and with it the day.
func (d *doing) atInstant(h *heard, a *compliance.Activity) (err error) {
	site := siteOf(h, a.Subject)
	if a.At, err = h.Instant(d.at, site); err != nil {
		return fmt.Errorf("--at: %w", err)
	}
	if a.On = h.DayOf(a.At, site); h.on == "" || h.on == "today" { // which it is where nobody says
		return nil
	}
	if on, err := h.Happened(h.on, site); err != nil || on != a.On {
		return usageError{fmt.Errorf("--at is on %s, and --on says %s; one of them is enough", a.On, h.on)}
	}
	return nil
}

// asked refuses a word that no rule asks for: what is recorded under another
// word would satisfy nobody.
func (d *doing) asked(h *heard, what string) error {
	all := h.Book.Activities()
	if d.isNew || slices.Contains(all, what) {
		return nil
	}
	wrong := fmt.Sprintf("no rule asks for %q", what)
	if near := intake.Nearest(what, all); len(near) > 0 {
		return fmt.Errorf("%s; near it: %s", wrong, strings.Join(near, ", "))
	}
	return fmt.Errorf("%s; rules ask for %s; --new records it all the same", wrong, strings.Join(all, ", "))
}

// siteOf gives the site whose day counts for a subject; zero for the house's.
func siteOf(h *heard, subject inventory.Ref) inventory.ID {
	switch r := h.Lookup(subject).(type) {
	case inventory.Site:
		return r.ID
	case inventory.Place:
		return r.Site
	case compliance.Person:
		return r.Site
	case inventory.Animal:
		if n := len(r.Stays); n > 0 {
			return h.SiteOf(r.Stays[n-1].Enclosure)
		}
	case compliance.Permit:
		return r.FirstSite()
	}
	return inventory.ID{}
}

func (a *app) drillCommand() *cobra.Command {
	var d doing
	return deeds("drill", "Record a drill", a.deed(saying{words: deed.WordsDrillHeld, args: "KIND SITE", short: "A drill was held", day: "it was held",
		long: `Record a drill, by the kind that rules ask for: bite, escape.

  antidotary drill held escape "Larkspur House" --as "Caspar Holm"`,
		flags: d.flags,
		made: func(h *heard) (deed.Deed, error) {
			site, err := h.SiteCalled(h.args[1])
			if err != nil {
				return deed.Deed{}, err
			}
			act, err := d.activity(h, kindOf("drill", h.args[0]), site.Ref())
			return deed.DrillHeld(act), err
		}}))
}

// kindOf joins a kind of activity with its family, where it is not written
// already.
func kindOf(family, kind string) string {
	return family + "." + strings.TrimPrefix(kind, family+".")
}

func (a *app) certificateCommand() *cobra.Command {
	var d doing
	var until string
	return deeds("certificate", "Record a certificate", a.deed(saying{words: deed.WordsCertificateRenewed, args: "KIND PERSON",
		short: "Somebody earned a certificate, or earned it again", day: "it was earned",
		flags: func(f *pflag.FlagSet) {
			d.flags(f)
			f.StringVar(&until, "until", "", "its last good day: YYYY-MM-DD, YYYY-MM, never or unknown")
		},
		made: func(h *heard) (deed.Deed, error) {
			p, err := h.Person(h.args[1])
			if err != nil {
				return deed.Deed{}, err
			}
			act, err := d.activity(h, kindOf("certificate", h.args[0]), p.Ref())
			if err != nil {
				return deed.Deed{}, err
			}
			if act.Until, _, err = naming.End(until, true); err != nil {
				return deed.Deed{}, fmt.Errorf("--until: %w", err)
			}
			act.By = inventory.ID{} // whose it is says the subject
			return deed.CertificateRenewed(act), nil
		}}))
}

func (a *app) activityCommand() *cobra.Command {
	var d doing
	return deeds("activity", "Record an inspection, a report, or whatever else rules ask for", a.deed(saying{
		words: deed.WordsActivityDone, args: "KIND SUBJECT", short: "Something that rules ask for was done", day: "it was done",
		long: `Record anything that rules ask for or about, by the word of the rule: a report, an
inspection, an event, that an authority was told of it, that a label was read. It is
about a site, a person, a place, an animal, a permit, a lot or the house:

  antidotary activity done report.wildlife-permit "Larkspur House" --year 2025 --as "Petra Voss"
  antidotary activity done notice.escape LH-0012 --at "2026-10-31 20:10" --as "Petra Voss"
  antidotary activity done label.checked LH-0012 --carries banner,owner --as "Petra Voss"`,
		flags: func(f *pflag.FlagSet) {
			d.flags(f)
			f.IntVar(&d.year, "year", 0, "the year that a yearly report is for")
			f.StringVar(&d.at, "at", "", "when it was done, to the minute: 2026-10-31 20:10 by the clock of the site, or with its distance from UTC")
			f.StringSliceVar(&d.carries, "carries", nil, "what a label or document was found to carry, in the words of the rule")
		},
		made: func(h *heard) (deed.Deed, error) {
			subject, err := h.Subject(h.args[1], inventory.KindSite, inventory.KindPerson, inventory.KindPlace, inventory.KindOrganisation,
				inventory.KindAnimal, inventory.KindPermit, inventory.KindLot)
			if err != nil {
				return deed.Deed{}, err
			}
			for _, family := range []string{"drill.", "certificate.", "count."} {
				if strings.HasPrefix(h.args[0], family) {
					return deed.Deed{}, usageError{errors.New("drills, certificates and counts have commands of their own: drill held, certificate renewed, counted")}
				}
			}
			act, err := d.activity(h, h.args[0], subject)
			return deed.ActivityDone(act), err
		}}))
}
