package main

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"antidotary/compliance"
	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
	"antidotary/inventory"
	"antidotary/inventory/cover"
)

func (a *app) coverCommand() *cobra.Command {
	var on, site string
	var victims int
	cmd := &cobra.Command{
		Use:   "cover",
		Short: "Say whether the antivenom is enough for the worst bites, and until when",
		Long: `Say of each site whether the antivenom is enough for the worst set of victims,
one and two of them or as many as --victims says; what would close what is
short; and the first later day on which it is worse. What counts is said by the
rule on cover that binds at the site, law before house before guidance: by the
usual terms vials in date, checked, not held, lent or promised.
Species that nothing treats are told apart.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			asked, err := dayFlag("on", on)
			if err != nil {
				return err
			}
			if victims < 0 || victims > cover.MostVictims {
				return usageError{fmt.Errorf("--victims: %d is not allowed: write 1 to %d", victims, cover.MostVictims)}
			}
			r, err := a.report(cmd.Context(), daemon.Question{})
			if err != nil {
				return err
			}
			sites, err := sitesCalled(r.View.Snapshot, site)
			if err != nil {
				return err
			}
			numbers := []int{1, 2}
			if victims > 0 {
				numbers = []int{victims}
			}
			return a.print(answer.NewCover(r, sites, numbers, asked))
		},
	}
	cmd.Flags().StringVar(&on, "on", "", "the day to answer for, YYYY-MM-DD (default: today at each site)")
	cmd.Flags().StringVar(&site, "site", "", "this site alone")
	cmd.Flags().IntVar(&victims, "victims", 0, "so many people bitten at once, 1 to 5 (default: one, and two beside it)")
	a.demoFlag(cmd)
	return cmd
}

// sitesCalled gives the site of a name, or every site, by name.
func sitesCalled(s *compliance.Snapshot, name string) ([]inventory.ID, error) {
	if name != "" {
		site, err := (&naming.Names{Snapshot: s}).SiteCalled(name)
		if err != nil {
			return nil, usageError{fmt.Errorf("--site: %w", err)}
		}
		return []inventory.ID{site.ID}, nil
	}
	sites := slices.SortedFunc(s.Sites.All(), func(a, b *inventory.Site) int { return cmp.Compare(a.Title, b.Title) })
	ids := make([]inventory.ID, len(sites))
	for i, site := range sites {
		ids[i] = site.ID
	}
	return ids, nil
}
