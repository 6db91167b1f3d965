package main

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func (a *app) sessionCommand() *cobra.Command {
	return deeds("session", "Record handling sessions", a.sessionHeld(), a.sessionSigned())
}

// sessionSaid is what is said of a session.
type sessionSaid struct {
	task, mentor, results, site, from, to, unsafe, note string
	alone                                               bool
	animals                                             []string
}

func (x *sessionSaid) flags(f *pflag.FlagSet) {
	f.StringVar(&x.task, "task", "", "how near to the animal: "+strings.Join(ladder.LevelNames(), ", "))
	f.StringVar(&x.mentor, "mentor", "", "who watched")
	f.BoolVar(&x.alone, "alone", false, "nobody watched")
	f.StringVar(&x.results, "results", "", "a letter for each repetition in its order: c clean, p prompted, s stopped")
	f.StringSliceVar(&x.animals, "animals", nil, "the accessions of the animals (default: not recorded)")
	f.StringVar(&x.site, "site", "", "where it was (default: where the animals are, or the trainee's site)")
	f.StringVar(&x.from, "from", "", "when it began: 14:30 by the clock of the site, or an instant such as 2026-10-31T20:00-04:00 (default: not recorded)")
	f.StringVar(&x.to, "to", "", "when it ended, in the same way")
	f.StringVar(&x.unsafe, "unsafe", "", "whether something unsafe was done: yes or no (default: not recorded)")
	f.StringVar(&x.note, "note", "", "what else should be known; nothing medical")
}

func (a *app) sessionHeld() *cobra.Command {
	var x sessionSaid
	return a.deed(saying{words: deed.WordsSessionHeld, args: "TRAINEE SPECIES", short: "Somebody handled animals", day: "it was held",
		long: `Record a handling session. What was done counts once its mentor has signed for it
(session signed), what went wrong counts at once. Where it is not known who
watched, leave out both --mentor and --alone: it stays unknown.

  antidotary session held "Ivo Marsh" "Naja kaouthia" --task hook --mentor "Odo Fern" --results cccpc --as "Ivo Marsh"`,
		flags: x.flags,
		made: func(h *heard) (deed.Deed, error) {
			s, err := x.session(h)
			return deed.SessionHeld(s), err
		}})
}

func (x *sessionSaid) session(h *heard) (s ladder.Session, err error) {
	s = ladder.Session{ID: inventory.NewID(), Results: x.results, Note: x.note}
	trainee, err := h.Person(h.args[0])
	if err != nil {
		return s, err
	}
	species, err := h.SpeciesOf(h.args[1])
	if err != nil {
		return s, err
	}
	s.Trainee, s.Species = trainee.ID, species.ID
	if err := s.Level.UnmarshalText([]byte(x.task)); err != nil {
		return s, usageError{fmt.Errorf("--task: %w", err)}
	}
	if err := s.Unsafe.UnmarshalText([]byte(x.unsafe)); err != nil {
		return s, fmt.Errorf("--unsafe: %w", err)
	}
	if err := x.watched(h, &s); err != nil {
		return s, err
	}
	for _, accession := range x.animals {
		animal, err := h.Animal(accession)
		if err != nil {
			return s, fmt.Errorf("--animals: %w", err)
		}
		s.Animals = append(s.Animals, animal.ID)
	}
	if s.Site, err = x.at(h, s, trainee.Site); err != nil {
		return s, err
	}
	if s.On, err = h.Happened(h.on, s.Site); err != nil {
		return s, err
	}
	if s.Begun, err = h.clock("--from", x.from, s.On, s.Site); err != nil {
		return s, err
	}
	s.Ended, err = h.clock("--to", x.to, s.On, s.Site)
	return s, err
}

func (x *sessionSaid) watched(h *heard, s *ladder.Session) error {
	switch {
	case x.alone && x.mentor != "":
		return usageError{errors.New("--alone says that nobody watched, and --mentor that somebody did: leave out one of them")}
	case x.alone:
		s.Watched = inventory.No
	case x.mentor != "":
		p, err := h.Person(x.mentor)
		if err != nil {
			return fmt.Errorf("--mentor: %w", err)
		}
		s.Mentor, s.Watched = p.ID, inventory.Yes
	}
	return nil
}

