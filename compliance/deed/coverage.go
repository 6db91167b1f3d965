package deed

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// CoverageRecorded records what one source says of a product against a
// species, with its figures from a day on; unset: since ever. Of a row that is
// recorded already, the figures for the days before stay, and the ground and
// the certainty become what is said now. Other sources keep their rows.
func CoverageRecorded(c inventory.Coverage, figures inventory.Vials, from day.Day) Deed {
	return of(WordsCoverageRecorded, said{c, figures, from})
}

// said makes the row of a source, or adds to it.
type said struct {
	row     inventory.Coverage
	figures inventory.Vials
	from    day.Day
}

// Touches names the row.
func (c said) Touches() []inventory.Ref { return []inventory.Ref{c.row.Ref()} }

// Apply puts the row.
func (c said) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	row := c.row
	if known, ok := s.Coverage.Get(row.ID); ok {
		if known.Product != row.Product || known.Species != row.Species || known.Locality != row.Locality || known.Source != row.Source {
			return nil, &compliance.Refusal{Subject: row.Ref(), Name: known.Name(), Err: fmt.Errorf("it is a row of another product, species, origin or source: record a row of its own")}
		}
		row.Vials = known.Vials
	}
	var figures []inventory.Dated[inventory.Vials]
	for _, v := range row.Vials {
		if v.From != c.from {
			figures = append(figures, v)
		}
	}
	if c.figures != (inventory.Vials{}) || len(row.Vials) > 0 {
		figures = append(figures, inventory.Dated[inventory.Vials]{From: c.from, Value: c.figures})
	}
	row.Vials = figures
	return compliance.Record(row).Apply(s)
}
