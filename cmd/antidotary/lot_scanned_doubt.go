package main

import (
	"errors"
	"fmt"
	"strings"

	"antidotary/daemon/naming"
	"antidotary/inventory"
	"antidotary/inventory/label"
)

// received makes the lot of what the code says and of what was said beside it.
func (s *scanned) received(product *inventory.Product, l label.Label, warnings []label.Warning) (inventory.Lot, error) {
	lot := inventory.Lot{ID: inventory.NewID(), Product: product.ID, Number: l.Lot, Labelled: l.End, MonthOnly: l.MonthOnly}
	if s.lot != "" {
		if l.Lot != s.lot && !(l.LotDoubtful && strings.HasPrefix(l.Lot, s.lot)) && l.Lot != "" {
			return lot, fmt.Errorf("nothing is recorded: --lot: the code says %s, not %s; look at the package", l.Lot, s.lot)
		}
		lot.Number = s.lot
	}
	if s.expires != "" {
		end, monthOnly, err := naming.End(s.expires, false)
		if err != nil {
			return lot, fmt.Errorf("--expires: %w", err)
		}
		if !l.End.IsZero() && end != l.End {
			return lot, fmt.Errorf("nothing is recorded: --expires: the code says %s, not %s; look at the package", l.End, end)
		}
		lot.Labelled, lot.MonthOnly = end, monthOnly
	}
	if err := s.settled(lot, warnings); err != nil {
		return lot, err
	}
	if known, err := s.Lot(lot.Number, product.Ref().String()); err == nil {
		lot.ID = known.ID
	}
	return lot, nil
}

// settled refuses what is in doubt and that nobody has looked at.
func (s *scanned) settled(lot inventory.Lot, warnings []label.Warning) error {
	if lot.Number == "" {
		return errors.New("nothing is recorded: the code has no lot number; look at the package and give it with --lot")
	}
	var doubts []string
	for _, w := range warnings {
		if w.About == label.AboutLot && s.lot == "" || w.About == label.AboutEnd && s.expires == "" {
			doubts = append(doubts, w.Text)
		}
	}
	if s.sure || len(doubts) == 0 {
		return nil
	}
	return fmt.Errorf("nothing is recorded: %s; look at the package and give what is printed with --lot and --expires, or say with --sure that the code is right as it is read", strings.Join(doubts, "; "))
}

// twice refuses a package with a serial number that came already: it would be
// counted twice.
func (s *scanned) twice(lot inventory.Lot, l label.Label, note string) error {
	known, ok := s.Lots.Get(lot.ID)
	if !ok || l.Serial == "" || s.sure {
		return nil
	}
	for _, m := range known.Movements {
		if m.Reason == inventory.Received && m.Note == note {
			return fmt.Errorf("nothing is recorded: the package with serial number %s came on %s already; if it came again, say --sure", l.Serial, m.On)
		}
	}
	return nil
}
