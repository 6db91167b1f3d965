package naming

import (
	"slices"

	"antidotary/inventory"
)

// ProductOf finds the product that has a trade item number of 14 digits; nil
// if none has. No number is like another one: nothing near it is taken.
func (n *Names) ProductOf(gtin string) *inventory.Product {
	for p := range n.Products.All() {
		if slices.Contains(p.GTINs, gtin) {
			return p
		}
	}
	return nil
}
