package inventory_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// good is a lot of which 10 vials count for sure in the fridge on bite.
func good() inventory.Lot {
	return inventory.Lot{ID: numbered(1), Product: numbered(2), Number: "L", Labelled: day.Until(d("2027-06-30")),
		Movements: []inventory.Movement{{On: origin, Place: fridge, Vials: 10, Reason: inventory.Received, Condition: inventory.Checked}}}
}

var bite = origin.Add(30)

// TestNothingDoubtfulIsCountedOn tries each way in which vials that are there,
// or were, do not count for sure.
func TestNothingDoubtfulIsCountedOn(t *testing.T) {
	gone := func(reason inventory.Reason, loan int) func(*inventory.Lot) {
		return func(l *inventory.Lot) {
			l.Loans = []inventory.Loan{{Number: 1, Borrower: "Tern Hospital", Due: bite.Add(60)}}
			*l = l.Put(inventory.Movement{On: bite, Place: fridge, Vials: -10, Reason: reason, Condition: inventory.Checked, Loan: loan})
		}
	}
	in := func(c inventory.Condition) func(*inventory.Lot) {
		return func(l *inventory.Lot) { l.Movements[0].Condition = c }
	}
	for name, c := range map[string]struct {
		but   func(*inventory.Lot)
		maybe int
	}{
		"expired":                 {func(l *inventory.Lot) { l.Labelled = day.Until(bite - 1) }, 0},
		"end unknown":             {func(l *inventory.Lot) { l.Labelled = day.End{} }, 10},
		"recalled":                {func(l *inventory.Lot) { l.Holds = []inventory.Hold{{From: bite, Why: "recall"}} }, 0},
		"held where it is":        {func(l *inventory.Lot) { l.Holds = []inventory.Hold{{From: bite, Why: "warm", Place: fridge}} }, 0},
		"held in a released hold": {func(l *inventory.Lot) { l.Holds = []inventory.Hold{{From: bite, Released: bite, Why: "warm"}} }, 0},
		"lent":                    {gone(inventory.LentOut, 1), 0},
		"used":                    {gone(inventory.Used, 0), 0},
		"discarded":               {gone(inventory.Discarded, 0), 0},
		"promised": {func(l *inventory.Lot) {
			l.Promises = []inventory.Promise{{Number: 1, From: bite, Place: fridge, Vials: 10, To: "Tern Hospital"}}
		}, 0},
		"promised more than is there": {func(l *inventory.Lot) {
			l.Promises = []inventory.Promise{{Number: 1, From: bite, Place: fridge, Vials: 99, To: "Tern Hospital"}}
		}, 0},
		"unchecked":            {in(inventory.Unchecked), 10},
		"of unknown condition": {in(""), 10},
		"unfit":                {in(inventory.Unfit), 0},
		"a reserve":            {in(inventory.Reserve), 0},
		"elsewhere":            {func(l *inventory.Lot) { l.Movements[0].Place = bag }, 0},
		"not there yet":        {func(l *inventory.Lot) { l.Movements[0].On = bite + 1 }, 0},
	} {
		l := good()
		if q := l.Usable(inFridge).At(bite); q != (inventory.Quantity{Sure: 10, Maybe: 10}) {
			t.Fatalf("without anything: %+v", q)
		}
		c.but(&l)
		if err := l.Check(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if q := l.Usable(inFridge).At(bite); q != (inventory.Quantity{Maybe: c.maybe}) {
			t.Errorf("%s: %+v, want none for sure and at most %d", name, q, c.maybe)
		}
	}
}

// TestTheBookBalances: whatever happens, what is in the places and what stands
// on the other sides is nothing together, and no account is below nothing.
func TestTheBookBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := someLot(t)
		for on := origin - 1; on <= origin.Add(stretch+20); on++ {
			sum := 0
			for _, n := range l.Against(on) {
				sum += n
			}
			for _, place := range l.Places() {
				for c, n := range l.There(place, on) {
					if sum += n; n < 0 {
						t.Fatalf("%d %s vials on %s\n%+v", n, c, on, l)
					}
				}
			}
			if sum != 0 {
				t.Fatalf("the book is out by %d on %s\n%+v", sum, on, l)
			}
		}
	})
}