// at finds the site of a session.
func (x *sessionSaid) at(h *heard, s ladder.Session, trainees inventory.ID) (inventory.ID, error) {
	if x.site == "" && len(s.Animals) > 0 {
		if site := siteOf(h, inventory.Ref{Kind: inventory.KindAnimal, ID: s.Animals[0]}); h.Lookup(inventory.Ref{Kind: inventory.KindSite, ID: site}) != nil {
			return site, nil
		}
	}
	if x.site == "" && trainees != (inventory.ID{}) {
		return trainees, nil
	}
	site, err := h.SiteCalled(x.site)
	if err != nil {
		return inventory.ID{}, fmt.Errorf("--site: %w", err)
	}
	return site.ID, nil
}

// clock reads a time of a day by the clock of a site, or an instant; no text
// is not known.
func (h *heard) clock(flag, text string, on day.Day, site inventory.ID) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if len(text) == len("15:04") {
		text = on.String() + " " + text
	}
	at, err := h.Instant(text, site)
	if err != nil {
		return at, fmt.Errorf("%s: %w", flag, err)
	}
	return at, nil
}

func (a *app) sessionSigned() *cobra.Command {
	var begun, at, mentor string
	return a.deed(saying{words: deed.WordsSessionSigned, args: "TRAINEE", short: "The mentor signed for sessions of a day", day: "the sessions were",
		long: `Record that the mentor signed for the sessions of a trainee on a day: all that
wait for this mentor, or with --begun the one that began then.

  antidotary session signed "Ivo Marsh" --on yesterday --as "Odo Fern"`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&begun, "begun", "", "only the session that began then: 14:30 by the clock of its site, or an instant")
			f.StringVar(&at, "at", "", "when it was signed: 2026-10-31 20:10 by the clock of the site, or with its distance from UTC (default: now)")
			f.StringVar(&mentor, "mentor", "", "who signed (default: whoever records it)")
		},
		made: func(h *heard) (deed.Deed, error) {
			trainee, err := h.Person(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			signer, err := h.by(mentor)
			switch {
			case err != nil:
				return deed.Deed{}, fmt.Errorf("--mentor: %w", err)
			case signer == (inventory.ID{}):
				return deed.Deed{}, usageError{errors.New("--mentor is needed: whoever records it is nobody of the house")}
			}
			signed := h.Now.UTC().Truncate(time.Second)
			if at != "" {
				if signed, err = h.Instant(at, trainee.Site); err != nil {
					return deed.Deed{}, fmt.Errorf("--at: %w", err)
				}
			}
			waiting, err := h.waiting(trainee.ID, signer, begun)
			return deed.SessionSigned(waiting, signer, signed), err
		}})
}

// waiting finds the sessions of a day that somebody has yet to sign for.
func (h *heard) waiting(trainee, mentor inventory.ID, begun string) (all []inventory.ID, err error) {
	others := 0
	for s := range h.Sessions.All() {
		if s.Trainee != trainee {
			continue
		}
		on, err := h.Happened(h.on, s.Site)
		if err != nil {
			return nil, err
		}
		at, err := h.clock("--begun", begun, on, s.Site)
		if err != nil {
			return nil, err
		}
		switch {
		case s.On != on || !at.IsZero() && !at.Equal(s.Begun):
		case s.Mentor == mentor && s.Signed.IsZero():
			all = append(all, s.ID)
		default:
			others++
		}
	}
	switch {
	case len(all) > 0:
		return all, nil
	case others > 0:
		return nil, fmt.Errorf("no session of %s then waits for a signature of %s: those that are recorded have another mentor, none, or are signed", h.NameOf(personCalled(trainee)), h.NameOf(personCalled(mentor)))
	}
	return nil, fmt.Errorf("no session of %s is recorded then", h.NameOf(personCalled(trainee)))
}

func personCalled(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPerson, ID: id}
}
