package demo

import (
	"testing"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestHandlingIsAsItSays: every grant holds, and of all sessions one waits, one
// was signed too late and two were at the same time.
func TestHandlingIsAsItSays(t *testing.T) {
	book := shipped(t)
	for _, text := range []string{*asked, "2026-03-01", "2027-12-31"} {
		today := day.MustParse(text)
		v := evaluate(t, book, House(today, book.Holidays), today, 12).View
		s := v.Standings(siteID(larkspur))
		got := make(map[ladder.Status]int)
		for p := range v.People.All() {
			for _, x := range s.Sessions(p.ID) {
				got[x.Worst]++
			}
			for _, x := range s.Acts(p.ID) {
				if x.Held() != inventory.Yes {
					t.Errorf("on %s: %s of %s: %v", today, x.Name(), p.Called, x.Worst)
				}
			}
		}
		watched, alone := got[ladder.Counts], got[ladder.CountsAlone]
		delete(got, ladder.Counts)
		delete(got, ladder.CountsAlone)
		if watched < 30 || alone < 15 || len(got) != 3 || got[ladder.Unsigned] != 1 || got[ladder.SignedLate] != 1 || got[ladder.TraineeBusy] != 2 {
			t.Errorf("on %s: %d under a mentor and %d alone count, of the others %v", today, watched, alone, got)
		}
	}
}
