package inventory_test

import (
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

var (
	north, south = inventory.ID{11}, inventory.ID{12}
	siteByCage   = map[inventory.ID]inventory.ID{{21}: north, {22}: north, {23}: south}
)

func siteOf(enclosure inventory.ID) inventory.ID {
	if site, ok := siteByCage[enclosure]; ok {
		return site
	}
	return inventory.Nowhere
}

// heldOn answers for one day: from the arrival on (where it is not recorded,
// since the first stay, and without one since ever), not on the day on which
// it leaves, in the enclosure of the last stay that had begun.
func heldOn(a inventory.Animal, on day.Day) inventory.ID {
	here := a.Arrived
	if here.IsZero() && len(a.Stays) > 0 {
		here = a.Stays[0].From
	}
	if on < max(here, day.First) || a.Left != nil && on >= a.Left.On {
		return inventory.ID{}
	}
	at := inventory.Nowhere
	for _, s := range a.Stays {
		if s.From <= on {
			at = siteOf(s.Enclosure)
		}
	}
	return at
}

func TestHeldAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := inventory.Animal{ID: numbered(1), Accession: "A", Species: numbered(2)}
		if rapid.Bool().Draw(t, "arrival recorded") {
			a.Arrived = someDay(t, "arrived")
		}
		if rapid.Bool().Draw(t, "left?") {
			a.Left = &inventory.Disposition{How: inventory.Transferred, On: someDay(t, "left")}
		}
		on := origin
		for range rapid.IntRange(0, 3).Draw(t, "stays") {
			on = on.Add(rapid.IntRange(0, 20).Draw(t, "stays after"))
			cage := rapid.SampledFrom([]inventory.ID{{21}, {22}, {23}, {99}}).Draw(t, "cage")
			a.Stays = append(a.Stays, inventory.Stay{Enclosure: cage, From: on})
		}
		if err := a.Check(); err != nil {
			t.Skip("the records refuse it: ", err)
		}
		line := a.Held(siteOf)
		for on := origin - 2; on <= origin.Add(stretch+10); on++ {
			if got, want := line.At(on), heldOn(a, on); got != want {
				t.Fatalf("%s: at %v, want %v\n%+v %+v", on, got, want, a, a.Left)
			}
		}
	})
}

// TestNotHeldOnTheDayItLeaves: the smaller readings of the design.
func TestNotHeldOnTheDayItLeaves(t *testing.T) {
	stay := []inventory.Stay{{Enclosure: inventory.ID{21}, From: d("2026-03-01")}}
	for _, c := range []struct {
		name   string
		animal inventory.Animal
		on     string
		want   inventory.ID
	}{
		{"the day before it arrives", inventory.Animal{Arrived: d("2026-03-01"), Stays: stay}, "2026-02-28", inventory.ID{}},
		{"the day on which it arrives", inventory.Animal{Arrived: d("2026-03-01"), Stays: stay}, "2026-03-01", north},
		{"the day before it leaves", inventory.Animal{Arrived: d("2026-03-01"), Stays: stay, Left: &inventory.Disposition{How: inventory.Died, On: d("2026-04-01")}}, "2026-03-31", north},
		{"the day on which it leaves", inventory.Animal{Arrived: d("2026-03-01"), Stays: stay, Left: &inventory.Disposition{How: inventory.Died, On: d("2026-04-01")}}, "2026-04-01", inventory.ID{}},
		{"here and gone on one day", inventory.Animal{Arrived: d("2026-03-01"), Stays: stay, Left: &inventory.Disposition{How: inventory.Died, On: d("2026-03-01")}}, "2026-03-01", inventory.ID{}},
		{"no enclosure is recorded", inventory.Animal{Arrived: d("2026-03-01")}, "2026-03-02", inventory.Nowhere},
		{"the enclosure is not recorded", inventory.Animal{Arrived: d("2026-03-01"), Stays: []inventory.Stay{{Enclosure: inventory.ID{99}, From: d("2026-03-01")}}}, "2026-03-02", inventory.Nowhere},
		{"nobody knows when it came", inventory.Animal{}, "1950-01-01", inventory.Nowhere},
	} {
		if got := c.animal.Held(siteOf).At(d(c.on)); got != c.want {
			t.Errorf("%s: at %v, want %v", c.name, got, c.want)
		}
	}
}
