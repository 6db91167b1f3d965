package main

import (
	"errors"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) coverageCommand() *cobra.Command {
	return deeds("coverage", "Record what a source says that antivenom works against", a.coverageRecorded())
}

func (a *app) coverageRecorded() *cobra.Command {
	var basis, origin, from string
	var v inventory.Vials
	var by cited
	return a.deed(saying{words: deed.WordsCoverageRecorded, args: "PRODUCT SPECIES", short: "What one source says of a product against a species",
		long: `Record on what ground a source takes a product to work against a species, and the
vials it gives for one victim. Each source has a row of its own. Where sources
disagree the larger figures are planned, a source that excludes beats the
others, and all are shown. Vials are planning figures; the treating clinician,
the poison centre and the label decide.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&basis, "basis", "", "indicated, immunogen, paraspecific, or excluded: stated not to work")
			f.IntVar(&v.Initial, "initial", 0, "vials of an initial dose; 0: unknown")
			f.IntVar(&v.Full, "full", 0, "vials of a full course; 0: unknown")
			f.IntVar(&v.Worst, "worst", 0, "vials of the worst case; 0: unknown")
			f.StringVar(&origin, "origin", "", "only for animals whose line comes from there: a path such as in/tn (default: every origin)")
			f.StringVar(&from, "from", "", "from which day on these figures count (default: since ever)")
			by.flags(f)
		},
		made: func(h *heard) (deed.Deed, error) {
			if by.source == "" {
				return deed.Deed{}, usageError{errors.New("--source is needed: say who says so")}
			}
			product, err := h.Product(h.args[0])
			if err != nil {
				return deed.Deed{}, err
			}
			species, err := h.SpeciesOf(h.args[1])
			if err != nil {
				return deed.Deed{}, err
			}
			row := inventory.Coverage{ID: inventory.NewID(), Product: product.ID, Species: species.ID, Locality: origin, Basis: inventory.Basis(basis),
				Source: by.source, Certainty: inventory.Certainty(by.certainty)}
			for known := range h.Coverage.All() {
				if known.Product == row.Product && known.Species == row.Species && known.Locality == row.Locality && known.Source == row.Source {
					row.ID = known.ID
				}
			}
			on, err := h.optionalDay("from", from, inventory.ID{})
			return deed.CoverageRecorded(row, v, on), err
		}})
}
