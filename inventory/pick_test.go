package inventory_test

import (
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

func lotOf(number string, ends day.End, received day.Day, vials int) *inventory.Lot {
	return &inventory.Lot{ID: inventory.NewID(), Product: numbered(2), Number: number, Labelled: ends,
		Movements: []inventory.Movement{{On: received, Place: fridge, Vials: vials, Reason: inventory.Received, Condition: inventory.Checked}}}
}

func want(t *testing.T, name string, got []inventory.Picked, want ...inventory.Picked) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d lots, want %d: %+v", name, len(got), len(want), got)
		return
	}
	for i := range want {
		if got[i].Lot.Number != want[i].Lot.Number || got[i].Vials != want[i].Vials {
			t.Errorf("%s: %d of %s, want %d of %s", name, got[i].Vials, got[i].Lot.Number, want[i].Vials, want[i].Lot.Number)
		}
	}
}

// TestWhatEndsFirstGoesFirst. ST-5: first expiry first out, WHO TRS 908 annex
// 9, 2003 (the title is from memory; the vector is this project's own).
func TestWhatEndsFirstGoesFirst(t *testing.T) {
	on := d("2026-06-01")
	a := lotOf("A", day.Until(d("2027-03-31")), d("2025-01-01"), 6)
	b := lotOf("B", day.Until(d("2026-12-31")), d("2025-06-01"), 8)
	got := inventory.Pick([]*inventory.Lot{a, b}, inFridge, 10, on)
	want(t, "ST-5", got.Take, inventory.Picked{Lot: b, Vials: 8}, inventory.Picked{Lot: a, Vials: 2})
	if got.Short != 0 || len(got.Doubtful) != 0 {
		t.Errorf("ST-5: %+v", got)
	}

	later := lotOf("C", day.Until(d("2026-12-31")), d("2025-07-01"), 2)
	same := lotOf("AA", day.Until(d("2026-12-31")), d("2025-06-01"), 1)
	got = inventory.Pick([]*inventory.Lot{later, b, same}, inFridge, 10, on)
	want(t, "equal ends go by the day they came, then by number", got.Take, inventory.Picked{Lot: same, Vials: 1}, inventory.Picked{Lot: b, Vials: 8}, inventory.Picked{Lot: later, Vials: 1})

	unread := lotOf("U", day.End{}, d("2024-01-01"), 5)
	unseen := lotOf("V", day.Until(d("2026-07-01")), d("2024-01-01"), 5)
	unseen.Movements[0].Condition = inventory.Unchecked
	expired := lotOf("X", day.Until(d("2026-05-31")), d("2024-01-01"), 5)
	got = inventory.Pick([]*inventory.Lot{unread, unseen, expired, b}, inFridge, 10, on)
	want(t, "doubtful ones are never picked", got.Take, inventory.Picked{Lot: b, Vials: 8})
	want(t, "doubtful ones are named", got.Doubtful, inventory.Picked{Lot: unseen, Vials: 5}, inventory.Picked{Lot: unread, Vials: 5})
	if got.Short != 2 {
		t.Errorf("short by %d, want 2", got.Short)
	}

	extended := lotOf("E", day.Until(d("2026-05-01")), d("2024-01-01"), 3)
	extended.Extensions = []inventory.Extension{{Noticed: d("2026-04-01"), Until: d("2028-04-30"), Reference: "notice"}}
	got = inventory.Pick([]*inventory.Lot{extended, b}, inFridge, 9, on)
	want(t, "an extended lot goes by its extended end", got.Take, inventory.Picked{Lot: b, Vials: 8}, inventory.Picked{Lot: extended, Vials: 1})
}

// TestAPickIsOfWhatIsThere: it takes as many as are asked for or all that are
// sure, never more of a lot at a place than counts, and nothing that ends later
// while something that ends sooner is left.
func TestAPickIsOfWhatIsThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := make([]*inventory.Lot, rapid.IntRange(0, 4).Draw(t, "lots"))
		for i := range lots {
			l := someLot(t)
			l.ID = numbered(i + 1)
			lots[i] = &l
		}
		on, vials := someDay(t, "on"), rapid.IntRange(0, 20).Draw(t, "vials")
		anywhere := func(inventory.ID) bool { return true }
		got := inventory.Pick(lots, anywhere, vials, on)
		sure, took := 0, 0
		for _, l := range lots {
			sure += l.Usable(anywhere).At(on).Sure
		}
		for i, p := range got.Take {
			took += p.Vials
			counts := p.Lot.Usable(func(place inventory.ID) bool { return place == p.Place }).At(on).Sure
			if p.Vials < 1 || p.Vials > counts || i < len(got.Take)-1 && p.Vials != counts {
				t.Fatalf("%d of %d are taken", p.Vials, counts)
			}
			if i > 0 && p.End.On < got.Take[i-1].End.On {
				t.Fatalf("%s goes after %s", p.End, got.Take[i-1].End)
			}
		}
		if took != min(vials, sure) || got.Short != vials-took {
			t.Fatalf("%d taken and short by %d, of %d wanted and %d sure", took, got.Short, vials, sure)
		}
	})
}
