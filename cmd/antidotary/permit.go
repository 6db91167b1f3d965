package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/daemon/naming"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func (a *app) permitCommand() *cobra.Command {
	return deeds("permit", "Record what happened to a paper", a.permitFiled(), a.permitReceived(), a.permitDeficient(),
		a.permitDecided(), a.permitIssued(), a.permitSuspended(), a.permitLifted(), a.permitRevoked(), a.permitSurrendered())
}

// paper finds the paper that is named and the day of what happened to it.
func (h *heard) paper() (*compliance.Permit, day.Day, error) {
	p, err := h.Permit(h.args[0])
	if err != nil {
		return nil, 0, err
	}
	on, err := h.Happened(h.on, p.FirstSite())
	return p, on, err
}

// onPaper is a deed about one paper and a day.
func onPaper(of func(inventory.ID, day.Day) deed.Deed) func(*heard) (deed.Deed, error) {
	return func(h *heard) (deed.Deed, error) {
		p, on, err := h.paper()
		if err != nil {
			return deed.Deed{}, err
		}
		return of(p.ID, on), nil
	}
}

// onPaperFrom is a deed about one paper and a day that may be to come.
func onPaperFrom(of func(inventory.ID, day.Day) deed.Deed) func(*heard) (deed.Deed, error) {
	return func(h *heard) (deed.Deed, error) {
		p, err := h.Permit(h.args[0])
		if err != nil {
			return deed.Deed{}, err
		}
		from, err := h.Day(h.on, p.FirstSite())
		return of(p.ID, from), err
	}
}

func (a *app) permitFiled() *cobra.Command {
	var receipt string
	return a.deed(saying{words: deed.WordsPermitFiled, args: "NUMBER", short: "The renewal was posted or handed in", day: "it was posted or handed in",
		long: `Record that the renewal of a paper was posted, or handed in, on a day.

Posted is not received: until a receipt is recorded, whether the old paper
continues may not be told. With --receipt the authority has it that day.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&receipt, "receipt", "", "number of the receipt, if it was handed in")
		},
		made: func(h *heard) (deed.Deed, error) {
			p, on, err := h.paper()
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.PermitFiled(p.ID, on, receipt), nil
		}})
}

func (a *app) permitReceived() *cobra.Command {
	var receipt string
	return a.deed(saying{words: deed.WordsPermitReceived, args: "NUMBER", short: "The authority has the renewal", day: "the authority received it",
		flags: func(f *pflag.FlagSet) { f.StringVar(&receipt, "receipt", "", "number of the receipt") },
		made: func(h *heard) (deed.Deed, error) {
			p, on, err := h.paper()
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.PermitReceived(p.ID, on, receipt), nil
		}})
}

func (a *app) permitDeficient() *cobra.Command {
	return a.deed(saying{words: deed.WordsPermitDeficient, args: "NUMBER", short: "The authority sent the renewal back as not sufficient",
		day: "it said so", made: onPaper(deed.PermitDeficient)})
}

// next is the paper that follows, as flags.
type next struct{ number, issued, from, until string }

func (n *next) flags(f *pflag.FlagSet) {
	f.StringVar(&n.number, "paper", "", "number of the new paper, if it is there already")
	n.days(f)
}

func (n *next) days(f *pflag.FlagSet) {
	f.StringVar(&n.issued, "issued", "", "day on which the new paper was issued (default: not recorded)")
	f.StringVar(&n.from, "from", "", "its first day (default: the day of its issue)")
	f.StringVar(&n.until, "until", "", "its last day: YYYY-MM-DD, never or unknown")
}

func (n *next) successor(h *heard, site inventory.ID) (*deed.Successor, error) {
	until, _, err := naming.End(n.until, true)
	if err != nil {
		return nil, fmt.Errorf("--until: %w", err)
	}
	out := &deed.Successor{ID: inventory.NewID(), Number: n.number, Until: until}
	for flag, day := range map[string]struct {
		text string
		to   *day.Day
	}{"--issued": {n.issued, &out.Issued}, "--from": {n.from, &out.From}} {
		if day.text == "" {
			continue
		}
		if *day.to, err = h.Day(day.text, site); err != nil {
			return nil, fmt.Errorf("%s: %w", flag, err)
		}
	}
	return out, nil
}

func (a *app) permitDecided() *cobra.Command {
	var n next
	return a.deed(saying{words: deed.WordsPermitDecided, args: "NUMBER granted|refused", short: "The authority decided about the renewal", day: "it decided",
		long: `Record what the authority decided about the renewal of a paper.

With --paper NUMBER and --until DAY the new paper is recorded too; class,
authority, holder, places and animals are taken from the old one: check them
against the new paper. Without it, nothing stands for what the old paper
allowed once that has ended: record the new one with permit issued.`,
		flags: n.flags,
		made: func(h *heard) (deed.Deed, error) {
			p, on, err := h.paper()
			if err != nil {
				return deed.Deed{}, err
			}
			outcome := compliance.Outcome(h.args[1])
			if outcome != compliance.Granted && outcome != compliance.Refused {
				return deed.Deed{}, usageError{fmt.Errorf("%q is no outcome: write granted or refused", h.args[1])}
			}
			if n.number == "" {
				return deed.PermitDecided(p.ID, on, outcome, nil), nil
			}
			if outcome == compliance.Refused {
				return deed.Deed{}, usageError{errors.New("--paper goes with granted")}
			}
			follows, err := n.successor(h, p.FirstSite())
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.PermitDecided(p.ID, on, outcome, follows), nil
		}})
}

func (a *app) permitIssued() *cobra.Command {
	var n next
	var renews string
	return a.deed(saying{words: deed.WordsPermitIssued, args: "NUMBER", short: "A new paper came that follows another one",
		long: `Record a new paper that follows another one, of which class, authority, holder,
places and animals are taken: check them against the new paper. A paper that
follows none comes in with antidotary import.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&renews, "renews", "", "number of the paper that it follows")
			n.days(f)
		},
		made: func(h *heard) (deed.Deed, error) {
			old, err := h.Permit(renews)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--renews: %w", err)
			}
			n.number = h.args[0]
			follows, err := n.successor(h, old.FirstSite())
			if err != nil {
				return deed.Deed{}, err
			}
			return deed.PermitIssued(old.ID, *follows), nil
		}})
}

func (a *app) permitSuspended() *cobra.Command {
	return a.deed(saying{words: deed.WordsPermitSuspended, args: "NUMBER", short: "The authority suspended a paper", day: "it is out of force from (may be to come)",
		made: onPaperFrom(deed.PermitSuspended)})
}

func (a *app) permitLifted() *cobra.Command {
	return a.deed(saying{words: deed.WordsPermitLifted, args: "NUMBER", short: "A suspension ended", day: "it is in force again from (may be to come)",
		made: onPaperFrom(deed.PermitLifted)})
}

func (a *app) permitRevoked() *cobra.Command {
	return a.deed(saying{words: deed.WordsPermitRevoked, args: "NUMBER", short: "The authority took a paper away", day: "it is out of force from (may be to come)",
		made: onPaperFrom(deed.PermitRevoked)})
}

func (a *app) permitSurrendered() *cobra.Command {
	return a.deed(saying{words: deed.WordsPermitSurrendered, args: "NUMBER", short: "The house gave a paper back", day: "it was given back",
		made: onPaper(deed.PermitSurrendered)})
}
