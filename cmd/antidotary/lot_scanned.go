package main

import (
	"bufio"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"antidotary/compliance/deed"
	"antidotary/daemon"
	"antidotary/daemon/answer"
	"antidotary/daemon/asking"
	"antidotary/daemon/naming"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/label"
)

// scanned is what somebody says beside a code, and with what it is read.
type scanned struct {
	*app
	*naming.Names
	batch
	as, on, order         string
	lot, expires          string
	separator             string
	sure, printed         bool
	checked               bool
	remember, remembering bool // the answer, and whether there is one
	asking                asking.From
}

func (a *app) lotScanned() *cobra.Command {
	s := &scanned{app: a}
	cmd := &cobra.Command{
		Use: "scanned SCAN", Short: "Vials came, as the code on the package says",
		Long: `Record vials that came, as lot received does, with product, lot number and last
good day read from the GS1 code on the package. SCAN is what the scanner sends;
with - each line that is typed or piped in is one scan of as many vials.

  antidotary lot scanned - --place "Fridge A" --vials 5 --as "Odo Quill"

Nothing is guessed. What was read is shown first; where lot number or expiry is
missing or in doubt nothing is recorded until you say what is printed on the
package (--lot, --expires) or that the code is right as it is read (--sure). How
many vials a package holds no code says: it is asked. A trade item number that no
product has is refused, unless --product names the product.

They are unchecked, and not counted on, until somebody has looked at them (seal
whole, clear, not cracked, never frozen): say --checked, or later
antidotary lot checked. That a code was scanned is no such look.

A separator between the parts of a code is sent as the character 29 (GS). If your
scanner types something else for it, say what: --separator "|".`,
		Args: func(_ *cobra.Command, args []string) error { return fitting("SCAN", args) },
		RunE: func(cmd *cobra.Command, args []string) error {
			if s.as == "" {
				return usageError{errors.New("--as is needed: say who records it")}
			}
			if s.separator != "" && label.MayHold(s.separator) {
				return usageError{fmt.Errorf("--separator: a lot number may hold %q: have the scanner type something else, such as |", s.separator)}
			}
			s.remembering = cmd.Flags().Changed("remember")
			if args[0] == "-" {
				return s.lines(cmd)
			}
			s.asking = asking.From{In: bufio.NewReader(cmd.InOrStdin()), Out: a.err}
			return s.one(cmd, args[0])
		},
	}
	s.flags(cmd.Flags())
	return cmd
}

func (s *scanned) flags(f *pflag.FlagSet) {
	f.StringVar(&s.as, "as", "", "who records it: your name")
	f.StringVar(&s.on, "on", "today", "the day on which they came: YYYY-MM-DD, today or yesterday")
	f.StringVar(&s.place, "place", "", "where they are kept")
	f.StringVar(&s.site, "site", "", "the site of the place, where several have one of that name")
	f.IntVar(&s.vials, "vials", 0, "how many, of each scan")
	f.StringVar(&s.product, "product", "", "what it is, where no product has its trade item number")
	f.BoolVar(&s.remember, "remember", false, "keep that number with the product")
	f.StringVar(&s.lot, "lot", "", "the lot number that is printed, where the code has none or it is in doubt")
	f.StringVar(&s.expires, "expires", "", "the last good day that is printed, where the code has none: YYYY-MM-DD, YYYY-MM or unknown")
	f.StringVar(&s.order, "order", "", "the order that they were of, which is closed by it: what did not come has to be ordered again")
	f.BoolVar(&s.checked, "checked", false, "somebody looked at each of them, and it is good")
	f.BoolVar(&s.sure, "sure", false, "the package was looked at: the code is right as it is read")
	f.BoolVar(&s.printed, "printed", false, "SCAN is as it is printed, with parentheses: (01)...(17)...(10)...")
	f.StringVar(&s.separator, "separator", "", "what the scanner types for the separator, if not the character 29")
}

// lines records each line as a scan. One that is refused leaves the others as
// they are.
func (s *scanned) lines(cmd *cobra.Command) error {
	in := bufio.NewScanner(cmd.InOrStdin())
	n, refused := 0, 0
	for in.Scan() {
		line := strings.TrimRight(in.Text(), "\r")
		if line == "" {
			continue
		}
		n++
		if err := s.one(cmd, line); err != nil {
			refused++
			fmt.Fprintf(s.err, "scan %d is not recorded: %v\n", n, err)
		}
	}
	switch err := in.Err(); {
	case err != nil:
		return fmt.Errorf("read the scans: %w", err)
	case n == 0:
		return usageError{errors.New("no scan was given: one on each line is needed")}
	case refused > 0:
		return fmt.Errorf("%d of %d scans are not recorded", refused, n)
	}
	return nil
}

// one records one scan.
func (s *scanned) one(cmd *cobra.Command, scan string) error {
	opt, err := s.options()
	if err != nil {
		return err
	}
	var code answer.Code
	done, err := daemon.Record(cmd.Context(), opt, store.Actor{ID: s.as}, func(n *naming.Names) (deed.Deed, error) {
		s.Names = n
		return s.made(scan, &code)
	})
	if err != nil {
		return err
	}
	return s.print(&answer.Scanned{Recorded: done, Code: code})
}

