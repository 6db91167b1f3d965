package day

import (
	"testing"
	"time"
)

func TestMonthArithmeticOfLaw(t *testing.T) {
	for _, v := range []struct {
		name   string
		from   string
		span   string
		back   bool
		want   string
		goDate string // what AddDate gives, right or wrong
		source string
	}{
		{"31 January", "2027-01-31", "1 month", false, "2027-02-28", "2027-03-03", "BGB s.188(3) [R]"},
		{"31 January of a leap year", "2028-01-31", "1 month", false, "2028-02-29", "2028-03-02", "BGB s.188(3) [R]; D"},
		{"31 January 2013", "2013-01-31", "1 month", false, "2013-02-28", "2013-03-03", "golang/go issue 10401"},
		{"31 October", "2026-10-31", "1 month", false, "2026-11-30", "2026-12-01", "documentation of Go's AddDate"},
		{"leap day", "2024-02-29", "1 year", false, "2025-02-28", "2025-03-01", "BGB s.188(3) [R]; Texas Finance Code 371.004 [R]; D"},
		{"corresponding date", "1978-09-30", "4 months", false, "1979-01-30", "1979-01-30", "[1981] 1 WLR 1027 [R]"},
		{"backward", "2027-05-31", "6 months", true, "2026-11-30", "2026-12-01", "Zoo Licensing Act 1981 s.6 [M, R2]; D"},
		{"in one step from the anchor", "2026-01-31", "2 months", false, "2026-03-31", "2026-03-31", "BGB s.188 [R]; D"},
		{"month, then day", "2000-03-30", "1 month 1 day", false, "2000-05-01", "2000-05-01", "W3C XML Schema Part 2, appendix E [M]; D"},
	} {
		t.Run(v.name, func(t *testing.T) {
			span, from := MustParseSpan(v.span), MustParse(v.from)
			got, sign := span.AddTo(from), 1
			if v.back {
				got, sign = span.SubtractFrom(from), -1
			}
			if got.String() != v.want {
				t.Errorf("got %s, want %s (%s)", got, v.want, v.source)
			}
			naive := from.midnight().AddDate(sign*span.Years, sign*span.Months, sign*span.Days).Format(time.DateOnly)
			if naive != v.goDate {
				t.Errorf("AddDate gives %s, the table says %s", naive, v.goDate)
			}
		})
	}
}

// BGB s.193 [R]: the performance that falls due on Sunday 2027-02-28 is in
// time on the Monday; Germany's weekends without its holidays suffice here.
func TestPerformanceMovesToMonday(t *testing.T) {
	got := moving(after("1 month")).On(MustParse("2027-01-31"), WeekendsOnly())
	want := Deadline{On: MustParse("2027-03-01"), Raw: MustParse("2027-02-28")}
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// W3C XML Schema Part 2, appendix E [M for the source, D for the values]: the
// order of months and days matters.
func TestOrderOfMonthsAndDays(t *testing.T) {
	from := MustParse("2000-03-30")
	if got := from.Add(1).AddMonths(1); got != MustParse("2000-04-30") {
		t.Errorf("day first: got %s", got)
	}
	if got := from.AddMonths(1).Add(1); got != MustParse("2000-05-01") {
		t.Errorf("month first: got %s", got)
	}
}

// Two steps of one month drift; one step of two months does not (derived).
func TestStepsDrift(t *testing.T) {
	from := MustParse("2026-01-31")
	if got := from.AddMonths(1).AddMonths(1); got != MustParse("2026-03-28") {
		t.Errorf("two steps: got %s", got)
	}
	if got := from.AddMonths(2); got != MustParse("2026-03-31") {
		t.Errorf("one step: got %s", got)
	}
}
