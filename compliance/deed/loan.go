package deed

import (
	"errors"
	"fmt"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// LotLent records vials that another house or hospital has. They do not count
// until they are back; lending is never forbidden. The loan is numbered here.
func LotLent(id inventory.ID, v Vials, terms inventory.Loan) Deed {
	d := alter(WordsLotLent, lot(id), func(s *compliance.Snapshot, l *inventory.Lot) error {
		if terms.Borrower == "" {
			return errors.New("say who has them")
		}
		if err := before(terms.Due, "they went", v.On); err != nil && !terms.Due.IsZero() {
			return err
		}
		terms.Number = len(l.Loans) + 1
		l.Loans = with(l.Loans, terms)
		return taken(s, l, inventory.LentOut, v, terms.Number)
	})
	d.remarks = func(was, is *compliance.Snapshot) []string { return left(was, is, id, v) }
	return d
}

// left says how many vials of the product may be used at the site before and
// after some of them go.
func left(was, is *compliance.Snapshot, id inventory.ID, v Vials) []string {
	l, ok := is.Lots.Get(id)
	if !ok {
		return nil
	}
	site := siteOf(is, v.Place)
	return []string{fmt.Sprintf("At %s %d vials of %s can be counted on, where %d could before.",
		is.NameOf(inventory.Ref{Kind: inventory.KindSite, ID: site}), usableAt(is, l.Product, site, v.On),
		is.NameOf(inventory.Ref{Kind: inventory.KindProduct, ID: l.Product}), usableAt(was, l.Product, site, v.On))}
}

// usableAt gives the vials of a product at a site that may be used for sure.
func usableAt(s *compliance.Snapshot, product, site inventory.ID, on day.Day) (sure int) {
	for l := range s.Lots.All() {
		if l.Product == product {
			sure += l.Usable(func(p inventory.ID) bool { return siteOf(s, p) == site }).At(on).Sure
		}
	}
	return sure
}

// LotReturned records vials that came back of a loan; 0 is the only loan of
// which some are out. How they were kept meanwhile is not known by that: they
// are unchecked unless their condition is said.
func LotReturned(id inventory.ID, v Vials, loan int) Deed {
	return alter(WordsLotReturned, lot(id), func(_ *compliance.Snapshot, l *inventory.Lot) error {
		if err := v.check(); err != nil {
			return err
		}
		number, err := loanOf(l, loan)
		if err != nil {
			return err
		}
		if out := l.Outstanding(number, day.Last); out < v.Count {
			return fmt.Errorf("%d vials of it are lent: %d cannot come back; more than that is a receipt", out, v.Count)
		}
		m := v.movement(inventory.Returned, v.arriving(), v.Count)
		m.Loan = number
		*l = l.Put(m)
		return nil
	})
}

// loanOf finds the loan that is meant: the one that is said, or the only one
// of which vials are out. Those that went without terms are loan 0.
func loanOf(l *inventory.Lot, said int) (int, error) {
	if said != 0 {
		if said < 0 || said > len(l.Loans) {
			return 0, fmt.Errorf("it has no loan %d: %s", said, Loans(l))
		}
		return said, nil
	}
	var open []int
	for number := range len(l.Loans) + 1 {
		if l.Outstanding(number, day.Last) > 0 {
			open = append(open, number)
		}
	}
	switch len(open) {
	case 0:
		return 0, errors.New("0 vials of it are lent: what comes is a receipt")
	case 1:
		return open[0], nil
	}
	return 0, fmt.Errorf("several loans of it are out: say by --loan which comes back: %s", Loans(l))
}

// Loans says which loans of a lot are out.
func Loans(l *inventory.Lot) string {
	var all []string
	for _, n := range l.Loans {
		if out := l.Outstanding(n.Number, day.Last); out > 0 {
			all = append(all, fmt.Sprintf("%d (%d vials, %s)", n.Number, out, n.Borrower))
		}
	}
	if len(all) == 0 {
		return "none is out"
	}
	return strings.Join(all, ", ")
}
