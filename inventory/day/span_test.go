package day

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func anySpan() *rapid.Generator[Span] {
	part := rapid.OneOf(rapid.IntRange(0, 3), rapid.IntRange(0, maxCount))
	return rapid.Custom(func(t *rapid.T) Span {
		return Span{part.Draw(t, "years"), part.Draw(t, "months"), part.Draw(t, "weeks"), part.Draw(t, "days")}
	})
}

func TestSpanRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		span := anySpan().Draw(t, "span")
		got, err := ParseSpan(span.String())
		if err != nil || got != span {
			t.Fatalf("%q came back as %+v, %v", span, got, err)
		}
	})
}

func TestParseSpan(t *testing.T) {
	for text, want := range map[string]Span{
		"12 months":                    {Months: 12},
		"30 days":                      {Days: 30},
		"1 day":                        {Days: 1},
		"1 year 2 weeks":               {Years: 1, Weeks: 2},
		"1 year 1 month 1 week 1 day":  {1, 1, 1, 1},
		"2 years 3 months 4 weeks":     {2, 3, 4, 0},
		"9999 days":                    {Days: 9999},
		"0 days":                       {},
		"5 years 6 days":               {Years: 5, Days: 6},
		"10 years 10 months 100 weeks": {10, 10, 100, 0},
	} {
		if got, err := ParseSpan(text); err != nil || got != want || got.String() != text {
			t.Errorf("%q was read as %+v, written %q, %v", text, got, got, err)
		}
	}
}

func TestParseSpanRefuses(t *testing.T) {
	for text, why := range map[string]string{
		"":                 "alternate",
		"30":               "alternate",
		"days 30":          "whole number",
		"1 days":           "does not fit",
		"2 day":            "does not fit",
		"0 months":         "whole number",
		"030 days":         "whole number",
		"+3 days":          "whole number",
		"-3 days":          "whole number",
		"10000 days":       "whole number",
		"1.5 years":        "whole number",
		"30  days":         "alternate",
		"30 days ":         "alternate",
		"1 day 1 year":     "does not fit",
		"1 day 1 day":      "does not fit",
		"1 year, 2 weeks":  "does not fit",
		"8 hours":          "does not fit",
		"P30D":             "alternate",
		"1 Year":           "does not fit",
		"1\tyear":          "alternate",
		"1 year 0 days":    "whole number",
		"12 months 1 year": "does not fit",
	} {
		got, err := ParseSpan(text)
		if err == nil || !got.IsZero() {
			t.Errorf("%q was read as %q", text, got)
			continue
		}
		if !strings.Contains(err.Error(), why) {
			t.Errorf("%q: %q does not say %q", text, err, why)
		}
	}
}

func TestSpanFromAnchor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, span := anyDay().Draw(t, "day"), anySpan().Draw(t, "span")
		months, days := 12*span.Years+span.Months, 7*span.Weeks+span.Days
		clip := func(d Day) Day { return min(max(d, First), Last) }
		if got, want := span.AddTo(d), clip(d.AddMonths(months).Add(days)); got != want {
			t.Fatalf("%s and %s is %s, want %s", d, span, got, want)
		}
		if got, want := span.SubtractFrom(d), clip(d.AddMonths(-months).Add(-days)); got != want {
			t.Fatalf("%s less %s is %s, want %s", d, span, got, want)
		}
	})
}

func FuzzParseSpan(f *testing.F) {
	for _, s := range []string{"12 months", "30 days", "1 year 2 weeks", "1 day", "0 days", "1 days", "9999 weeks 1 day", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		span, err := ParseSpan(s)
		switch {
		case err != nil && !span.IsZero():
			t.Errorf("%q was refused and is %q", s, span)
		case err == nil && span.String() != s:
			t.Errorf("%q was read as %q", s, span)
		}
	})
}
