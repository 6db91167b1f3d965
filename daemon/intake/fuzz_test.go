package intake

import (
	"testing"

	"antidotary/inventory/day"
)

// FuzzCells: whatever a cell holds, it either has a value within bounds or is
// refused with a reason.
func FuzzCells(f *testing.F) {
	for _, s := range []string{"2026-02-03", "03/02/2026", "EXP 02/26", "Feb 2026", "~10", "10", "N. kaouthia", "=1+1", "Naja kaouthia: 5", "3-Feb-26", "\u00a010"} {
		f.Add(s, "dmy")
		f.Add(s, "")
	}
	f.Fuzz(func(t *testing.T, text, declared string) {
		order, err := ParseOrder(declared)
		if err != nil {
			order = ""
		}
		d, wrong := parseDay(text, order)
		if (wrong == "") != (d >= day.First && d <= day.Last) {
			t.Errorf("day %d, %q", d, wrong)
		}
		last, month, wrong := parseLabel(text, order)
		if (wrong == "") != (last >= day.First && last <= day.Last) || month && wrong == "" && last != last.EndOfMonth() {
			t.Errorf("label %d, %v, %q", last, month, wrong)
		}
		if n, wrong := parseCount(text); n < 0 || n > 999999 || wrong != "" && n != 0 {
			t.Errorf("count %d, %q", n, wrong)
		}
		if back := unescaped(Escaped(text)); back != text {
			t.Errorf("%q came back as %q", text, back)
		}
		near(text, []string{"Naja kaouthia", "Vipera berus"})
		parseDeparture(text)
		partsOfFormat(text)
		grantLine.FindStringSubmatch(tidy(text))
	})
}

// FuzzCSV: whatever a file holds, it is read or refused.
func FuzzCSV(f *testing.F) {
	f.Add([]byte("accession,species\nA1,Naja kaouthia\n"))
	f.Add([]byte("product;lot;vials;place\nx;\"L\n1\";3;y\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := readCSV("x.csv", data)
		if err != nil {
			return
		}
		if table, _, _ := recognise(s, &Mapping{}); table != nil {
			table.unread()
			table.mapping()
		}
	})
}