// TestWhatTheBookRefuses.
func TestWhatTheBookRefuses(t *testing.T) {
	move := func(on day.Day, place inventory.ID, vials int, reason inventory.Reason, of inventory.Condition) inventory.Movement {
		return inventory.Movement{On: on, Place: place, Vials: vials, Reason: reason, Condition: of}
	}
	lent := move(bite, fridge, -2, inventory.LentOut, inventory.Checked)
	lent.Loan = 1
	back := move(bite+1, fridge, 3, inventory.Returned, inventory.Unchecked)
	back.Loan = 1
	self := move(bite, fridge, -1, inventory.Discarded, inventory.Checked)
	self.By, self.Witness = numbered(7), numbered(7)
	for name, c := range map[string]struct {
		add  []inventory.Movement
		want string // empty: it is taken
	}{
		"more of one condition than there is": {[]inventory.Movement{move(bite, fridge, -1, inventory.Used, inventory.Unchecked)}, "take more unchecked vials"},
		"left, and came nowhere":              {[]inventory.Movement{move(bite, fridge, -3, inventory.Moved, inventory.Checked)}, "add up to -3"},
		"came a day later":                    {[]inventory.Movement{move(bite, fridge, -3, inventory.Moved, inventory.Checked), move(bite+1, bag, 3, inventory.Moved, inventory.Checked)}, "add up to"},
		"became better on the way":            {[]inventory.Movement{move(bite, fridge, -3, inventory.Moved, inventory.Checked), move(bite, bag, 3, inventory.Moved, inventory.Reserve)}, "add up to"},
		"moved by changing its condition":     {[]inventory.Movement{move(bite, fridge, -3, inventory.ConditionChanged, inventory.Checked), move(bite, bag, 3, inventory.ConditionChanged, inventory.Unfit)}, "add up to"},
		"moved":                               {[]inventory.Movement{move(bite, fridge, -3, inventory.Moved, inventory.Checked), move(bite, bag, 3, inventory.Moved, inventory.Checked)}, ""},
		"found unfit":                         {[]inventory.Movement{move(bite, fridge, -3, inventory.ConditionChanged, inventory.Checked), move(bite, fridge, 3, inventory.ConditionChanged, inventory.Unfit)}, ""},
		"a condition that there is not":       {[]inventory.Movement{move(bite, fridge, 1, inventory.Received, "fine")}, "not allowed"},
		"more came back than was lent":        {[]inventory.Movement{lent, back}, "more of loan 1"},
		"used of a loan":                      {[]inventory.Movement{{On: bite, Place: fridge, Vials: -1, Reason: inventory.Used, Condition: inventory.Checked, Loan: 1}}, "loan 1"},
		"his own witness":                     {[]inventory.Movement{self}, "nobody witnesses himself"},
	} {
		l := good()
		l.Loans = []inventory.Loan{{Number: 1, Borrower: "Tern Hospital"}}
		err := l.Put(c.add...).Check()
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// TestALoanIsPlannedUntilItIsDue, and never counts once it is overdue.
func TestALoanIsPlannedUntilItIsDue(t *testing.T) {
	due := bite.Add(10)
	l := good()
	l.Loans = []inventory.Loan{{Number: 1, Borrower: "Tern Hospital", Due: due}, {Number: 2, Borrower: "Wren Clinic"}}
	l = l.Put(inventory.Movement{On: bite, Place: fridge, Vials: -6, Reason: inventory.LentOut, Condition: inventory.Checked, Loan: 1},
		inventory.Movement{On: bite, Place: fridge, Vials: -3, Reason: inventory.LentOut, Condition: inventory.Checked, Loan: 2},
		inventory.Movement{On: bite + 2, Place: fridge, Vials: 2, Reason: inventory.Returned, Condition: inventory.Unchecked, Loan: 1})
	if err := l.Check(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		today, on day.Day
		want      int
	}{
		{"the day before it is due", bite + 3, due - 1, 0},
		{"on the day", bite + 3, due, 4},
		{"while the lot is in date", bite + 3, d("2027-06-30"), 4},
		{"when the lot is expired", bite + 3, d("2027-07-01"), 0},
		{"before some came back", bite + 1, due, 6},
		{"on the due day itself", due, due, 4},
		{"overdue", due + 1, due + 1, 0},
		{"overdue, later", due + 1, due + 90, 0},
	} {
		if got := l.DueBack(c.today).At(c.on); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
	if got := l.Outstanding(2, bite+3); got != 3 {
		t.Errorf("%d of loan 2 are out, want 3", got)
	}
}

// TestACountAdjusts to what was found, and leaves no condition below nothing.
func TestACountAdjusts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := someLot(t)
		on := origin.Add(stretch + 40)
		var f inventory.Found
		if rapid.Bool().Draw(t, "by condition?") {
			f.By = make(map[inventory.Condition]int)
			for _, c := range inventory.Conditions {
				f.By[c] = rapid.IntRange(0, 5).Draw(t, c.String())
				f.Vials += f.By[c]
			}
		} else {
			f.Vials = rapid.IntRange(0, 30).Draw(t, "vials")
		}
		was := l.There(fridge, on)
		after := l.Put(l.Adjusted(fridge, on, f, inventory.Unchecked)...)
		if err := after.Check(); err != nil {
			t.Fatal(err)
		}
		n := 0
		for c, vials := range after.There(fridge, on) {
			if n += vials; f.By != nil && vials != f.By[c] || f.By == nil && c != inventory.Unchecked && vials > was[c] {
				t.Fatalf("%d %s vials after %+v, where there were %v", vials, c, f, was)
			}
		}
		if n != f.Vials {
			t.Fatalf("%d vials, %d were found", n, f.Vials)
		}
	})
}
