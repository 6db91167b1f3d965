package deed

import (
	"errors"
	"slices"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Remembering adds to a deed that a trade item number is on the packages of a
// product, so that a scanned code finds it from then on.
func Remembering(d Deed, product inventory.ID, gtin string) Deed {
	return of(d.words, append(slices.Clone(d.Batch), compliance.Alter[inventory.Product]{
		Of: inventory.Ref{Kind: inventory.KindProduct, ID: product},
		How: func(_ *compliance.Snapshot, p *inventory.Product) error {
			if slices.Contains(p.GTINs, gtin) {
				return errors.New("its trade item number " + gtin + " is remembered already")
			}
			p.GTINs = with(p.GTINs, gtin)
			return nil
		}})...)
}
