package inventory

import (
	"cmp"
	"slices"

	"antidotary/inventory/day"
)

// Picked is vials of one lot at one place.
type Picked struct {
	Lot   *Lot
	Place ID
	Vials int
	End   day.End // last day on which the lot is in date; unknown where its label is
}

// Picking says which vials to take.
type Picking struct {
	Take  []Picked // in this order
	Short int      // so many cannot be had that are sure to be usable
	// Doubtful vials are never picked: their end is unknown, or nobody has
	// looked at them.
	Doubtful []Picked
}

// Pick takes vials for a day in the places that reach accepts: what ends first
// goes first, then what was received first, then by number and place. Only
// what may be used for sure is picked. The lots should be of one product: a
// course comes from one.
func Pick(lots []*Lot, reach func(place ID) bool, vials int, on day.Day) Picking {
	var out Picking
	var sure []Picked
	for _, l := range lots {
		end := l.inDateUntil(on)
		for _, place := range l.Places() {
			if !reach(place) {
				continue
			}
			q := l.Usable(func(p ID) bool { return p == place }).At(on)
			if q.Sure > 0 {
				sure = append(sure, Picked{l, place, q.Sure, end})
			}
			if q.Maybe > q.Sure {
				out.Doubtful = append(out.Doubtful, Picked{l, place, q.Maybe - q.Sure, end})
			}
		}
	}
	slices.SortFunc(sure, Picked.compare)
	slices.SortFunc(out.Doubtful, Picked.compare)
	for _, p := range sure {
		if vials == 0 {
			break
		}
		p.Vials = min(p.Vials, vials)
		vials -= p.Vials
		out.Take = append(out.Take, p)
	}
	out.Short = vials
	return out
}

func (p Picked) compare(o Picked) int {
	return cmp.Or(
		-cmp.Compare(p.End.Kind, o.End.Kind), // known before unknown
		cmp.Compare(p.End.On, o.End.On),
		cmp.Compare(p.Lot.first(), o.Lot.first()),
		cmp.Compare(p.Lot.Number, o.Lot.Number),
		slices.Compare(p.Lot.ID[:], o.Lot.ID[:]),
		slices.Compare(p.Place[:], o.Place[:]),
	)
}

// first gives the day on which the lot's first vials came.
func (l *Lot) first() day.Day {
	if len(l.Movements) == 0 {
		return 0
	}
	return l.Movements[0].On
}

// inDateUntil gives the last day on which a lot that is in date on a day still
// is, by label and extensions; unknown where neither is known.
func (l *Lot) inDateUntil(on day.Day) day.End {
	if ends, _, ok := l.inDate().Next(on, func(t Tri) bool { return t != Yes }); ok && l.inDate().At(on) == Yes {
		return day.Until(ends - 1)
	}
	return day.End{}
}
