package intake

import (
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// sheetOf writes cells by their names.
func sheetOf(t *testing.T, f *excelize.File, sheet string, cells map[string]any) {
	t.Helper()
	if _, err := f.NewSheet(sheet); err != nil {
		t.Fatal(err)
	}
	for cell, v := range cells {
		if err := f.SetCellValue(sheet, cell, v); err != nil {
			t.Fatal(err)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// dated shows a serial number by a number format.
func dated(t *testing.T, f *excelize.File, sheet, cell string, serial float64, format string) {
	t.Helper()
	style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
	must(t, err)
	must(t, f.SetCellValue(sheet, cell, serial))
	must(t, f.SetCellStyle(sheet, cell, cell, style))
}

func sourceOf(t *testing.T, f *excelize.File) *Source {
	t.Helper()
	must(t, f.DeleteSheet("Sheet1"))
	b, err := f.WriteToBuffer()
	must(t, err)
	src, err := Read("house.xlsx", b.Bytes())
	must(t, err)
	return src
}

// ugly is a workbook as people make them: titles, a header of two rows with
// merged cells, sections, dates of every form, synonyms, blanks, one animal
// twice, a hidden sheet.
func ugly(t *testing.T) *Source {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	const snakes = "Our snakes"
	sheetOf(t, f, snakes, map[string]any{
		"A1": "THORNBURY LANE", "A3": "Acc. No.", "B3": "Animal", "D3": "Where", "F3": "Came in", "G3": "Mood",
		"B4": "Latin name", "C4": "CB / WC", "D4": "Cage", "E4": "Room",
		"A5": "COBRAS",
		"A6": 1, "B6": "Naja kaouthia", "C6": "CB", "D6": "E-01", "E6": "hot room", "G6": "calm",
		"A7": "TL-002", "B7": "Naja kaouthia", "C7": true, "D7": "E-02", "F7": "17 May 2024",
		"A8": "TL-003", "B8": "N. kaouthia", "D8": "E-03", "F8": "03/02/2025",
		"A10": "TL-004", "B10": "Vipera berus", "D10": "E-04", "A11": "TL-005", "D11": "E-05",
		"A12": "TL-006", "B12": "Vipera berus", "A13": "TL-006", "B13": "Vipera berus",
		"A14": "TL-007", "B14": "Vipera berus", "F14": 2026,
	})
	for _, m := range [][2]string{{"A1", "G1"}, {"A3", "A4"}, {"B3", "C3"}, {"D3", "E3"}, {"F3", "F4"}, {"G3", "G4"}, {"A5", "G5"}, {"B10", "B11"}} {
		must(t, f.MergeCell(snakes, m[0], m[1]))
	}
	zeros := "000"
	style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &zeros})
	must(t, err)
	must(t, f.SetCellStyle(snakes, "A6", "A6", style))
	dated(t, f, snakes, "F6", 45429, "dd/mm/yyyy") // 17 May 2024: 45292 is 1 January 2024
	const fridge = "Fridge"
	sheetOf(t, f, fridge, map[string]any{
		"A1": "Antivenom", "B1": "Batch", "C1": "Qty.", "D1": "Kept in", "E1": "EXP",
		"A2": "Thai neurotoxic antivenin", "B2": "L1", "C2": 10, "D2": "door", "E2": "EXP 02/27",
		"A3": "Thai neurotoxic antivenin", "B3": "L2", "C3": 4, "D3": "door",
		"A4": "Thai neurotoxic antivenin", "B4": "L3", "C4": "~6", "D4": "door",
		"A5": "Thai neurotoxic antivenin", "B5": "L4", "C5": 4, "D5": "door",
		"A6": "Thai neurotoxic antivenin", "B6": "L5", "C6": 4, "D6": "door",
	})
	dated(t, f, fridge, "E3", 46419, "mmm-yy")     // 1 February 2027: a month is shown
	dated(t, f, fridge, "E5", 46446, "d-mmm")      // no year is shown: the spreadsheet added it
	dated(t, f, fridge, "E6", 46419, "yyyy-mm-dd") // a day is shown
	sheetOf(t, f, "old", map[string]any{"A1": "accession", "B1": "species", "A2": "X", "B2": "Naja naja"})
	must(t, f.SetSheetVisible("old", false))
	return sourceOf(t, f)
}

func TestUglyWorkbook(t *testing.T) {
	p := planned(t, ugly(t), &compliance.Snapshot{}, first())
	wantFates(t, p, map[Fate]int{New: 6, Refused: 7})
	for _, want := range []string{
		`house.xlsx:Our snakes!B8: species: "N. kaouthia" is not a recorded species; did you mean "Naja kaouthia"`,
		`house.xlsx:Our snakes!F8: arrived: "03/02/2025" may be 2025-02-03 or 2025-03-02`,
		`house.xlsx:Our snakes!B11: species: is hidden under a merged cell`,
		`house.xlsx:Our snakes!A12: accession: "TL-006" stands here and at house.xlsx:Our snakes!A13`,
		`house.xlsx:Our snakes!A13: accession: "TL-006"`,
		`house.xlsx:Our snakes!F14: arrived: "2026" is no full date`,
		`house.xlsx:Fridge!C4: vials: "~6" is an estimate`,
		`house.xlsx:Fridge!E5: expires: "28-Feb (no year is shown)" is no expiry`,
	} {
		if !strings.Contains(told(p), want) {
			t.Errorf("not told: %s\n%s", want, told(p))
		}
	}
	s := applied(t, p, &compliance.Snapshot{})
	a := animalCalled(t, s, "001")
	if a.Arrived != day.MustParse("2024-05-17") || a.Origin.Bred != inventory.Yes || len(a.Stays) != 1 {
		t.Errorf("%+v", a)
	}
	if b := animalCalled(t, s, "TL-002"); b.Arrived != a.Arrived || b.Origin.Bred != inventory.Yes {
		t.Errorf("%+v", b)
	}
	for number, want := range map[string]struct {
		last  string
		month bool
	}{"L1": {"2027-02-28", true}, "L2": {"2027-02-28", true}, "L5": {"2027-02-01", false}} {
		if l := lotCalled(t, s, number); l.Labelled.String() != want.last || l.MonthOnly != want.month {
			t.Errorf("lot %s: %s, month only %v; want %v", number, l.Labelled, l.MonthOnly, want)
		}
	}
	var notes strings.Builder
	for _, n := range p.NotRead {
		notes.WriteString(n.What + ": " + n.Why + "\n")
	}
	for _, want := range []string{"house.xlsx:old: the sheet is hidden", `house.xlsx:Our snakes!G4: column "Mood": 1 filled`, "1 rows are titles"} {
		if !strings.Contains(notes.String(), want) {
			t.Errorf("not told: %s\n%s", want, notes.String())
		}
	}
	if again := planned(t, ugly(t), s, later()); len(again.Batch) > 0 {
		t.Errorf("the same workbook makes %d changes", len(again.Batch))
	}
}

// TestSince1904: workbooks of one maker count days from another one.
func TestSince1904(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	yes := true
	must(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}))
	sheetOf(t, f, "animals", map[string]any{"A1": "accession", "B1": "species", "C1": "arrived", "A2": "A1", "B2": "Naja kaouthia"})
	dated(t, f, "animals", "C2", 45429-1462, "yyyy-mm-dd") // the two systems lie 1462 days apart
	p := planned(t, sourceOf(t, f), &compliance.Snapshot{}, first())
	if a := animalCalled(t, applied(t, p, &compliance.Snapshot{}), "A1"); a.Arrived != day.MustParse("2024-05-17") {
		t.Errorf("arrived %s", a.Arrived)
	}
}

// TestDateFormats: what a number format shows decides what the number is.
func TestDateFormats(t *testing.T) {
	for format, want := range map[string]dateParts{
		"dd/mm/yyyy":               {true, true, true, false},
		"[$-409]d-mmm-yy;@":        {true, true, true, false},
		"mmm-yy":                   {true, true, false, false},
		"d-mmm":                    {true, false, true, false},
		"0.00":                     {},
		`0 "days"`:                 {},
		`[Red]0`:                   {},
		"General":                  {},
		`#,##0;[Red]-#,##0 "yd"`:   {},
		`yyyy\-mm\-dd\ "day"\d\.0`: {true, true, true, false},
		"h:mm AM/PM":               {clock: true},
		"yyyy-mm-dd hh:mm":         {true, true, true, true},
		`0 "hours"`:                {},
	} {
		if got := partsOfFormat(format); got != want {
			t.Errorf("%s: %+v; want %+v", format, got, want)
		}
	}
}
