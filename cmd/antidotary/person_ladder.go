package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/compliance/ladder"
	"antidotary/daemon/naming"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// authorising is what is said of an authorisation.
type authorising struct {
	signers                                       []string
	mentor, criteria, founding, until, at, reason string
	species, task, to                             string
}

func (x *authorising) signing(f *pflag.FlagSet) {
	f.StringSliceVar(&x.signers, "signer", nil, "who signs; may be given again")
	f.StringVar(&x.at, "at", "", "when it was signed, to the minute (default: now, where it is today)")
}

func (x *authorising) granting(f *pflag.FlagSet) {
	x.signing(f)
	f.StringVar(&x.mentor, "mentor", "", "who taught, and vouches for it")
	f.StringVar(&x.criteria, "criteria", "", "the edition of the ladder that the signature refers to")
	f.StringVar(&x.founding, "founding", "", "the evidence on which it rests, where it was given before this house kept a ladder")
	f.StringVar(&x.until, "until", "unknown", "its last good day: YYYY-MM-DD, YYYY-MM, never, or unknown")
}

// made reads what every authorisation has.
func (x *authorising) made(h *heard, what ladder.What) (a ladder.Authorisation, err error) {
	a = ladder.Authorisation{ID: inventory.NewID(), What: what, Criteria: x.criteria, Founding: x.founding, Reason: x.reason}
	p, err := h.Person(h.args[0])
	if err != nil {
		return a, err
	}
	a.Person = p.ID
	if a.Signers, err = h.people("--signer", x.signers); err != nil {
		return a, err
	}
	if x.mentor != "" {
		mentor, err := h.Person(x.mentor)
		if err != nil {
			return a, fmt.Errorf("--mentor: %w", err)
		}
		a.Mentor = mentor.ID
	}
	if x.until != "" {
		if a.Until, _, err = naming.End(x.until, true); err != nil {
			return a, fmt.Errorf("--until: %w", err)
		}
	}
	if a.On, err = h.Happened(h.on, p.Site); err != nil {
		return a, err
	}
	return a, x.instant(h, p, &a)
}

// instant sets when it was: as said, or now.
func (x *authorising) instant(h *heard, p *compliance.Person, a *ladder.Authorisation) (err error) {
	switch {
	case x.at == "" && a.On == h.Today(p.Site):
		a.At = h.Now.UTC().Truncate(time.Second)
	case x.at != "":
		if a.At, err = h.clock("--at", x.at, a.On, p.Site); err != nil {
			return err
		}
		if on := h.DayOf(a.At, p.Site); on != a.On {
			return usageError{fmt.Errorf("--at is on %s: write --on %s", on, on)}
		}
	}
	return nil
}

// people finds several people.
func (h *heard) people(flag string, names []string) (all []inventory.ID, err error) {
	for _, name := range names {
		p, err := h.Person(name)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", flag, err)
		}
		all = append(all, p.ID)
	}
	return all, nil
}

func stageOf(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 || n > ladder.TopStage {
		return 0, fmt.Errorf("%q is no stage: write a number from 0 to %d", text, ladder.TopStage)
	}
	return n, nil
}

func (a *app) personStage() *cobra.Command {
	return a.granted(saying{words: deed.WordsPersonStage, args: "NAME STAGE", short: "Somebody may be trained on animals up to a stage", day: "it counts from",
		long: `Record that somebody is on a stage of the ladder: may be trained on its animals. It
counts from its signatures, where the conditions of the ladder are met by then.
What was given before this house kept a ladder is recorded with its evidence:

  antidotary person stage "Odo Fern" 6 --founding "log of 2019 to 2025" --until 2027-11 --as "Ada Fern"`}, ladder.StageGrant)
}

func (a *app) personMentor() *cobra.Command {
	return a.granted(saying{words: deed.WordsPersonMentor, args: "NAME STAGE", short: "Somebody may teach up to a stage", day: "it counts from"}, ladder.MentorGrant)
}

func (a *app) granted(s saying, what ladder.What) *cobra.Command {
	var x authorising
	s.flags = x.granting
	s.made = func(h *heard) (deed.Deed, error) {
		stage, err := stageOf(h.args[1])
		if err != nil {
			return deed.Deed{}, err
		}
		auth, err := x.made(h, what)
		auth.Stage = stage
		return deed.Authorised(auth), err
	}
	return a.deed(s)
}

func (a *app) personSignedOff() *cobra.Command {
	var x authorising
	return a.deed(saying{words: deed.WordsPersonSignedOff, args: "NAME SPECIES", short: "Somebody may open enclosures of a species", day: "it counts from",
		flags: func(f *pflag.FlagSet) {
			x.granting(f)
			f.StringVar(&x.task, "task", "", "the highest task that it allows: "+strings.Join(ladder.LevelNames()[1:], ", "))
		},
		made: func(h *heard) (deed.Deed, error) {
			species, err := h.SpeciesOf(h.args[1])
			if err != nil {
				return deed.Deed{}, err
			}
			auth, err := x.made(h, ladder.SpeciesGrant)
			if err != nil {
				return deed.Deed{}, err
			}
			auth.Species = species.ID
			if err := auth.Level.UnmarshalText([]byte(x.task)); err != nil {
				return deed.Deed{}, usageError{fmt.Errorf("--task: %w", err)}
			}
			return deed.Authorised(auth), nil
		}})
}

