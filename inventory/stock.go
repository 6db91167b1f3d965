package inventory

import (
	"slices"

	"antidotary/inventory/day"
)

// Quantity is a number of vials with bounds: Sure is counted on, Maybe is
// the most that there can be. Sure <= Maybe.
type Quantity struct{ Sure, Maybe int }

// Plus adds two quantities.
func (q Quantity) Plus(o Quantity) Quantity { return Quantity{q.Sure + o.Sure, q.Maybe + o.Maybe} }

// Usable gives the vials of the lot that may be used on each day in the
// places that reach accepts.
func (l Lot) Usable(reach func(place ID) bool) day.Line[Quantity] {
	stock := l.InPlaces(reach)
	if stock.Len() == 0 {
		return day.Constant(Quantity{})
	}
	return day.Combine(stock, l.fit(), func(vials int, fit Tri) Quantity {
		switch fit {
		case Yes:
			return Quantity{vials, vials}
		case Unknown:
			return Quantity{0, vials}
		default:
			return Quantity{}
		}
	})
}

// InPlaces gives the vials of the lot, fit or not, in the places that reach
// accepts. What comes and what goes on a day both count from that day.
func (l Lot) InPlaces(reach func(place ID) bool) day.Line[int] {
	b := day.NewBuilder(0)
	n := 0
	for _, m := range l.Movements {
		if reach(m.Place) {
			n += m.Vials
			b.Add(m.On, n)
		}
	}
	return b.Line()
}

// fit says for each day whether the lot may be used: in date and not on
// hold. A lot whose end is unknown may or may not be.
func (l Lot) fit() day.Line[Tri] {
	line := l.inDate()
	for _, h := range l.Holds {
		line = day.Combine(line, h.line(), func(fit Tri, held bool) Tri {
			if held {
				return No
			}
			return fit
		})
	}
	return line
}

func (h Hold) line() day.Line[bool] {
	b := day.NewBuilder(false)
	b.Add(h.From, true)
	if !h.Released.IsZero() { // where both fall on one day, the hold wins that day
		b.Add(max(h.Released, h.From+1), false)
	}
	return b.Line()
}

// inDate joins the label with the regulator's extensions. An extension
// counts from its notice: between the label's end and the notice the lot was
// expired.
func (l Lot) inDate() day.Line[Tri] {
	line := day.Constant(Unknown)
	if last, known := l.Labelled.Known(); known {
		line = day.Steps(Yes, day.Change[Tri]{On: last + 1, To: No})
	}
	for _, e := range l.Extensions {
		x := day.NewBuilder(No)
		x.Add(e.Noticed, Yes)
		x.Add(e.Until+1, No)
		line = day.Combine(line, x.Line(), Tri.Or)
	}
	return line
}

// LastUsable gives the last day on which the lot is in date by the records;
// Unknown where the label's end is.
func (l Lot) LastUsable() day.End {
	last, known := l.Labelled.Known()
	if !known {
		return day.End{}
	}
	for _, e := range l.Extensions {
		last = max(last, e.Until)
	}
	return day.Until(last)
}

// Sum adds quantity lines day by day.
func Sum(lines []day.Line[Quantity]) day.Line[Quantity] {
	type delta struct {
		on day.Day
		by Quantity
	}
	var first Quantity
	var deltas []delta
	for _, l := range lines {
		first = first.Plus(l.First())
		before := l.First()
		for on, q := range l.Changes() {
			deltas = append(deltas, delta{on, Quantity{q.Sure - before.Sure, q.Maybe - before.Maybe}})
			before = q
		}
	}
	slices.SortFunc(deltas, func(a, b delta) int { return int(a.on) - int(b.on) })
	b := day.NewBuilder(first)
	now := first
	for _, d := range deltas {
		now = now.Plus(d.by)
		b.Add(d.on, now)
	}
	return b.Line()
}
