package compliance

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveVials counts the vials of one lot that may be used on one day, for
// sure and at most.
func naiveVials(l inventory.Lot, on day.Day) (sure, most int) {
	n := 0
	for _, m := range l.Movements {
		if m.On <= on {
			n += m.Vials
		}
	}
	for _, h := range l.Holds {
		released := h.Released != 0 && on >= h.Released && on > h.From
		if on >= h.From && !released {
			return 0, 0
		}
	}
	for _, e := range l.Extensions {
		if e.Noticed <= on && on <= e.Until {
			return n, n
		}
	}
	switch {
	case l.Labelled.Kind == day.Unknown:
		return 0, n
	case on <= l.Labelled.On:
		return n, n
	default:
		return 0, 0
	}
}

func anyLot(t *rapid.T, s *shelf, product, number string) inventory.Lot {
	l := inventory.Lot{ID: inventory.NewID(), Product: s.product(product).ID, Number: number}
	if rapid.IntRange(0, 4).Draw(t, "end known") > 0 {
		l.Labelled = day.Until(anyDay(t, "end"))
	}
	at := base.Add(rapid.IntRange(-5, 20).Draw(t, "received"))
	l.Movements = []inventory.Movement{{On: at, Place: s.place.ID, Vials: rapid.IntRange(1, 8).Draw(t, "vials"), Reason: inventory.Received, Condition: inventory.Checked}}
	if rapid.Bool().Draw(t, "used?") {
		l.Movements = append(l.Movements, inventory.Movement{On: at.Add(rapid.IntRange(0, 20).Draw(t, "used on")), Place: s.place.ID, Vials: -1, Reason: inventory.Used, Condition: inventory.Checked})
	}
	if rapid.IntRange(0, 3).Draw(t, "held?") == 0 {
		hold := inventory.Hold{From: anyDay(t, "held"), Why: "w"}
		if rapid.Bool().Draw(t, "released?") {
			hold.Released = hold.From.Add(rapid.IntRange(0, 15).Draw(t, "released after"))
		}
		l.Holds = append(l.Holds, hold)
	}
	if rapid.IntRange(0, 3).Draw(t, "extended?") == 0 {
		noticed := anyDay(t, "noticed")
		l.Extensions = append(l.Extensions, inventory.Extension{Noticed: noticed, Until: noticed.Add(rapid.IntRange(0, 30).Draw(t, "extended by")), Reference: "r"})
	}
	return l
}

func TestCoverAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newShelf(discard{})
		sp := s.species("Naja kaouthia", "Elapidae")
		s.animal(sp)
		type product struct {
			full, initial int
			lots          []inventory.Lot
		}
		products := make([]product, rapid.IntRange(1, 3).Draw(t, "products"))
		for i := range products {
			p, name := &products[i], fmt.Sprint("product ", i)
			p.full = rapid.IntRange(0, 12).Draw(t, "full")
			p.initial = rapid.IntRange(0, p.full).Draw(t, "initial")
			s.covers(name, sp, inventory.Indicated, p.initial, p.full)
			for j := range rapid.IntRange(0, 3).Draw(t, "lots") {
				l := anyLot(t, s, name, fmt.Sprint("L", j))
				p.lots = append(p.lots, l)
				s.put(Record(l))
			}
		}
		line := s.cover(sp)
		for on := base - 8; on <= base.Add(stretch+40); on++ {
			want := OutOfOrder
			for _, p := range products {
				sure, most := 0, 0
				for _, l := range p.lots {
					a, b := naiveVials(l, on)
					sure, most = sure+a, most+b
				}
				one := OutOfOrder
				switch {
				case p.full == 0:
					one = CannotTell
				case sure >= p.full:
					one = InOrder
				case most >= p.full:
					one = CannotTell
				}
				want = min(want, one)
			}
			if got := line.At(on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\n%+v", on, got.Standing, got.State, want, products)
			}
		}
	})
}

// TestRegulatorsExtensions: extensions of one very lot, from their notice.
func TestRegulatorsExtensions(t *testing.T) {
	const source = "RAPS of 17 Oct 2013 and society notice of 2010 quoting the FDA notice of 22 Oct 2010, Micrurus fulvius antivenin (R2)"
	for _, c := range []struct {
		name       string
		extensions []inventory.Extension
		on         string
		want       int
	}{
		{"lot 4030026 with the notice of 2010", []inventory.Extension{{Noticed: d("2010-10-22"), Until: d("2011-10-31"), Reference: "FDA"}}, "2010-11-15", 5},
		{"the same lot without it", nil, "2010-11-15", 0},
		{"before the notice it was expired", []inventory.Extension{{Noticed: d("2010-10-22"), Until: d("2011-10-31"), Reference: "FDA"}}, "2010-10-21", 0},
		{"lot 4030024 on its last day", []inventory.Extension{{Noticed: d("2012-12-07"), Until: d("2014-04-30"), Reference: "letter"}}, "2014-04-30", 5},
		{"lot 4030024 a day later", []inventory.Extension{{Noticed: d("2012-12-07"), Until: d("2014-04-30"), Reference: "letter"}}, "2014-05-01", 0},
		{"another lot's extension is no extension of this one", nil, "2013-11-01", 0},
	} {
		l := inventory.Lot{ID: inventory.NewID(), Number: "4030026", Labelled: day.Until(d("2008-10-31")), Extensions: c.extensions,
			Movements: []inventory.Movement{{On: d("2006-01-01"), Vials: 5, Reason: inventory.Received, Condition: inventory.Checked}}}
		if got := l.Usable(func(inventory.ID) bool { return true }).At(d(c.on)); got.Sure != c.want || got.Maybe != c.want {
			t.Errorf("%s: %+v usable, want %d (%s)", c.name, got, c.want, source)
		}
	}
}