func (a *app) personSuspended() *cobra.Command {
	var x authorising
	return a.deed(saying{words: deed.WordsPersonSuspended, args: "NAME", short: "Somebody does no venomous work", day: "it counts from",
		long: `Record that somebody does no venomous work, until a last day or until cleared
(person cleared). Write no diagnosis: that it is so is enough. The reason is kept
for the person and whoever leads, and is not printed.`,
		flags: func(f *pflag.FlagSet) {
			x.signing(f)
			f.StringVar(&x.reason, "reason", "", "what happened, without medical words")
			f.StringVar(&x.until, "until", "unknown", "its last day, if it ends by itself: YYYY-MM-DD, YYYY-MM, or unknown")
		},
		made: func(h *heard) (deed.Deed, error) {
			auth, err := x.made(h, ladder.Suspension)
			return deed.Authorised(auth), err
		}})
}

func (a *app) personCleared() *cobra.Command {
	var x authorising
	return a.deed(saying{words: deed.WordsPersonCleared, args: "NAME", short: "Somebody who was suspended may work again", day: "it counts from",
		flags: x.signing,
		made: func(h *heard) (deed.Deed, error) {
			auth, err := x.made(h, ladder.Clearance)
			return deed.Authorised(auth), err
		}})
}

func (a *app) personSetBack() *cobra.Command {
	var x authorising
	return a.deed(saying{words: deed.WordsPersonSetBack, args: "NAME", short: "Somebody goes down to a stage, or loses one species", day: "it counts from",
		flags: func(f *pflag.FlagSet) {
			x.signing(f)
			f.StringVar(&x.to, "to", "", "the stage that is left")
			f.StringVar(&x.species, "species", "", "the species that is no longer signed off, instead of a stage")
			f.StringVar(&x.reason, "reason", "", "what happened or who decided, without medical words")
		},
		made: func(h *heard) (deed.Deed, error) {
			if (x.to == "") == (x.species == "") {
				return deed.Deed{}, usageError{errors.New("write --to STAGE or --species SPECIES, one of them")}
			}
			auth, err := x.made(h, ladder.SetBack)
			if err != nil {
				return deed.Deed{}, err
			}
			if x.to != "" {
				auth.Stage, err = stageOf(x.to)
				return deed.Authorised(auth), err
			}
			species, err := h.SpeciesOf(x.species)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--species: %w", err)
			}
			auth.Species = species.ID
			return deed.Authorised(auth), nil
		}})
}

func (a *app) personCredited() *cobra.Command {
	var c ladder.Credit
	var proof, first, last string
	var signers []string
	return a.deed(saying{words: deed.WordsPersonCredited, args: "NAME TAXON", short: "Work that somebody did elsewhere counts here, in part", day: "the house decided it",
		long: `Record work with a family, genus or species that somebody did elsewhere, and how
much of it the house takes over. A newcomer's habits are learnt again here: the
ladder says how much may count, and after how many repetitions under a mentor.

  antidotary person credited "Ivo Marsh" Elapidae --where "Reed Park" --proof log --first 2023-01-01 --last 2025-06-30 --hours 400 --percent 50 --signer "Ada Fern" --as "Ada Fern"`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&c.Where, "where", "", "the house or place")
			f.StringVar(&proof, "proof", "", "log, reference, exam or certificate")
			f.StringVar(&first, "first", "", "first day of the work: YYYY-MM-DD")
			f.StringVar(&last, "last", "", "last day of the work: YYYY-MM-DD")
			f.IntVar(&c.Hours, "hours", 0, "hours of it")
			f.IntVar(&c.Repetitions, "repetitions", 0, "repetitions in it")
			f.IntVar(&c.Days, "days", 0, "days on which there was some")
			f.IntVar(&c.Percent, "percent", 0, "how much of it the house takes over")
			f.StringSliceVar(&signers, "signer", nil, "who signs; may be given again")
			f.StringVar(&c.Note, "note", "", "what else should be known")
		},
		made: func(h *heard) (deed.Deed, error) {
			p, err := h.Person(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			c.ID, c.Person, c.Taxon, c.Proof = inventory.NewID(), p.ID, h.args[1], ladder.Proof(proof)
			if c.Signers, err = h.people("--signer", signers); err != nil {
				return deed.Deed{}, err
			}
			if c.On, err = h.Happened(h.on, p.Site); err != nil {
				return deed.Deed{}, err
			}
			if c.First, err = h.dayOf("--first", first, p.Site); err != nil {
				return deed.Deed{}, err
			}
			c.Last, err = h.dayOf("--last", last, p.Site)
			return deed.PersonCredited(c), err
		}})
}

// dayOf reads a day that must be given.
func (h *heard) dayOf(flag, text string, site inventory.ID) (day.Day, error) {
	if text == "" {
		return 0, usageError{fmt.Errorf("%s is needed: write YYYY-MM-DD", flag)}
	}
	d, err := h.Day(text, site)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", flag, err)
	}
	return d, nil
}

func (a *app) personAway() *cobra.Command {
	var from, last string
	return a.deed(saying{words: deed.WordsPersonAway, args: "NAME", short: "Somebody is not at work for a time",
		long: `Record that somebody is not at work, from a day to a last day; without --last it is
not known when. Said again with the same --from it tells the last day. Why is not
asked and not kept.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&from, "from", "today", "first day away: YYYY-MM-DD, today or tomorrow")
			f.StringVar(&last, "last", "", "last day away (default: not known)")
		},
		made: func(h *heard) (deed.Deed, error) {
			p, err := h.Person(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			var away compliance.Absence
			if away.From, err = h.dayOf("--from", from, p.Site); err != nil {
				return deed.Deed{}, err
			}
			if last != "" {
				if away.Last, err = h.dayOf("--last", last, p.Site); err != nil {
					return deed.Deed{}, err
				}
			}
			return deed.PersonAway(p.ID, away), nil
		}})
}
