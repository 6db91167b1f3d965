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
// places that reach accepts: in date, not held, not promised. What is checked
// counts for sure; what nobody has looked at, or of which the end is unknown,
// may count; what is unfit, or kept as a reserve, does not.
func (l Lot) Usable(reach func(place ID) bool) day.Line[Quantity] {
	var fit day.Line[Tri]
	var lines []day.Line[Quantity]
	for _, place := range l.Places() {
		if !reach(place) {
			continue
		}
		if lines == nil {
			fit = l.fit()
		}
		lines = append(lines, l.usableAt(place, fit))
	}
	switch len(lines) {
	case 0:
		return day.Constant(Quantity{})
	case 1:
		return lines[0]
	}
	return Sum(lines)
}

// Unchecked gives the vials that Usable would count for sure, and does not,
// because they came and nobody has looked at them. An unknown end, a hold or a
// promise keeps them out of it, as it keeps checked ones from being usable.
func (l Lot) Unchecked(reach func(place ID) bool) day.Line[int] {
	came := func(m Movement) bool { return m.Condition == Unchecked && reach(m.Place) }
	if !slices.ContainsFunc(l.Movements, came) {
		return day.Constant(0)
	}
	looked := l
	looked.Movements = slices.Clone(l.Movements)
	for i := range looked.Movements {
		if came(looked.Movements[i]) {
			looked.Movements[i].Condition = Checked
		}
	}
	return day.Combine(looked.Usable(reach), l.Usable(reach), func(then, now Quantity) int { return then.Sure - now.Sure })
}

// usableAt is what Usable gives for one place, where fit is what holds of the
// lot anywhere.
func (l Lot) usableAt(place ID, fit day.Line[Tri]) day.Line[Quantity] {
	for _, h := range l.Holds {
		if h.Place == place {
			fit = held(fit, h)
		}
	}
	line := day.Combine(l.inCondition(place), fit, func(q Quantity, fit Tri) Quantity {
		switch fit {
		case Yes:
			return q
		case Unknown:
			return Quantity{0, q.Maybe}
		default:
			return Quantity{}
		}
	})
	for _, p := range l.Promises {
		if p.Place == place {
			line = day.Combine(line, p.line(), func(q Quantity, promised int) Quantity {
				return Quantity{max(q.Sure-promised, 0), max(q.Maybe-promised, 0)}
			})
		}
	}
	return line
}

// inCondition gives the vials at a place by their condition alone.
func (l Lot) inCondition(place ID) day.Line[Quantity] {
	b := day.NewBuilder(Quantity{})
	var q Quantity
	for _, m := range l.Movements {
		if m.Place != place {
			continue
		}
		switch m.Condition {
		case Checked:
			q = q.Plus(Quantity{m.Vials, m.Vials})
		case Unfit, Reserve:
			continue
		default:
			q.Maybe += m.Vials
		}
		b.Add(m.On, q)
	}
	return b.Line()
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

// fit says for each day whether the lot may be used wherever it is: in date
// and not on hold as a whole. A lot whose end is unknown may or may not be.
func (l Lot) fit() day.Line[Tri] {
	line := l.inDate()
	for _, h := range l.Holds {
		if h.Place == (ID{}) {
			line = held(line, h)
		}
	}
	return line
}

func held(fit day.Line[Tri], h Hold) day.Line[Tri] {
	return day.Combine(fit, h.line(), func(fit Tri, held bool) Tri {
		if held {
			return No
		}
		return fit
	})
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
