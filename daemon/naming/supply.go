package naming

import "antidotary/inventory"

// Supply finds what a supplier offers of a product.
func (n *Names) Supply(supplier string, product inventory.ID) (*inventory.Supply, error) {
	return find(n, n.Supplies, supplier, func(s *inventory.Supply) []string { return []string{s.Supplier} },
		func(s *inventory.Supply) bool { return s.Product == product })
}

// Order finds an order by its number.
func (n *Names) Order(number string) (*inventory.Order, error) {
	return find(n, n.Orders, number, func(o *inventory.Order) []string { return []string{o.Number} }, nil)
}

// Agreement finds an agreement by the number of its paper, of a product and for
// a site where they are named.
func (n *Names) Agreement(number, product, site string) (*inventory.Agreement, error) {
	at, err := n.optionalSite(site)
	if err != nil {
		return nil, err
	}
	var of *inventory.Product
	if product != "" {
		if of, err = n.Product(product); err != nil {
			return nil, err
		}
	}
	return find(n, n.Agreements, number, func(a *inventory.Agreement) []string { return []string{a.Number} },
		func(a *inventory.Agreement) bool {
			return (at == nil || a.Site == at.ID) && (of == nil || a.Product == of.ID)
		})
}
