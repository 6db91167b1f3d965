package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/inventory"
)

func (a *app) lotLent() *cobra.Command {
	var b batch
	var n inventory.Loan
	var due, approver string
	return a.deed(saying{words: deed.WordsLotLent, args: "LOT", short: "Another house or hospital has vials of ours", day: "they went",
		long: `Record vials that another house or hospital has, on what terms. They do not count
until they are back. Lending is never forbidden: the answer says what it leaves
uncovered.`,
		flags: func(f *pflag.FlagSet) {
			b.outOf(f)
			f.StringVar(&n.Borrower, "to", "", "who has them")
			f.StringVar(&approver, "approved-by", "", "the person of the house who approved it")
			f.StringVar(&n.Physician, "physician", "", "the physician who asked for them")
			f.StringVar(&n.Purpose, "purpose", "", "for what")
			f.StringVar(&due, "due", "", "the last day to bring them, or others for them, back")
			f.StringVar(&n.Terms, "terms", "", "what was agreed: replacement, temperature on the way, who may break a seal")
		},
		made: func(h *heard) (deed.Deed, error) {
			if n.Borrower == "" {
				return deed.Deed{}, usageError{errors.New("--to is needed: say who has them")}
			}
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			if approver != "" {
				p, err := h.Person(approver)
				if err != nil {
					return deed.Deed{}, fmt.Errorf("--approved-by: %w", err)
				}
				n.Approver = p.ID
			}
			if due != "" {
				place, _ := h.Places.Get(v.Place)
				if n.Due, err = h.Day(due, place.Site); err != nil {
					return deed.Deed{}, fmt.Errorf("--due: %w", err)
				}
			}
			return deed.LotLent(l.ID, v, n), nil
		}})
}

func (a *app) lotReturned() *cobra.Command {
	var b batch
	var loan int
	var checked bool
	return a.deed(saying{words: deed.WordsLotReturned, args: "LOT", short: "Vials that were lent came back", day: "they came back",
		long: `Record vials that were lent and came back. How they were kept meanwhile is not
known by that: they are unchecked, and not counted on, until somebody has looked
at them and at how they were kept: say --checked, or later antidotary lot checked.`,
		flags: func(f *pflag.FlagSet) {
			b.flags(f)
			f.IntVar(&loan, "loan", 0, "the number of the loan, where several are out")
			f.BoolVar(&checked, "checked", false, "somebody looked at each of them and at how they were kept, and it is good")
		},
		made: func(h *heard) (deed.Deed, error) {
			l, v, err := b.found(h)
			if err != nil {
				return deed.Deed{}, err
			}
			v.Of = looked(checked)
			return deed.LotReturned(l.ID, v, loan), nil
		}})
}
