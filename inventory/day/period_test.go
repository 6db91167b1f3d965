package day

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestPeriodsThatMove(t *testing.T) {
	names := Embedded().Names()
	rapid.Check(t, func(t *rapid.T) {
		cal, err := Embedded().Calendar(rapid.SampledFrom(names).Draw(t, "calendar"))
		if err != nil {
			t.Fatal(err)
		}
		// Far enough from the first and last year with holidays that no move leaves them.
		anchor := Day(rapid.Int32Range(int32(MustParse("2025-03-01")), int32(MustParse("2028-11-01"))).Draw(t, "anchor"))
		p := Period{
			Shape: rapid.SampledFrom([]Shape{AfterEvent, BeginningWith, BeforeDeadline}).Draw(t, "shape"),
			Span:  Span{Days: rapid.IntRange(1, 30).Draw(t, "days")},
		}
		raw, got := p.On(anchor, cal), moving(p).On(anchor, cal)
		backward := p.Shape == BeforeDeadline
		switch {
		case raw.On != raw.Raw || raw.Provisional:
			t.Fatalf("a period that does not move gave %+v", raw)
		case got.Raw != raw.On || !cal.IsWorking(got.On) || got.Provisional:
			t.Fatalf("got %+v from %s", got, raw.On)
		case backward && got.On > got.Raw || !backward && got.On < got.Raw:
			t.Fatalf("%s moved the wrong way: %+v", p.Shape, got)
		}
		for d := min(got.On, got.Raw); d <= max(got.On, got.Raw); d++ {
			if d != got.On && cal.IsWorking(d) {
				t.Fatalf("%s went past the working day %s: %+v", p.Shape, d, got)
			}
		}
	})
}

// Two periods that follow each other leave no gap and do not overlap, as long
// as no month is too short for the first day.
func TestBeginningWithTiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first, span := anyDay().Draw(t, "first"), Span{Months: rapid.IntRange(1, 60).Draw(t, "months")}
		p := Period{Shape: BeginningWith, Span: span}
		last := p.On(first, WeekendsOnly()).On
		if last == Last {
			return // beyond what can be stored
		}
		_, _, dom := first.Date()
		if corresponding := span.AddTo(first); dom <= 28 && last != corresponding-1 || dom > 28 && last != corresponding && last != corresponding-1 {
			t.Fatalf("%s from %s lasts until %s", span, first, last)
		}
		if next := p.On(first+1, WeekendsOnly()).On; next < last {
			t.Fatalf("%s from %s lasts until %s, but from a day later until %s", span, first, last, next)
		}
	})
}

func TestFixedAnnualIsTheNext(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		anchor := Day(rapid.Int32Range(int32(First), int32(MustParse("9998-12-31"))).Draw(t, "anchor"))
		p := annual(time.Month(rapid.IntRange(1, 12).Draw(t, "month")), rapid.IntRange(1, 28).Draw(t, "day"))
		want := anchor
		for {
			if _, month, dom := want.Date(); month == p.Month && dom == p.DayOfMonth {
				break
			}
			want++
		}
		if got := p.On(anchor, Calendar{}); got != (Deadline{On: want, Raw: want}) {
			t.Fatalf("from %s: got %+v, want %s", anchor, got, want)
		}
		year, _, _ := want.Date()
		if got := p.InYear(year, Calendar{}).On; got != want {
			t.Fatalf("in %d: got %s, want %s", year, got, want)
		}
	})
}

func TestFixedAnnualLeapDay(t *testing.T) {
	p := annual(time.February, 29)
	for year, want := range map[int]string{2024: "2024-02-29", 2026: "2026-02-28", 2100: "2100-02-28", 1900: "1900-02-28"} {
		if got := p.InYear(year, WeekendsOnly()).On.String(); got != want {
			t.Errorf("%d: got %s, want %s", year, got, want)
		}
	}
}

