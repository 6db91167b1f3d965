package day

import "testing"

func TestLabelEnds(t *testing.T) {
	for _, v := range []struct {
		label     string
		want      string
		monthOnly bool
		source    string
	}{
		{"03/2023", "2023-03-31", true, "USP <7> [R2]"},
		{"02/2028", "2028-02-29", true, "USP <7> [R2]; leap year"},
		{"2026-02", "2026-02-28", true, "USP <7> [R2]"},
		{"2026-02-28", "2026-02-28", false, "as printed"},
		{"2026-02-10", "2026-02-10", false, "as printed"},
		{"2008-10", "2008-10-31", true, "Micrurus fulvius antivenin, lots 4030026 and 4030024, label [R2]"},
		{"04/2014", "2014-04-30", true, "lot 4030024, letter of 2012-12-07 [R2]"},
		{"9999-12", "9999-12-31", true, "the last month; common practice, no source"},
	} {
		t.Run(v.label, func(t *testing.T) {
			got, monthOnly, err := ParseLabelEnd(v.label)
			if err != nil {
				t.Fatal(err)
			}
			if got.String() != v.want || monthOnly != v.monthOnly {
				t.Errorf("got %s, month only %t; want %s, %t (%s)", got, monthOnly, v.want, v.monthOnly, v.source)
			}
		})
	}
}

func TestLabelEndsRefused(t *testing.T) {
	for _, label := range []string{"", "02/26", "2/2026", "2026-2", "2026-13", "00/2026", "13/2026", "2026-02-30",
		"EXP 2026-02", " 2026-02", "2026/02", "28/02/2026", "1899-12", "never"} {
		if got, _, err := ParseLabelEnd(label); err == nil || got != 0 {
			t.Errorf("%q gave %q, %v", label, got, err)
		}
	}
}

// Regulator-extended lots of Micrurus fulvius antivenin [R2: notice of
// 2010-10-22, letter of 2012-12-07]: what is good through a day is out of date
// on the next. Which extension applies to which lot is not this package's.
func TestExtendedLotsByDay(t *testing.T) {
	label, notice, letter := MustParse("2008-10-31"), MustParse("2011-10-31"), MustParse("2014-04-30")
	inDate := func(last Day) Line[bool] { return Steps(true, Change[bool]{last + 1, false}) }
	for _, v := range []struct {
		name, on string
		last     Day
		want     bool
	}{
		{"with the notice", "2010-11-15", notice, true},
		{"without the notice", "2010-11-15", label, false},
		{"by the letter", "2013-11-01", letter, true},
		{"on its last day", "2014-04-30", letter, true},
		{"on the day after", "2014-05-01", letter, false},
	} {
		if got := inDate(v.last).At(MustParse(v.on)); got != v.want {
			t.Errorf("%s: in date on %s is %t", v.name, v.on, got)
		}
	}
}
