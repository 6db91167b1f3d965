package demo

import (
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// look is what a case must show.
type look struct {
	of       string // name of the case
	key      compliance.Key
	after    int // days from today
	standing compliance.Standing
	state    compliance.Code
	do       compliance.Code
	by       func(*builder) day.Day // nil: at once
}

// in gives a day by its distance from today.
func in(days int) func(*builder) day.Day {
	return func(b *builder) day.Day { return b.in(days) }
}

// halfAYear is when an activity that many days ago runs out.
func halfAYear(after int) func(*builder) day.Day {
	return func(b *builder) day.Day { return b.in(after).AddMonths(6) }
}

// yearAfter is the last day of the year that a day began.
func yearAfter(days int) func(*builder) day.Day {
	return func(b *builder) day.Day { return b.in(days).AddMonths(12) }
}

// weekdayBefore is a day, or the Friday before it on a weekend.
func weekdayBefore(days int) func(*builder) day.Day {
	return func(b *builder) day.Day {
		d := b.in(days)
		for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
			d--
		}
		return d
	}
}

// anyDay accepts whatever day; another test looks at it.
func anyDay(*builder) day.Day { return 0 }

const (
	fine    = compliance.InOrder
	unknown = compliance.CannotTell
	bad     = compliance.OutOfOrder
)

const (
	federal = "paper.wildlife-permit"
	licence = "paper.dwa-licence"
	cover   = "cover"
)

// orderLead is what the quickest offer for the lot that ends takes, or where
// there is no offer the product's own lead, and the margin of the guidance.
const orderLead = 240 + 30

var looks = []look{
	{"long weekend", key(federal, animalRef("LH-019")), 0, fine, compliance.InForce, compliance.FileRenewal, anyDay},
	{"lapsed", key(federal, animalRef("LH-040")), 0, bad, compliance.Lapsed, compliance.FileRenewal, anyDay},
	{"continued", key(federal, animalRef("LH-021")), 0, fine, compliance.PendingContinued, compliance.ChaseDecision, nil},
	{"not covered", key(federal, animalRef("LH-023")), 0, bad, compliance.PendingNotCovered, compliance.ChaseDecision, nil},
	{"void", key("paper.trade-document", permitRef("CD-201")), 0, bad, compliance.VoidOnExpiry, compliance.ChaseDecision, nil},
	{"over number", key(federal, animalRef("LH-034")), 0, bad, compliance.OverNumber, compliance.ReduceNumber, nil},
	{"let end", key(licence, animalRef("WC-010")), 0, fine, compliance.InForce, compliance.StopBeforeEnd, in(48)},
	{"let end", key(licence, animalRef("WC-010")), 49, bad, compliance.Lapsed, compliance.StopBeforeEnd, in(48)},
	{"arrival", key(licence, animalRef("WC-013")), 0, fine, compliance.InForce, compliance.FileRenewal, anyDay},
	{"arrival", key(licence, animalRef("WC-013")), 75, bad, compliance.OverNumber, compliance.ReduceNumber, nil},
	{"scope unknown", key(federal, animalRef("LH-014")), 0, unknown, compliance.ScopeUnknown, compliance.ObtainPaper, nil},
	{"order by", key(cover, holding("Calloselasma rhodostoma", larkspur)), 0, fine, compliance.Covered, compliance.OrderAntivenom, weekdayBefore(331 - orderLead)},
	{"order by", key(cover, holding("Calloselasma rhodostoma", larkspur)), 331, bad, compliance.InitialOnly, compliance.ReplaceAntivenom, weekdayBefore(331 - orderLead)},
	{"on its way", key(cover, holding("Ophiophagus hannah", larkspur)), 0, fine, compliance.Covered, compliance.ChaseOrder, in(330)},
	{"on its way", key(cover, holding("Ophiophagus hannah", larkspur)), 331, bad, compliance.InitialOnly, compliance.ChaseOrder, in(331)},
	{"approved", key(cover, holding("Thelotornis capensis", larkspur)), 0, fine, compliance.UncoverableApproved, "", nil},
	{"not approved", key(cover, holding("Atractaspis bibronii", tamarind)), 0, bad, compliance.Uncoverable, compliance.ApproveOrMove, nil},
	{"excluded", key(cover, holding("Micruroides euryxanthus", larkspur)), 0, bad, compliance.StatedIneffective, compliance.ReplaceAntivenom, nil},
	{"elsewhere", key(cover, holding("Bitis arietans", tamarind)), 0, bad, compliance.NoneInStock, compliance.ReplaceAntivenom, nil},
	{"stale", key(cover, holding("Vipera berus", wren)), 0, unknown, compliance.ListStale, compliance.ConfirmList, in(35 - 49)},
	{"drill", key("drill.bite", siteRef(wren)), 0, bad, compliance.Overdue, compliance.HoldActivity, halfAYear(-260)},
	{"no law pack", key("law-pack", siteRef(tamarind)), 0, unknown, compliance.NoLawPack, compliance.AddLawPack, nil},
	{"not watched", key("paper.kept", permitRef("AI-422")), 0, unknown, compliance.NotWatchedYet, compliance.WatchIt, in(30)},
	{"certificate", key("certificate.first-aid", personRef(bram)), 0, fine, compliance.Done, compliance.HoldActivity, in(27)},
	{"certificate", key("authorisation", personRef(bram)), 0, fine, compliance.AuthorisationCurrent, compliance.KeepCurrent, in(27)},
	{"certificate", key("authorisation", personRef(bram)), 28, bad, compliance.AuthorisationLapsed, compliance.KeepCurrent, anyDay},
	{"lapses", key("authorisation", personRef(juno)), 0, fine, compliance.AuthorisationCurrent, compliance.KeepCurrent, yearAfter(-342)},
	{"lapses", key("hands", holding("Ophiophagus hannah", larkspur)), 30, fine, compliance.HandsEnough, compliance.BringOn, anyDay},
	{"two people", key("hands", holding("Atractaspis bibronii", tamarind)), 0, fine, compliance.HandsEnough, compliance.BringOn, in(70)},
}

// check says what of a look does not hold.
func (l look) check(t *testing.T, r *compliance.Report, b *builder) {
	t.Helper()
	j := r.Of(l.key)
	if j == nil {
		t.Errorf("on %s, %s: no duty %s of %s", b.today, l.of, l.key.Requirement, r.View.NameOf(l.key.Subject))
		return
	}
	v, _ := j.At(b.in(l.after))
	if v.Standing != l.standing || v.State != l.state || v.Step.Do != l.do {
		t.Errorf("on %s, %s, in %d days: %s, %s, to do %q; want %s, %s, to do %q", b.today, l.of, l.after,
			v.Standing, v.State, v.Step.Do, l.standing, l.state, l.do)
	}
	want := day.Day(0)
	if l.by != nil {
		want = l.by(b)
	}
	if (l.by == nil || want != 0) && v.Step.By != want {
		t.Errorf("on %s, %s: to be done by %s, want %s", b.today, l.of, v.Step.By, want)
	}
}

func TestHouseShowsEveryCaseOnEveryDay(t *testing.T) {
	book := shipped(t)
	for today := range days(t) {
		r := evaluate(t, book, House(today, book.Holidays), today, 12)
		b := newBuilder(today, book.Holidays)
		for _, l := range looks {
			l.check(t, r, b)
		}
	}
}
