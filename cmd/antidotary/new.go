package main

import (
	"bufio"
	"errors"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/founding"
	"antidotary/daemon/store"
	"antidotary/inventory"
)

func (a *app) newCommand() *cobra.Command {
	var as string
	var quiet bool
	cmd := &cobra.Command{
		Use:   "new [FOLDER]",
		Short: "Found a house: a few questions, then a configuration and a database",
		Long: `Found a house in a folder (default: this one). What is not given as a flag is
asked; with --no-questions it takes its default or stays unknown. Unknown never
reads as fine: each site begins as not watched yet.

  antidotary new larkspur --as "Ada Fern"
  antidotary new larkspur --as "Ada Fern" --no-questions --house "Larkspur collection" \
      --site "Larkspur House" --zone Europe/London --law gb/eaw --head "Ada Fern <ada@house.example>"`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError{errors.New("one FOLDER at most")}
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&as, "as", "", "who founds it: your name (default: the head of collection)")
	f.BoolVar(&quiet, "no-questions", false, "ask nothing")
	house, site, rest := founding.Questions(nil, "")
	given := make(map[string]*[]string)
	for _, q := range append(append(house, site...), rest...) {
		given[q.Flag] = f.StringArray(q.Flag, nil, q.Ask)
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		asker := &founding.Asker{Given: make(map[string][]string), Out: a.out}
		for flag, texts := range given {
			if cmd.Flags().Changed(flag) {
				asker.Given[flag] = *texts
			}
		}
		if !quiet {
			asker.In = bufio.NewReader(cmd.InOrStdin())
		}
		return a.found(cmd, asker, strings.Join(args, ""), as)
	}
	return cmd
}

func (a *app) found(cmd *cobra.Command, asker *founding.Asker, folder, as string) error {
	laws, err := daemon.Laws()
	if err != nil {
		return err
	}
	answers, err := asker.Answer(laws, ownZone())
	if errors.Is(err, founding.ErrMissing) {
		return usageError{err}
	}
	if err != nil {
		return err
	}
	if as == "" {
		as = answers.Head()
	}
	if folder == "" {
		folder = "."
	}
	done, err := daemon.Found(cmd.Context(), daemon.Options{Clock: a.clock, Out: a.out, Err: a.err}, folder, store.Actor{ID: as}, answers)
	if err != nil {
		return err
	}
	a.configFile = filepath.Join(folder, "antidotary.yaml") // whether anybody is told is the new house's matter
	return a.print(done)
}

// ownZone gives this machine's time zone, to be offered; empty where it has no
// name.
func ownZone() string {
	zone := os.Getenv("TZ")
	if target, err := os.Readlink("/etc/localtime"); err == nil && zone == "" {
		_, zone, _ = strings.Cut(filepath.ToSlash(target), "zoneinfo/")
	}
	if inventory.CheckZone("zone", zone) != nil || strings.EqualFold(zone, "UTC") || strings.HasPrefix(zone, "Etc/") {
		return ""
	}
	return zone
}