func (s *scanned) made(scan string, code *answer.Code) (deed.Deed, error) {
	place, err := s.Place(s.place, s.site)
	if err != nil {
		return deed.Deed{}, fmt.Errorf("--place: %w", err)
	}
	on, err := s.Happened(s.on, place.Site)
	if err != nil {
		return deed.Deed{}, err
	}
	l, warnings, err := s.read(scan, place.Site)
	if err != nil {
		return deed.Deed{}, fmt.Errorf("the code says nothing that can be relied on: %w", err)
	}
	*code = answer.CodeOf(l, warnings, s.Today(place.Site))
	found, gtin := s.found(l)
	if found != nil {
		code.Product = found.Type
	}
	if err := s.show(code); err != nil {
		return deed.Deed{}, err
	}
	product, err := s.what(found, gtin)
	if err != nil {
		return deed.Deed{}, err
	}
	lot, err := s.received(product, l, warnings)
	if err != nil {
		return deed.Deed{}, err
	}
	count, err := s.howMany(l)
	if err != nil {
		return deed.Deed{}, err
	}
	vials := deed.Vials{Place: place.ID, Count: count, On: on, Note: note(l), Of: looked(s.checked)}
	if err := s.twice(lot, l, vials.Note); err != nil {
		return deed.Deed{}, err
	}
	d := deed.LotReceived(lot, vials)
	if s.order != "" {
		of, err := s.Order(s.order)
		if err != nil {
			return deed.Deed{}, fmt.Errorf("--order: %w", err)
		}
		d = d.OfOrder(of.ID, product.ID, on)
	}
	if found == nil && gtin != "" && s.keeps(gtin, product) {
		d = deed.Remembering(d, product.ID, gtin)
	}
	return d, nil
}

func (s *scanned) read(scan string, site inventory.ID) (label.Label, []label.Warning, error) {
	year, _, _ := s.Today(site).Date()
	if s.printed {
		return label.ReadPrinted(scan, year)
	}
	if s.separator != "" {
		scan = strings.ReplaceAll(scan, s.separator, label.Separator)
	}
	return label.Read(scan, year)
}

// show prints what was read before anything is recorded; in JSON it is a part
// of the answer.
func (s *scanned) show(code *answer.Code) error {
	if s.json {
		return nil
	}
	return code.WriteText(s.out)
}

// found gives the trade item number of a code, of what is within where it says
// so, and the product that has it; nil if none has.
func (s *scanned) found(l label.Label) (product *inventory.Product, gtin string) {
	if gtin = l.GTIN; gtin == "" {
		gtin = l.Contains
	}
	if gtin == "" {
		return nil, ""
	}
	return s.ProductOf(gtin), gtin
}

// what gives the product: the one that the code says, or, where no product has
// its number, the one that is named.
func (s *scanned) what(found *inventory.Product, gtin string) (*inventory.Product, error) {
	if s.product == "" {
		switch {
		case found != nil:
			return found, nil
		case gtin == "":
			return nil, errors.New("nothing is recorded: the code does not say what it is; look at the package and name it with --product")
		}
		return nil, fmt.Errorf("nothing is recorded: no product has the trade item number %s; look at the package and name what it is with --product, and --remember to keep the number with it", gtin)
	}
	named, err := s.Product(s.product)
	if err != nil {
		return nil, fmt.Errorf("--product: %w", err)
	}
	if found != nil && found.ID != named.ID {
		return nil, fmt.Errorf("nothing is recorded: the trade item number %s is that of %s, not of %s; look at the package, and correct whichever is wrong", gtin, found.Type, named.Type)
	}
	return named, nil
}

// howMany vials came. A code may count packs or items; it is never multiplied.
func (s *scanned) howMany(l label.Label) (int, error) {
	given := map[string][]string{}
	if s.vials != 0 {
		given["vials"] = []string{strconv.Itoa(s.vials)}
	}
	explain := "No code says how many vials are in a package."
	switch {
	case l.Packs > 0:
		explain = fmt.Sprintf("The code says that %d packs are within. It does not say how many vials a pack holds.", l.Packs)
	case l.Items > 0:
		explain = fmt.Sprintf("The code says that %d items are within. It does not say whether an item is a vial.", l.Items)
	}
	count := 0
	err := asking.One(asking.From{Given: given, In: s.asking.In, Out: s.asking.Out}, &count, asking.Question[int]{
		Flag: "vials", Ask: "How many vials came?", Explain: explain, Needed: true,
		Set: func(n *int, text string) (err error) {
			if *n, err = strconv.Atoi(text); err != nil || *n < 1 {
				return fmt.Errorf("%q: vials must be at least 1", text)
			}
			return nil
		}}, 0, func(n int) int { return n })
	if errors.Is(err, asking.ErrMissing) {
		return 0, usageError{err}
	}
	return count, err
}

// keeps says whether a trade item number is to be kept with a product: as was
// said, or asked. Nobody who can be asked says no.
func (s *scanned) keeps(gtin string, product *inventory.Product) bool {
	if s.remembering {
		return s.remember
	}
	return asking.Another(s.asking, fmt.Sprintf("Is %s the trade item number of %s from now on?", gtin, product.Type))
}

// note keeps what was read with the movement.
func note(l label.Label) string {
	var b strings.Builder
	b.WriteString("scanned: ")
	for _, e := range l.Elements {
		b.WriteString(e.String())
	}
	return b.String()
}
