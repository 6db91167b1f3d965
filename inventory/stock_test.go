package inventory_test

import (
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

var d = day.MustParse

// origin is the first day of the stretch in which random things happen.
var origin = d("2026-03-01")

const stretch = 60

func someDay(t *rapid.T, label string) day.Day {
	return origin.Add(rapid.IntRange(0, stretch).Draw(t, label))
}

var (
	fridge = inventory.ID{1}
	bag    = inventory.ID{2}
)

func inFridge(place inventory.ID) bool { return place == fridge }

// oneDay answers for one lot and one day, straight from the design: the vials
// that may be used for sure and at most, in the fridge alone.
//
// In date is by the label or by a regulator's extension from its notice on. A
// hold bites from its day; a release counts from its own, but on the day of
// the hold the hold wins.
func oneDay(l inventory.Lot, on day.Day) inventory.Quantity {
	vials := 0
	for _, m := range l.Movements {
		if m.Place == fridge && m.On <= on {
			vials += m.Vials
		}
	}
	for _, h := range l.Holds {
		if on == h.From || on > h.From && (h.Released.IsZero() || on < h.Released) {
			return inventory.Quantity{}
		}
	}
	for _, e := range l.Extensions {
		if e.Noticed <= on && on <= e.Until {
			return inventory.Quantity{Sure: vials, Maybe: vials}
		}
	}
	last, known := l.Labelled.Known()
	switch {
	case !known:
		return inventory.Quantity{Maybe: vials}
	case on <= last:
		return inventory.Quantity{Sure: vials, Maybe: vials}
	default:
		return inventory.Quantity{}
	}
}

// someLot is any lot that the records accept.
func someLot(t *rapid.T) inventory.Lot {
	l := inventory.Lot{ID: numbered(1), Product: numbered(2), Number: "L"}
	if rapid.IntRange(0, 3).Draw(t, "label read") > 0 {
		l.Labelled = day.Until(someDay(t, "labelled"))
	}
	for range rapid.IntRange(0, 2).Draw(t, "holds") {
		h := inventory.Hold{From: someDay(t, "held"), Why: "recall"}
		if rapid.Bool().Draw(t, "released?") {
			h.Released = h.From.Add(rapid.IntRange(0, 20).Draw(t, "released after"))
		}
		l.Holds = append(l.Holds, h)
	}
	for range rapid.IntRange(0, 2).Draw(t, "extensions") {
		e := inventory.Extension{Noticed: someDay(t, "noticed"), Reference: "notice"}
		e.Until = e.Noticed.Add(rapid.IntRange(0, 30).Draw(t, "extended by"))
		l.Extensions = append(l.Extensions, e)
	}
	on, left := origin, map[inventory.ID]int{}
	for range rapid.IntRange(0, 5).Draw(t, "movements") {
		on = on.Add(rapid.IntRange(0, 12).Draw(t, "moved after"))
		m := inventory.Movement{On: on, Place: rapid.SampledFrom([]inventory.ID{fridge, bag}).Draw(t, "place"), Reason: inventory.Counted}
		m.Vials = rapid.IntRange(-left[m.Place], 9).Draw(t, "vials")
		left[m.Place] += m.Vials
		l.Movements = append(l.Movements, m)
	}
	return l
}

func TestUsableAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := someLot(t)
		if err := l.Check(); err != nil {
			t.Fatalf("the records refuse it: %v\n%+v", err, l)
		}
		line := l.Usable(inFridge)
		for on := origin - 2; on <= origin.Add(stretch+60); on++ {
			if got, want := line.At(on), oneDay(l, on); got != want {
				t.Fatalf("%s: %+v, want %+v\n%+v", on, got, want, l)
			}
		}
	})
}

// TestNeverMoreThanThereIs: whatever a lot's dates are, what is usable for
// sure is at most what may be, and that is at most what is there.
func TestNeverMoreThanThereIs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := someLot(t)
		usable, there := l.Usable(inFridge), l.InPlaces(inFridge)
		for on := origin - 2; on <= origin.Add(stretch+60); on++ {
			if q := usable.At(on); q.Sure < 0 || q.Sure > q.Maybe || q.Maybe > there.At(on) {
				t.Fatalf("%s: %+v of %d\n%+v", on, q, there.At(on), l)
			}
		}
	})
}

// TestLastUsableDayIsGood: the last usable day is good, unless a hold says
// otherwise, and no later day is.
func TestLastUsableDayIsGood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := someLot(t)
		l.Holds = nil
		l.Movements = []inventory.Movement{{On: origin, Place: fridge, Vials: 3, Reason: inventory.Received}}
		last, known := l.LastUsable().Known()
		if !known {
			t.Skip("the label was not read")
		}
		line := l.Usable(inFridge)
		if last >= origin && line.At(last).Sure != 3 {
			t.Fatalf("%s is not good\n%+v", last, l)
		}
		if _, q, later := line.Next(last, func(q inventory.Quantity) bool { return q.Maybe > 0 }); later {
			t.Fatalf("%+v usable after %s\n%+v", q, last, l)
		}
	})
}

func TestSumAddsDayByDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := make([]day.Line[inventory.Quantity], rapid.IntRange(0, 4).Draw(t, "lines"))
		for i := range lines {
			b := day.NewBuilder(inventory.Quantity{Sure: rapid.IntRange(0, 3).Draw(t, "sure"), Maybe: 3})
			on := origin
			for range rapid.IntRange(0, 4).Draw(t, "changes") {
				on = on.Add(rapid.IntRange(0, 9).Draw(t, "after"))
				n := rapid.IntRange(0, 9).Draw(t, "vials")
				b.Add(on, inventory.Quantity{Sure: n, Maybe: n + rapid.IntRange(0, 3).Draw(t, "more")})
			}
			lines[i] = b.Line()
		}
		sum := inventory.Sum(lines)
		for on := origin - 2; on <= origin.Add(stretch); on++ {
			var want inventory.Quantity
			for _, l := range lines {
				want.Sure += l.At(on).Sure
				want.Maybe += l.At(on).Maybe
			}
			if got := sum.At(on); got != want {
				t.Fatalf("%s: %+v, want %+v", on, got, want)
			}
		}
	})
}

// TestLabelsAndExtensions: dates on labels and regulators' notices.
func TestLabelsAndExtensions(t *testing.T) {
	extended := []inventory.Extension{
		{Noticed: d("2008-10-20"), Until: d("2009-10-31"), Reference: "first"},
		{Noticed: d("2009-10-20"), Until: d("2010-10-31"), Reference: "second"},
		{Noticed: d("2010-10-22"), Until: d("2011-10-31"), Reference: "notice of 22 Oct 2010"},
	}
	const lots = "Micrurus fulvius antivenin, lots 4030026 and 4030024: RAPS 17 Oct 2013, society notice of 2010 quoting the FDA's of 22 Oct 2010 (R2); days of the first two notices invented"
	const month = "USP chapter 7, labelling: month and year alone mean the last day of the month (R2)"
	for _, c := range []struct {
		name       string
		label      string
		extensions []inventory.Extension
		on         string
		want       int
		source     string
	}{
		{"03/2023 on its last day", "03/2023", nil, "2023-03-31", 4, month},
		{"03/2023 a day later", "03/2023", nil, "2023-04-01", 0, month},
		{"02/2028 is a leap year's", "02/2028", nil, "2028-02-29", 4, month},
		{"02/2028 a day later", "02/2028", nil, "2028-03-01", 0, month},
		{"E3: EXP 2026-02", "2026-02", nil, "2026-02-28", 4, "worked example E3 of this project's job description, common practice, no source"},
		{"E3: a day later", "2026-02", nil, "2026-03-01", 0, "worked example E3 of this project's job description, common practice, no source"},
		{"lot 4030026, three notices in a row leave no gap", "2008-10-31", extended, "2010-10-31", 4, lots},
		{"lot 4030026 with the notice of 2010", "2008-10-31", extended, "2010-11-15", 4, lots},
		{"lot 4030026 without it", "2008-10-31", extended[:2], "2010-11-15", 0, lots},
		{"lot 4030026 on the notice's last day", "2008-10-31", extended, "2011-10-31", 4, lots},
		{"lot 4030026 a day later", "2008-10-31", extended, "2011-11-01", 0, lots},
		{"lot 4030024 by letter of 2012, on its last day", "2008-10-31", []inventory.Extension{{Noticed: d("2012-12-07"), Until: d("2014-04-30"), Reference: "letter"}}, "2014-04-30", 4, lots},
		{"lot 4030024 a day later", "2008-10-31", []inventory.Extension{{Noticed: d("2012-12-07"), Until: d("2014-04-30"), Reference: "letter"}}, "2014-05-01", 0, lots},
		{"lot 4030024 a day before the letter was expired", "2008-10-31", []inventory.Extension{{Noticed: d("2012-12-07"), Until: d("2014-04-30"), Reference: "letter"}}, "2012-12-06", 0, lots},
	} {
		t.Run(c.name, func(t *testing.T) {
			last, _, err := day.ParseLabelEnd(c.label)
			if err != nil {
				t.Fatal(err)
			}
			l := inventory.Lot{ID: numbered(1), Product: numbered(2), Number: "L", Labelled: day.Until(last), Extensions: c.extensions,
				Movements: []inventory.Movement{{On: d("2006-01-01"), Place: fridge, Vials: 4, Reason: inventory.Received}}}
			if got := l.Usable(inFridge).At(d(c.on)); got != (inventory.Quantity{Sure: c.want, Maybe: c.want}) {
				t.Errorf("%+v usable, want %d (%s)", got, c.want, c.source)
			}
		})
	}
}

// TestOneLotsExtensionIsNoOthers: an extension is of that very lot.
func TestOneLotsExtensionIsNoOthers(t *testing.T) {
	received := []inventory.Movement{{On: d("2006-01-01"), Place: fridge, Vials: 4, Reason: inventory.Received}}
	a := inventory.Lot{ID: numbered(1), Product: numbered(9), Number: "4030026", Labelled: day.Until(d("2008-10-31")), Movements: received,
		Extensions: []inventory.Extension{{Noticed: d("2013-10-01"), Until: d("2014-10-31"), Reference: "Oct 2013"}}}
	b := inventory.Lot{ID: numbered(2), Product: numbered(9), Number: "4030024", Labelled: day.Until(d("2008-10-31")), Movements: received}
	sum := inventory.Sum([]day.Line[inventory.Quantity]{a.Usable(inFridge), b.Usable(inFridge)})
	if got := sum.At(d("2014-05-01")); got.Maybe != 4 {
		t.Errorf("%+v usable, want the 4 of lot 4030026 (RAPS 17 Oct 2013, R2)", got)
	}
}
