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
// Checked vials count for sure, unchecked ones and those of unknown condition
// may count, unfit ones and the reserve do not. In date is by the label or by a
// regulator's extension from its notice on. A hold bites from its day, of the
// whole lot or of the place; a release counts from its own, but on the day of
// the hold the hold wins. What is promised there is taken off, not below
// nothing.
func oneDay(l inventory.Lot, on day.Day) inventory.Quantity {
	var q inventory.Quantity
	for _, m := range l.Movements {
		if m.Place != fridge || m.On > on || m.Condition == inventory.Unfit || m.Condition == inventory.Reserve {
			continue
		}
		if m.Condition == inventory.Checked {
			q.Sure += m.Vials
		}
		q.Maybe += m.Vials
	}
	for _, h := range l.Holds {
		if h.Place == bag {
			continue
		}
		if on == h.From || on > h.From && (h.Released.IsZero() || on < h.Released) {
			return inventory.Quantity{}
		}
	}
	last, known := l.Labelled.Known()
	in := known && on <= last
	for _, e := range l.Extensions {
		in = in || e.Noticed <= on && on <= e.Until
	}
	if !in && known {
		return inventory.Quantity{}
	}
	if !in {
		q.Sure = 0
	}
	for _, p := range l.Promises {
		runs := on >= p.From && (p.Until.IsZero() || on <= p.Until) && (p.Ended.IsZero() || on < p.Ended)
		if p.Place == fridge && (runs || on == p.From) {
			q.Sure, q.Maybe = max(q.Sure-p.Vials, 0), max(q.Maybe-p.Vials, 0)
		}
	}
	return q
}

var somePlace = rapid.SampledFrom([]inventory.ID{fridge, bag})

// someLot is any lot that the records accept.
func someLot(t *rapid.T) inventory.Lot {
	l := inventory.Lot{ID: numbered(1), Product: numbered(2), Number: "L"}
	if rapid.IntRange(0, 3).Draw(t, "label read") > 0 {
		l.Labelled = day.Until(someDay(t, "labelled"))
	}
	for range rapid.IntRange(0, 2).Draw(t, "holds") {
		h := inventory.Hold{From: someDay(t, "held"), Why: "recall", Place: rapid.SampledFrom([]inventory.ID{{}, fridge, bag}).Draw(t, "held at")}
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
	for i := range rapid.IntRange(0, 2).Draw(t, "promises") {
		p := inventory.Promise{Number: i + 1, From: someDay(t, "promised"), Place: somePlace.Draw(t, "promised at"), Vials: rapid.IntRange(1, 9).Draw(t, "promised vials"), To: "Tern Hospital"}
		if rapid.Bool().Draw(t, "until?") {
			p.Until = p.From.Add(rapid.IntRange(0, 20).Draw(t, "promised for"))
		}
		if rapid.Bool().Draw(t, "ended?") {
			p.Ended = p.From.Add(rapid.IntRange(0, 20).Draw(t, "ended after"))
		}
		l.Promises = append(l.Promises, p)
	}
	on := origin
	for range rapid.IntRange(0, 6).Draw(t, "movements") {
		on = on.Add(rapid.IntRange(0, 12).Draw(t, "moved after"))
		l = l.Put(someMovements(t, l, on)...)
	}
	return l
}

// someMovements are those of one thing that happens to a lot.
func someMovements(t *rapid.T, l inventory.Lot, on day.Day) []inventory.Movement {
	m := inventory.Movement{On: on, Place: somePlace.Draw(t, "place"), Reason: inventory.Counted, Condition: rapid.SampledFrom(inventory.Conditions).Draw(t, "condition")}
	there := l.There(m.Place, on)[m.Condition]
	m.Vials = rapid.IntRange(-there, 9).Draw(t, "vials")
	other := m
	other.Vials = -m.Vials
	switch {
	case m.Vials >= 0:
		return []inventory.Movement{m}
	case rapid.Bool().Draw(t, "moved?"):
		m.Reason, other.Reason, other.Place = inventory.Moved, inventory.Moved, somePlace.Draw(t, "to")
	default:
		m.Reason, other.Reason, other.Condition = inventory.ConditionChanged, inventory.ConditionChanged, rapid.SampledFrom(inventory.Conditions).Draw(t, "becomes")
	}
	return []inventory.Movement{m, other}
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

// TestUncheckedIsWhatALookWouldAdd: by the day's definition, with each vial that
// nobody has looked at taken for a checked one; never more than may be usable.
func TestUncheckedIsWhatALookWouldAdd(t *testing.T) {
	some := false
	rapid.Check(t, func(t *rapid.T) {
		l := someLot(t)
		looked := l
		looked.Movements = nil
		for _, m := range l.Movements {
			if m.Condition == inventory.Unchecked {
				m.Condition = inventory.Checked
			}
			looked.Movements = append(looked.Movements, m)
		}
		line := l.Unchecked(inFridge)
		for on := origin - 2; on <= origin.Add(stretch+60); on++ {
			now, then, got := oneDay(l, on), oneDay(looked, on), line.At(on)
			if got != then.Sure-now.Sure || got < 0 || now.Sure+got > now.Maybe {
				t.Fatalf("%s: %d, want %d of %+v\n%+v", on, got, then.Sure-now.Sure, now, l)
			}
			some = some || got > 0
		}
	})
	if !some {
		t.Error("no lot had any")
	}
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
		l.Holds, l.Promises = nil, nil
		l.Movements = []inventory.Movement{{On: origin, Place: fridge, Vials: 3, Reason: inventory.Received, Condition: inventory.Checked}}
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
				Movements: []inventory.Movement{{On: d("2006-01-01"), Place: fridge, Vials: 4, Reason: inventory.Received, Condition: inventory.Checked}}}
			if got := l.Usable(inFridge).At(d(c.on)); got != (inventory.Quantity{Sure: c.want, Maybe: c.want}) {
				t.Errorf("%+v usable, want %d (%s)", got, c.want, c.source)
			}
		})
	}
}

// TestOneLotsExtensionIsNoOthers: an extension is of that very lot.
func TestOneLotsExtensionIsNoOthers(t *testing.T) {
	received := []inventory.Movement{{On: d("2006-01-01"), Place: fridge, Vials: 4, Reason: inventory.Received, Condition: inventory.Checked}}
	a := inventory.Lot{ID: numbered(1), Product: numbered(9), Number: "4030026", Labelled: day.Until(d("2008-10-31")), Movements: received,
		Extensions: []inventory.Extension{{Noticed: d("2013-10-01"), Until: d("2014-10-31"), Reference: "Oct 2013"}}}
	b := inventory.Lot{ID: numbered(2), Product: numbered(9), Number: "4030024", Labelled: day.Until(d("2008-10-31")), Movements: received}
	sum := inventory.Sum([]day.Line[inventory.Quantity]{a.Usable(inFridge), b.Usable(inFridge)})
	if got := sum.At(d("2014-05-01")); got.Maybe != 4 {
		t.Errorf("%+v usable, want the 4 of lot 4030026 (RAPS 17 Oct 2013, R2)", got)
	}
}
