package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/store"
)

func (a *app) importCommand() *cobra.Command {
	var req daemon.ImportRequest
	var as, template string
	cmd := &cobra.Command{
		Use:   "import FOLDER|FILE",
		Short: "Make records of a folder of CSV files or an XLSX workbook",
		Long: `Make records of your own lists: animals, papers, vials and handling sessions, as
a folder of CSV files, one CSV file, or an XLSX workbook. Lists are known by their columns and
names; titles above the header row do not matter. Nothing is guessed: a cell
that can mean two things refuses its row, and everything that was not read is
named. See first what would happen with --dry-run.

All good rows are recorded as one change; refused rows go into a new file
NAME.rejects.csv beside the source, each with its reasons, and the exit code is
1. Rows of what is recorded already, by accession, number, product and lot, or
trainee, day, species, mentor and beginning, change what differs; a blank cell
changes nothing.

Of sessions, a training log, it says how many count, how many do not, and why;
"antidotary ladder NAME" lists them. Trainees and mentors must be recorded first
(person joined).

The first import also makes the house:

  antidotary import lists --dry-run --dates dmy --new-species --new-products \
      --house "Thornbury Lane collection" --site "Thornbury Lane" --zone Europe/London`,
		Args: func(cmd *cobra.Command, args []string) error {
			if template != "" {
				return none(cmd, args)
			}
			return one("FOLDER or FILE")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if template != "" {
				return a.importTemplate(template)
			}
			if as == "" && !req.DryRun {
				return usageError{errors.New("--as is needed: say who records it")}
			}
			req.From, req.Actor = args[0], store.Actor{ID: as}
			return a.importLists(cmd, req)
		},
	}
	f := cmd.Flags()
	f.StringVar(&template, "template", "", "write empty lists with explanations into this new folder, and end")
	f.BoolVar(&req.DryRun, "dry-run", false, "say what would happen, and record nothing")
	f.StringVar(&as, "as", "", "who records it")
	f.StringVar(&req.Dates, "dates", "", "how dates are written that could be read in two ways: dmy, mdy or ymd")
	f.StringArrayVar(&req.Accept, "accept", nil, `take one name for another, such as "N. kaouthia=Naja kaouthia"; may be given again`)
	f.StringVar(&req.Map, "map", "", "mapping file to read: columns, dates and accepted names")
	f.StringVar(&req.SaveMap, "save-map", "", "mapping file to write: a new one, or the one of --map")
	f.BoolVar(&req.AllOrNothing, "all-or-nothing", false, "record nothing if any row is refused")
	f.StringVar(&req.Site, "site", "", "the site of rows that name none")
	f.StringVar(&req.House, "house", "", "make the house with this name where none is recorded")
	f.StringVar(&req.Zone, "zone", "", "make the site of --site where it is not recorded, in this time zone")
	f.StringVar(&req.Law, "law", "", "the law that a new site stands under, such as us/fl (default: unknown)")
	f.IntVar(&req.Victims, "victims", 1, "how many people bitten at once a new house plans for")
	f.BoolVar(&req.NewSpecies, "new-species", false, "make species that are not recorded, everything else about them unknown")
	f.BoolVar(&req.NewProducts, "new-products", false, "make antivenom products that are not recorded")
	f.StringVar(&req.NewAuthorities, "new-authorities", "", "make authorities that are not recorded, with offices in this time zone")
	return cmd
}

func (a *app) importLists(cmd *cobra.Command, req daemon.ImportRequest) error {
	opt, err := a.options()
	if err != nil {
		return err
	}
	done, err := daemon.Import(cmd.Context(), opt, req)
	if err != nil {
		return err
	}
	if err := a.print(done); err != nil {
		return err
	}
	switch n := done.RowsRefused(); {
	case done.Unread > 0:
		return fmt.Errorf("%d lists could not be read, and %d rows were refused", done.Unread, n)
	case n > 0:
		return fmt.Errorf("%d rows were refused", n)
	}
	return nil
}

func (a *app) importTemplate(folder string) error {
	names, err := daemon.ImportTemplate(folder)
	if err != nil {
		return err
	}
	return a.say("In %s: %s.\nFill in what you know, and see what would happen: antidotary import %s --dry-run\n", folder, strings.Join(names, ", "), folder)
}
