package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) countedCommand() *cobra.Command {
	return deeds("counted", "Record a count of antivenom or of animals", a.countedAntivenom(), a.countedAnimals())
}

func (a *app) countedAntivenom() *cobra.Command {
	var site, seal string
	var asRecorded bool
	var w witnessing
	return a.deed(saying{words: deed.WordsCountedAntivenom, args: "PLACE...", short: "The antivenom in one place was counted", day: "it was counted",
		long: `Record a count of the antivenom in one place, lot by lot, in all or by condition:

  antidotary counted antivenom "Fridge A" L-204=8 L-311=6:checked,2:unfit --as "Odo Quill" --witness "Ada Fern"

Every lot that should be there must be named, with 0 where none was found: not
to have looked is not to have found none. The records are adjusted to the count,
and what differed is kept with it; who took the vials is for people to find out.
Where nobody says in which condition, what is missing is taken to be checked
ones, and what is too much is unchecked. With --as-recorded all that the records
say was found. A seal that is not the recorded one is kept as found.`,
		flags: func(f *pflag.FlagSet) {
			w.flags(f, "counted")
			f.StringVar(&site, "site", "", "the site of the place, where several have one of that name")
			f.StringVar(&seal, "seal", "", "the number of the seal that was found on it, or none")
			f.BoolVar(&asRecorded, "as-recorded", false, "everything was found as the records say")
		},
		made: func(h *heard) (deed.Deed, error) {
			place, err := h.Place(h.args[0], site)
			if err != nil {
				return deed.Deed{}, err
			}
			c := deed.Count{Activity: inventory.NewID(), Place: place.ID, AsBooked: asRecorded, Seal: seal}
			if c.Watched, err = w.read(h); err != nil {
				return deed.Deed{}, err
			}
			if c.On, err = h.Happened(h.on, place.Site); err != nil {
				return deed.Deed{}, err
			}
			c.Vials, err = h.vials(h.args[1:])
			return deed.AntivenomCounted(c), err
		}})
}

// vials reads LOT=COUNT, or LOT=COUNT:CONDITION,...
func (h *heard) vials(words []string) (map[inventory.ID]inventory.Found, error) {
	out := make(map[inventory.ID]inventory.Found)
	for _, word := range words {
		at := strings.LastIndex(word, "=")
		if at < 0 {
			return nil, usageError{fmt.Errorf("%q is not LOT=VIALS", word)}
		}
		l, err := h.Lot(word[:at], "")
		if err != nil {
			return nil, err
		}
		found, err := foundOf(word[at+1:])
		if err != nil {
			return nil, usageError{fmt.Errorf("%q: %w", word, err)}
		}
		if _, twice := out[l.ID]; twice {
			return nil, usageError{fmt.Errorf("lot %s is named twice", l.Number)}
		}
		out[l.ID] = found
	}
	return out, nil
}

// foundOf reads what was found of a lot: 8, or 6:checked,2:unfit.
func foundOf(text string) (f inventory.Found, err error) {
	number := func(text string) (int, error) {
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 {
			return 0, errors.New("vials are a number from 0, or numbers with a condition: 6:checked,2:unfit")
		}
		return n, nil
	}
	if !strings.Contains(text, ":") {
		f.Vials, err = number(text)
		return f, err
	}
	f.By = make(map[inventory.Condition]int)
	for part := range strings.SplitSeq(text, ",") {
		count, word, _ := strings.Cut(part, ":")
		c, err := conditionOf(word)
		if err != nil || c == nil {
			return f, errors.Join(err, fmt.Errorf("%q is not VIALS:CONDITION", part))
		}
		if _, twice := f.By[*c]; twice {
			return f, fmt.Errorf("%s stands twice", *c)
		}
		if f.By[*c], err = number(count); err != nil {
			return f, err
		}
		f.Vials += f.By[*c]
	}
	return f, nil
}

func (a *app) countedAnimals() *cobra.Command {
	var by string
	return a.deed(saying{words: deed.WordsCountedAnimals, args: "SITE COUNT", short: "The animals of a site were counted", day: "they were counted",
		long: `Record a count of the animals of a site. A count that is not what the records
say is kept as not passed, with both numbers: find out, and record what happened.`,
		flags: func(f *pflag.FlagSet) { f.StringVar(&by, "by", "", "who counted (default: whoever records it)") },
		made: func(h *heard) (deed.Deed, error) {
			site, err := h.SiteCalled(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			n, err := strconv.Atoi(h.args[1])
			if err != nil || n < 0 {
				return deed.Deed{}, usageError{fmt.Errorf("%q: a count is a number from 0", h.args[1])}
			}
			who, err := h.by(by)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--by: %w", err)
			}
			on, err := h.Happened(h.on, site.ID)
			return deed.AnimalsCounted(inventory.NewID(), site.ID, who, on, n), err
		}})
}
