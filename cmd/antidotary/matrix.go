package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
	"antidotary/inventory"
)

func (a *app) matrixCommand() *cobra.Command {
	var on, site, as string
	cmd := &cobra.Command{
		Use:   "matrix",
		Short: "Say who may open which species, up to what task and until when",
		Long: `Say of each species held at a site who may open it, up to what task and until
when, if nothing more is recorded; and who was signed off and may not. It is by
the ladder alone: papers, cover and pairs are the answer of open ENCLOSURE.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			day, err := dayFlag("on", on)
			if err != nil {
				return err
			}
			r, err := a.report(cmd.Context(), daemon.Question{On: day})
			if err != nil {
				return err
			}
			sites, err := sitesCalled(r.View.Snapshot, site)
			if err != nil {
				return err
			}
			names := &naming.Names{Snapshot: r.View.Snapshot}
			if _, err := readerCalled(r.View, names, as, inventory.ID{}); err != nil {
				return err
			}
			return a.print(answer.NewMatrix(r, sites, func(site inventory.ID) answer.Reader {
				reader, _ := readerCalled(r.View, names, as, site) // the name was found above
				return reader
			}))
		},
	}
	cmd.Flags().StringVar(&on, "on", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	cmd.Flags().StringVar(&site, "site", "", "this site alone")
	cmd.Flags().StringVar(&as, "for", "", "who reads: reasons about people are shown to themselves and to leads")
	a.demoFlag(cmd)
	return cmd
}
