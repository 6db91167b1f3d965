package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/daemon"
	"antidotary/daemon/naming"
	"antidotary/daemon/store"
	"antidotary/inventory"
)

// heard is what somebody said of a deed, before it is a deed.
type heard struct {
	letFall bool
	*naming.Names
	args []string
	on   string // the day, as written
	as   string
}

// by finds the person who did it: who is named, or whoever records it if that
// is a person of the house; nobody if neither is.
func (h *heard) by(name string) (id inventory.ID, err error) {
	if name == "" {
		if p, err := h.Person(h.as); err == nil {
			return p.ID, nil
		}
		return id, nil
	}
	p, err := h.Person(name)
	if err != nil {
		return id, err
	}
	return p.ID, nil
}

// saying is one deed as a command.
type saying struct {
	words string // of the deed; the last is the command's name
	args  string // "NUMBER", "ACCESSION ENCLOSURE", "LOT..."
	short string
	long  string
	day   string // what --on is the day of; empty: the deed has no day
	flags func(*pflag.FlagSet)
	made  func(*heard) (deed.Deed, error)
}

// deeds makes a command whose words begin with one word, and a command below
// it for each saying.
func deeds(first, short string, commands ...*cobra.Command) *cobra.Command {
	parent := &cobra.Command{Use: first, Short: short, Args: none, RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() }}
	parent.AddCommand(commands...)
	return parent
}

// deed makes the command of a deed.
func (a *app) deed(s saying) *cobra.Command {
	h := &heard{}
	name := s.words[strings.LastIndex(s.words, " ")+1:]
	cmd := &cobra.Command{
		Use: strings.TrimSpace(name + " " + s.args), Short: s.short, Long: s.long,
		Args: func(_ *cobra.Command, args []string) error { return fitting(s.args, args) },
		RunE: func(cmd *cobra.Command, args []string) error {
			if h.as == "" {
				return usageError{errors.New("--as is needed: say who records it")}
			}
			h.args = args
			return a.record(cmd, h, s.made)
		},
	}
	f := cmd.Flags()
	f.StringVar(&h.as, "as", "", "who records it: your name")
	if movesLadder(s.words) {
		f.BoolVar(&h.letFall, "let-fall", false, letFall)
	}
	if s.day != "" {
		f.StringVar(&h.on, "on", "today", "the day on which "+s.day+": YYYY-MM-DD, today or yesterday")
	}
	if s.flags != nil {
		s.flags(f)
	}
	return cmd
}

func (a *app) record(cmd *cobra.Command, h *heard, made func(*heard) (deed.Deed, error)) error {
	opt, err := a.options()
	if err != nil {
		return err
	}
	opt.LetFall = h.letFall
	done, err := daemon.Record(cmd.Context(), opt, store.Actor{ID: h.as}, func(n *naming.Names) (deed.Deed, error) {
		h.Names = n
		return made(h)
	})
	if err != nil {
		return err
	}
	return a.print(done)
}

const letFall = "record it even if sign-offs of long ago no longer hold by it; without this they are listed first"

// movesLadder says whether a deed may change who stood where on the ladder.
func movesLadder(words string) bool {
	first, _, _ := strings.Cut(words, " ")
	return slices.Contains([]string{"session", "person", "activity", "certificate", "drill"}, first) ||
		words == deed.WordsSpeciesPlaced || words == deed.WordsAnimalPlaced
}

// fitting says whether as many words are given as a command takes. The last
// one may be given again where its name ends in "...".
func fitting(names string, args []string) error {
	want := strings.Fields(names)
	more := strings.HasSuffix(names, "...")
	if len(args) == len(want) || more && len(args) > len(want) {
		return nil
	}
	if len(want) == 0 {
		return usageError{fmt.Errorf("it takes no words, only flags: %q is too much", args)}
	}
	return usageError{fmt.Errorf("write %s (names with spaces in quotes); %d words were given", names, len(args))}
}
