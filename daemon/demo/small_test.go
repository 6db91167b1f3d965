package demo

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

var smallLooks = []look{
	{"order by", key(cover, holding("Naja kaouthia", thornbury)), 0, fine, compliance.Covered, compliance.OrderAntivenom, weekdayBefore(331 - orderLead)},
	{"order by", key(cover, holding("Naja kaouthia", thornbury)), 331, bad, compliance.NoneInStock, compliance.ReplaceAntivenom, weekdayBefore(331 - orderLead)},
	{"alone", key("hands", holding("Naja kaouthia", thornbury)), 0, bad, compliance.HandsTooFew, compliance.BringOn, nil},
	{"drill", key("drill.bite", siteRef(thornbury)), 0, bad, compliance.Overdue, compliance.HoldActivity, halfAYear(-230)},
}

func TestSmallHouseShowsItsCasesAndNothingElse(t *testing.T) {
	book := shipped(t)
	want := []string{ // sorted
		"covered: Naja kaouthia at Thornbury Lane",
		"hands-too-few: Crotalus atrox at Thornbury Lane",
		"hands-too-few: Naja kaouthia at Thornbury Lane",
		"hands-too-few: Vipera berus at Thornbury Lane",
		"overdue: Thornbury Lane",
		"short-together: Thornbury Lane",
	}
	for today := range days(t) {
		r := evaluate(t, book, Small(today, book.Holidays), today, 12)
		b := newBuilder(today, book.Holidays)
		for _, l := range smallLooks {
			l.check(t, r, b)
		}
		if diff := cmp.Diff(want, needed(r)); diff != "" {
			t.Fatalf("on %s (-want +got):\n%s", today, diff)
		}
	}
}

// One person keeps it; the other is the second contact, outside.
func TestSmallHouseIsOnePersonWithoutMail(t *testing.T) {
	book := shipped(t)
	today := day.MustParse(*asked)
	v := evaluate(t, book, Small(today, book.Holidays), today, 12).View
	if v.House().Mailed || v.People.Len() != 2 || v.Animals.Len() != 8 {
		t.Fatalf("mail %v, %d people, %d animals", v.House().Mailed, v.People.Len(), v.Animals.Len())
	}
	for p := range v.People.All() {
		if p.Email != "" {
			t.Errorf("%s has an address", p.Called)
		}
	}
}
