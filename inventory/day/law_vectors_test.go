package day

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// The letters after a source say how certain it is: R read in the text itself,
// R2 read in a secondary source, M from memory, D derived by computation from
// the fact named.

// usFederal and the like give the calendars that are built in.
func usFederal(t testing.TB) Calendar { return builtIn(t, "US-FED") }

func builtIn(t testing.TB, name string) Calendar {
	t.Helper()
	c, err := Embedded().Calendar(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func after(span string) Period { return Period{Shape: AfterEvent, Span: MustParseSpan(span)} }
func beginning(span string) Period {
	return Period{Shape: BeginningWith, Span: MustParseSpan(span)}
}
func before(span string) Period { return Period{Shape: BeforeDeadline, Span: MustParseSpan(span)} }
func annual(month time.Month, dayOfMonth int) Period {
	return Period{Shape: FixedAnnual, Month: month, DayOfMonth: dayOfMonth}
}

// moving is the same period, moving off non-working days.
func moving(p Period) Period {
	p.Moves = true
	return p
}

type periodVector struct {
	name   string
	period Period
	anchor string
	want   string
	goDate string // what time.Time.AddDate gives where that is wrong, else empty
	source string
}

var shapeVectors = []periodVector{
	{"event day excluded", after("1 day"), "2026-06-01", "2026-06-02", "", "FRCP 6(a)(1)(A) [R]; D"},
	{"corresponding date", after("4 months"), "1978-09-30", "1979-01-30", "", "[1981] 1 WLR 1027 [R]"},
	{"start day is day one", beginning("1 day"), "2026-06-01", "2026-06-01", "", "BGB s.187(2), 188(2) [R]; D"},
	{"day before the corresponding date", beginning("1 month"), "2026-06-10", "2026-07-09", "", "BGB s.188(2) second half [R]; D"},
	{"begun on a day that the last month lacks", beginning("1 month"), "2027-01-31", "2027-02-28", "", "BGB s.188(2) and (3) [R]; D"},
	{"begun on a leap day", beginning("1 year"), "2024-02-29", "2025-02-28", "", "BGB s.188(2) and (3) [R]; D"},
	{"begun on the day before a leap day", beginning("1 year"), "2024-02-28", "2025-02-27", "", "BGB s.188(2) [R]; D"},
	{"begun on a day that the last month lacks, then days", beginning("1 month 2 weeks"), "2027-01-31", "2027-03-14", "", "BGB s.188(2) and (3) [R]; D"},
	{"annual date to come", annual(time.March, 31), "2027-01-01", "2027-03-31", "", "50 CFR 13.45 [R]"},
	{"annual date today", annual(time.March, 31), "2027-03-31", "2027-03-31", "", "50 CFR 13.45 [R]; last day included"},
	{"annual date just past", annual(time.March, 31), "2027-04-01", "2028-03-31", "", "50 CFR 13.45 [R]"},
	{"annual leap day in a common year", annual(time.February, 29), "2027-01-01", "2027-02-28", "", "BGB s.188(3) [R]; D"},
	{"annual leap day in a leap year", annual(time.February, 29), "2027-03-01", "2028-02-29", "", "BGB s.188(3) [R]; D"},
}

var unitedStatesVectors = []periodVector{
	{"renewal before new year", before("30 days"), "2026-12-31", "2026-12-01", "", "50 CFR 13.22(a) [R]; D"},
	{"renewal in summer", before("30 days"), "2026-07-31", "2026-07-01", "", "50 CFR 13.22(a) [R]; D"},
	{"renewal by a Saturday that stays", before("30 days"), "2027-03-15", "2027-02-13", "", "50 CFR 13.22(a) [R]; D"},
	{"renewal by a Saturday that moves earlier", moving(before("30 days")), "2027-03-15", "2027-02-12", "", "50 CFR 13.22(a) [R], FRCP 6(a)(5) [R, cut]; D"},
	{"renewal over a leap day", before("30 days"), "2028-03-15", "2028-02-14", "", "50 CFR 13.22(a) [R]; D"},
	{"application 60 days ahead", before("60 days"), "2026-12-31", "2026-11-01", "", "50 CFR 13.11(c) [M]; D"},
	{"application 60 days ahead, moved", moving(before("60 days")), "2026-12-31", "2026-10-30", "", "50 CFR 13.11(c) [M]; D"},
	{"application 90 days ahead", before("90 days"), "2026-12-31", "2026-10-02", "", "50 CFR 13.11(c) [M]; D"},
	{"discontinuance", after("30 days"), "2026-01-31", "2026-03-02", "", "50 CFR 13.26 [R]"},
	{"report for a first part of a year", annual(time.March, 31), "2027-01-01", "2027-03-31", "", "50 CFR 13.45 [R]; D"},
	{"report for the next", annual(time.March, 31), "2028-01-01", "2028-03-31", "", "50 CFR 13.45 [R]; D"},
	{"records kept", after("5 years"), "2026-12-31", "2031-12-31", "", "50 CFR 13.46 [M]; D"},

	{"export permit", after("6 months"), "2026-03-15", "2026-09-15", "", "50 CFR 23.54 [R]; D"},
	{"export permit from a 31st", after("6 months"), "2026-08-31", "2027-02-28", "2027-03-03", "50 CFR 23.54 [R]; D"},
	{"import permit", after("12 months"), "2026-02-28", "2027-02-28", "", "50 CFR 23.54 [R]; D"},
	{"certificate of ownership from a leap day", after("3 years"), "2024-02-29", "2027-02-28", "2027-03-01", "50 CFR 23.54 [R]; D"},

	{"limited entry", beginning("15 days"), "2026-06-01", "2026-06-15", "", "510 ILCS 68/65-5 [R]; D"},
	{"change reported", after("10 days"), "2026-05-22", "2026-06-01", "", "17 Ill. Adm. Code 885.140 [R]; D"},
	{"change reported on the first business day", moving(after("1 day")), "2026-05-22", "2026-05-26", "", "510 ILCS 68/20-10 [R]; D; Mon 25 May is Memorial Day"},
	{"report on its face date, a Sunday", annual(time.January, 31), "2027-01-01", "2027-01-31", "", "17 Ill. Adm. Code 885.140 [R]; D"},
	{"report rolled forward", moving(annual(time.January, 31)), "2027-01-01", "2027-02-01", "", "17 Ill. Adm. Code 885.140 [R]; D"},
	{"records after a transfer", after("2 years"), "2027-03-01", "2029-03-01", "", "17 Ill. Adm. Code 885.140 [R]; D"},
	{"conviction", after("5 years"), "2021-09-14", "2026-09-14", "", "Texas Parks & Wildlife Code 43.851 [R]; D; the fifth anniversary itself"},
}

var otherVectors = []periodVector{
	{"dangerous wild animals licence", beginning("2 years"), "2026-03-10", "2028-03-09", "", "SI 2010/839 [R2], \"two years beginning with\"; D"},
	{"dangerous wild animals licence, later reading", after("2 years"), "2026-03-10", "2028-03-10", "", "SI 2010/839 [R2], \"two years from\"; D"},
	{"its renewal from the old expiry", beginning("2 years"), "2028-03-10", "2030-03-09", "", "SI 2010/839 [R2]; D"},
	{"the old law's licence", annual(time.December, 31), "2009-05-01", "2009-12-31", "", "Dangerous Wild Animals Act 1976 before SI 2010/839 [R2]; D"},
	{"zoo licence of 2023", beginning("4 years"), "2023-06-01", "2027-05-31", "", "Zoo Licensing Act 1981 s.5(1) [R]; D"},
	{"its renewal", before("6 months"), "2027-05-31", "2026-11-30", "2026-12-01", "Zoo Licensing Act 1981 s.6 [M, R2]; D"},
	{"zoo licence of 2022", beginning("4 years"), "2022-09-01", "2026-08-31", "", "Zoo Licensing Act 1981 s.5(1) [R]; D"},
	{"its renewal", before("6 months"), "2026-08-31", "2026-02-28", "2026-03-03", "Zoo Licensing Act 1981 s.6 [M, R2]; D"},
	{"fresh zoo licence", beginning("6 years"), "2027-06-01", "2033-05-31", "", "Zoo Licensing Act 1981 s.5(2) [M, R2]; D"},
	{"its renewal", before("6 months"), "2033-05-31", "2032-11-30", "2032-12-01", "Zoo Licensing Act 1981 s.6 [M, R2]; D"},

	{"existing keepings notified", beginning("6 months"), "2021-01-01", "2021-06-30", "", "Gifttiergesetz NRW [R2], the published date"},
	{"proofs after notifying", after("4 weeks"), "2021-06-30", "2021-07-28", "", "Gifttiergesetz NRW [R2]; D"},
	{"licence of five years", after("5 years"), "2026-02-28", "2031-02-28", "", "Queensland licence term [R2]; D"},
	{"trade barred", after("6 months"), "2026-08-31", "2027-02-28", "2027-03-03", "Queensland trade bar [R2]; D"},
}

func TestPeriodsOfLaw(t *testing.T) {
	cal := usFederal(t)
	for group, vectors := range map[string][]periodVector{
		"shapes": shapeVectors, "United States": unitedStatesVectors, "elsewhere": otherVectors,
	} {
		for _, v := range vectors {
			t.Run(group+"/"+v.name, func(t *testing.T) {
				if err := v.period.Validate(); err != nil {
					t.Fatal(err)
				}
				got := v.period.On(MustParse(v.anchor), cal).On.String()
				if got != v.want {
					t.Errorf("from %s: got %s, want %s (%s)", v.anchor, got, v.want, v.source)
				}
				if v.goDate != "" {
					if naive := addDate(v.anchor, v.period); naive != v.goDate || naive == got {
						t.Errorf("from %s: AddDate gives %s, not the wrong %s", v.anchor, naive, v.goDate)
					}
				}
			})
		}
	}
}

// addDate is the mistake that the vectors guard against.
func addDate(anchor string, p Period) string {
	sign := 1
	if p.Shape == BeforeDeadline {
		sign = -1
	}
	s := p.Span
	return MustParse(anchor).midnight().AddDate(sign*s.Years, sign*s.Months, sign*(7*s.Weeks+s.Days)).Format(time.DateOnly)
}

// 21 CFR 312.33 [R2]: within 60 days of the anniversary of the day on which
// the application went into effect. Windows derived.
func TestAnnualReportAfterAnniversary(t *testing.T) {
	for _, v := range []struct {
		name, inEffect   string
		years            int
		anniversary, due string
	}{
		{"2026", "2024-03-15", 2, "2026-03-15", "2026-05-14"},
		{"2027", "2024-03-15", 3, "2027-03-15", "2027-05-14"},
		{"leap day, the earlier reading", "2024-02-29", 1, "2025-02-28", "2025-04-29"},
	} {
		t.Run(v.name, func(t *testing.T) {
			anniversary := MustParse(v.inEffect).AddYears(v.years)
			due := after("60 days").On(anniversary, WeekendsOnly())
			if anniversary.String() != v.anniversary || due.On.String() != v.due {
				t.Errorf("got %s..%s, want %s..%s", anniversary, due.On, v.anniversary, v.due)
			}
		})
	}
}

// 17 Ill. Adm. Code 885.140 [R]: the annual report's face date is Sunday
// 2027-01-31; whoever reminds takes the Friday before (derived).
func TestCautiousDayBeforeFaceDate(t *testing.T) {
	got := usFederal(t).Earlier(MustParse("2027-01-31"))
	want := Deadline{On: MustParse("2027-01-29"), Raw: MustParse("2027-01-31")}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A permit to 2026-06-30, lead 30 days by receipt, office shut at weekends and
// on 25 May, mail 5 working days (worked example; common practice, no source).
func TestPostInTimeForReceipt(t *testing.T) {
	cal := usFederal(t)
	received := moving(before("30 days")).On(MustParse("2026-06-30"), cal)
	want := Deadline{On: MustParse("2026-05-29"), Raw: MustParse("2026-05-31")}
	if diff := cmp.Diff(want, received); diff != "" {
		t.Errorf("received by: %s", diff)
	}
	posted := cal.SubtractWorking(received.On, 5)
	want = Deadline{On: MustParse("2026-05-21"), Raw: MustParse("2026-05-29")}
	if diff := cmp.Diff(want, posted); diff != "" {
		t.Errorf("posted by: %s", diff)
	}
}
