package main

import (
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/daemon/naming"
	"antidotary/inventory"
)

func (a *app) agreementCommand() *cobra.Command {
	cmd := deeds("agreement", "Record who hands out antivenom for us, and that it is there", a.agreementSigned(), a.agreementConfirmed(), a.agreementEnded())
	cmd.Long = `What somebody else holds counts only under a signed agreement, and for sure only
while the partner's last confirmation of the vials is fresh.`
	return cmd
}

func (a *app) agreementSigned() *cobra.Command {
	var x inventory.Agreement
	var product, site, until string
	return a.deed(saying{words: deed.WordsAgreementSigned, args: "AGREEMENT PARTNER", short: "A partner has signed to hand out antivenom for a site", day: "it was signed",
		long: `Record a signed agreement under the number of its paper. It counts for nothing
until the partner has confirmed how many vials are there: agreement confirmed.`,
		flags: func(f *pflag.FlagSet) {
			f.StringVar(&product, "product", "", "what the partner hands out")
			f.StringVar(&site, "site", "", "the site that is served (default: the only one)")
			f.IntVar(&x.Minutes, "minutes", 0, "from the call until the vials are at the site")
			f.StringVar(&x.Access, "access", "", `when they can be had: any-time, or hours such as "mon-fri 08:00-18:00, sat 09:00-12:00"`)
			f.StringVar(&until, "until", "", "its last day: YYYY-MM-DD, YYYY-MM, never or unknown")
			f.IntVar(&x.FreshDays, "fresh", 35, "for how many days a confirmation lasts (35 is common practice, no source)")
			f.StringVar(&x.Note, "note", "", "anything else: who answers, what to bring")
		},
		made: func(h *heard) (deed.Deed, error) {
			of, err := h.Product(product)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--product: %w", err)
			}
			at, err := h.SiteCalled(site)
			if err != nil {
				return deed.Deed{}, fmt.Errorf("--site: %w", err)
			}
			x.ID, x.Number, x.Partner, x.Product, x.Site = inventory.NewID(), h.args[0], h.args[1], of.ID, at.ID
			if x.Until, _, err = naming.End(until, true); err != nil {
				return deed.Deed{}, fmt.Errorf("--until: %w", err)
			}
			x.Signed, err = h.Happened(h.on, at.ID)
			return deed.AgreementSigned(x), err
		}})
}

// which tells agreements of one number apart.
type which struct{ product, site string }

func (w *which) flags(f *pflag.FlagSet) {
	f.StringVar(&w.product, "product", "", "what it is about, where the paper names several")
	f.StringVar(&w.site, "site", "", "the site that is served, where the paper names several")
}

func (a *app) agreementConfirmed() *cobra.Command {
	var w which
	var vials int
	var by string
	return a.deed(saying{words: deed.WordsAgreementConfirmed, args: "AGREEMENT", short: "The partner said how many vials are there", day: "that was said",
		flags: func(f *pflag.FlagSet) {
			w.flags(f)
			f.IntVar(&vials, "vials", -1, "how many are there for us; 0 if none")
			f.StringVar(&by, "by", "", "who of the house asked (default: whoever records it)")
		},
		made: func(h *heard) (deed.Deed, error) {
			if vials < 0 {
				return deed.Deed{}, usageError{fmt.Errorf("--vials is needed: say how many are there, 0 if none")}
			}
			x, err := h.Agreement(h.args[0], w.product, w.site)
			if err != nil {
				return deed.Deed{}, err
			}
			c := inventory.Confirmation{Vials: vials}
			if c.By, err = h.by(by); err != nil {
				return deed.Deed{}, fmt.Errorf("--by: %w", err)
			}
			c.On, err = h.Happened(h.on, x.Site)
			return deed.AgreementConfirmed(x.ID, c), err
		}})
}

func (a *app) agreementEnded() *cobra.Command {
	var w which
	return a.deed(saying{words: deed.WordsAgreementEnded, args: "AGREEMENT", short: "An agreement holds no longer, before its own end", day: "from which it no longer holds", flags: w.flags,
		made: func(h *heard) (deed.Deed, error) {
			x, err := h.Agreement(h.args[0], w.product, w.site)
			if err != nil {
				return deed.Deed{}, err
			}
			on, err := h.Day(h.on, x.Site) // notice is given ahead
			return deed.AgreementEnded(x.ID, on), err
		}})
}