// On for hours is only a cautious reading; common practice, no source.
func TestHoursWithoutAnInstant(t *testing.T) {
	anchor := MustParse("2026-07-03")
	for hours, want := range map[int]string{1: "2026-07-03", 8: "2026-07-03", 24: "2026-07-03", 47: "2026-07-03", 48: "2026-07-04", 72: "2026-07-05"} {
		got := Period{Shape: Hours, Hours: hours}.On(anchor, usFederal(t))
		if got.On.String() != want || got.Raw != got.On {
			t.Errorf("%d hours: got %+v, want %s", hours, got, want)
		}
		end := Period{Shape: Hours, Hours: hours}.At(StartOf(anchor, time.UTC))
		if got.On != anchor && EndOf(got.On, time.UTC).After(end) {
			t.Errorf("%d hours: %s is not wholly in time", hours, got.On)
		}
	}
	if got := (Period{Shape: Immediately}).On(anchor, usFederal(t)).On; got != anchor {
		t.Errorf("immediately is %s", got)
	}
}

func TestShapesAnswerOnlyTheirQuestion(t *testing.T) {
	now := instant(t, "2026-07-04T12:00:00Z")
	for _, p := range []Period{{}, after("1 day"), beginning("1 day"), before("1 day"), annual(time.May, 1)} {
		if !p.At(now).IsZero() || p.ByClock() {
			t.Errorf("%s has an instant", p.Shape)
		}
	}
	if got := (Period{}).On(First, WeekendsOnly()); got != (Deadline{}) {
		t.Errorf("a period without shape gave %+v", got)
	}
	if got := after("1 day").InYear(2026, WeekendsOnly()); got != (Deadline{}) {
		t.Errorf("after_event in a year gave %+v", got)
	}
	for _, p := range []Period{{Shape: Hours, Hours: 8}, {Shape: Immediately}} {
		if !p.ByClock() {
			t.Errorf("%s does not run by the clock", p.Shape)
		}
	}
}

func TestValidatePeriods(t *testing.T) {
	for _, p := range []Period{after("1 day"), moving(before("6 months")), beginning("2 years"), annual(time.February, 29),
		moving(annual(time.March, 31)), {Shape: Hours, Hours: 8}, {Shape: Immediately}} {
		if err := p.Validate(); err != nil {
			t.Errorf("%+v: %v", p, err)
		}
	}
	for _, v := range []struct {
		name   string
		period Period
		want   string
	}{
		{"nothing", Period{}, "needs a shape"},
		{"no such shape", Period{Shape: 9}, "needs a shape"},
		{"no span", Period{Shape: AfterEvent}, "needs a span"},
		{"negative span", Period{Shape: AfterEvent, Span: Span{Years: 1, Days: -1}}, "needs a span"},
		{"annual with a span", Period{Shape: FixedAnnual, Month: 3, DayOfMonth: 31, Span: Span{Days: 1}}, "has no span"},
		{"30 February", annual(time.February, 30), "month 2, day 30"},
		{"month 13", annual(13, 1), "month 13"},
		{"no day", annual(time.March, 0), "day 0"},
		{"span with a month", Period{Shape: AfterEvent, Span: Span{Days: 1}, Month: 3}, "no month and day"},
		{"no hours", Period{Shape: Hours}, "number of hours"},
		{"too many hours", Period{Shape: Hours, Hours: 10000}, "number of hours"},
		{"at once with hours", Period{Shape: Immediately, Hours: 1}, "has no hours"},
		{"hours that move", Period{Shape: Hours, Hours: 8, Moves: true}, "never moves"},
	} {
		if err := v.period.Validate(); err == nil || !strings.Contains(err.Error(), v.want) {
			t.Errorf("%s: %v does not say %q", v.name, err, v.want)
		}
	}
}

func TestShapeNames(t *testing.T) {
	for s := AfterEvent; s <= Immediately; s++ {
		text, err := s.MarshalText()
		if err != nil || len(text) == 0 {
			t.Fatalf("%s: %v", s, err)
		}
		var got Shape
		if err := got.UnmarshalText(text); err != nil || got != s {
			t.Errorf("%s came back as %s, %v", s, got, err)
		}
	}
	if _, err := Shape(9).MarshalText(); err == nil {
		t.Error("a shape that does not exist was written")
	}
}
