package main

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"antidotary/daemon/store"
	"antidotary/inventory"
)

// handMade writes a workbook as people make them: titles, headers of two rows
// with merged cells, sections, dates of every form, words of their own, blanks,
// one animal twice, a sheet with birthdays, a hidden one.
func handMade(t *testing.T, file string) {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	fill := func(sheet string, cells map[string]any) {
		_, err := f.NewSheet(sheet)
		ok(err)
		for cell, v := range cells {
			ok(f.SetCellValue(sheet, cell, v))
		}
	}
	dated := func(sheet, cell string, serial float64, format string) {
		style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
		ok(err)
		ok(f.SetCellValue(sheet, cell, serial))
		ok(f.SetCellStyle(sheet, cell, cell, style))
	}
	fill("Our snakes", map[string]any{
		"A1": "THORNBURY LANE, as of this week", "A3": "Acc. No.", "B3": "Animal", "D3": "Where", "F3": "Came in", "G3": "Mood",
		"B4": "Latin name", "C4": "CB / WC", "D4": "Cage", "E4": "Room",
		"A5": "COBRAS",
		"A6": "TL-001", "B6": "Naja kaouthia", "C6": "CB", "D6": "E-01", "E6": "hot room", "G6": "calm",
		"A7": "TL-002", "B7": "Naja kaouthia", "C7": "?", "D7": "E-02", "F7": "17 May 2024",
		"A8": "TL-003", "B8": "N. kaouthia", "D8": "E-03", "F8": "03/02/2025",
		"A9": "VIPERS", "A10": "TL-004", "B10": "Vipera berus", "D10": "E-04", "A11": "TL-005", "D11": "E-05",
		"A12": "TL-006", "B12": "Vipera berus", "A13": "TL-006", "B13": "Vipera berus", "D13": "E-06",
		"A14": "TL-007", "B14": "Vipera berus", "F14": 2026, "A15": "tl-001", "B15": "Naja kaouthia",
		"A16": "TL-008", "B16": "Vipera berus",
	})
	for _, m := range [][2]string{{"A1", "G1"}, {"A3", "A4"}, {"B3", "C3"}, {"D3", "E3"}, {"F3", "F4"}, {"G3", "G4"}, {"A5", "G5"}, {"A9", "G9"}, {"B10", "B11"}} {
		ok(f.MergeCell("Our snakes", m[0], m[1]))
	}
	dated("Our snakes", "F6", 45429, "dd/mm/yyyy") // 17 May 2024: 45292 is 1 January 2024
	fill("Permits", map[string]any{
		"A1": "Permit no", "B1": "Kind", "C1": "Site", "D1": "Species", "E1": "Expires", "F1": "Suspended",
		"A2": "DWA-901", "B2": "DWA licence", "C2": "Thornbury Lane", "D2": "Naja kaouthia: 5; genus Vipera except Vipera ammodytes", "E2": "31.12.2026",
		"A3": "DWA-902", "B3": "DWA license", "C3": "Thornbury Lane", "E3": "31.12.2026",
		"A4": "DWA-903", "B4": "DWA licence", "C4": "Thornbury Ln", "E4": "never",
		"A5": "DWA-904", "B5": "DWA licence", "C5": "Thornbury Lane", "E5": "05/2027",
		"A6": "DWA-905", "B6": "DWA licence", "C6": "Thornbury Lane", "F6": "?",
	})
	fill("Fridge", map[string]any{
		"A1": "Antivenom", "B1": "Batch", "C1": "Qty.", "D1": "Kept in", "E1": "EXP",
		"A2": "Thai neurotoxic antivenin", "B2": "L1", "C2": 10, "D2": "door", "E2": "EXP 02/27",
		"A3": "Thai neurotoxic antivenin", "B3": "L2", "C3": "~6", "D3": "door", "E3": "EXP 02/27",
		"A4": "Thai neurotoxic antivenin", "B4": "L3", "C4": 4, "D4": "door",
		"A5": "Thai neurotoxic antivenin", "B5": "L4", "C5": 4, "D5": "door", "E5": "05/06",
		"A6": "Thai neurotoxc antivenin", "B6": "L5", "C6": 4, "D6": "door",
	})
	dated("Fridge", "E4", 46446, "d-mmm") // no year is shown: the spreadsheet added it
	fill("Birthdays", map[string]any{"A1": "Who", "A2": "Wilhelmina"})
	fill("old", map[string]any{"A1": "accession", "B1": "species", "A2": "X", "B2": "Naja naja"})
	ok(f.SetSheetVisible("old", false))
	ok(f.DeleteSheet("Sheet1"))
	ok(f.SaveAs(file))
}

// TestThreeCommands: from an ugly workbook to a watched house. Each cell that
// can mean two things is refused with its place, what was not read is named,
// and what nobody knows reads as cannot tell.
func TestThreeCommands(t *testing.T) {
	t.Chdir(t.TempDir())
	handMade(t, "house.xlsx")
	house := []string{"import", "house.xlsx", "--new-species", "--new-products", "--house", "Thornbury Lane collection", "--site", "Thornbury Lane", "--zone", "Europe/London", "--law", "gb/eaw"}
	preview, wrong := says(t, exitFailed, append(house, "--dry-run")...)
	refused := []string{
		`house.xlsx:Our snakes!B8: species: "N. kaouthia" is not a recorded species; did you mean "Naja kaouthia"`,
		`house.xlsx:Our snakes!F8: arrived: "03/02/2025" may be 2025-02-03 or 2025-03-02`,
		`house.xlsx:Our snakes!B11: species: is hidden under a merged cell`,
		`house.xlsx:Our snakes!A12: accession: "TL-006" stands here and at house.xlsx:Our snakes!A13`,
		`house.xlsx:Our snakes!A13: accession: "TL-006" stands here and at house.xlsx:Our snakes!A12`,
		`house.xlsx:Our snakes!F14: arrived: "2026" is no full date`,
		`house.xlsx:Our snakes!A15: accession: "tl-001" is nearly "TL-001"`,
		`house.xlsx:Permits!B3: class: "DWA license" is no class that the loaded rules ask for; did you mean "dwa-licence"`,
		`house.xlsx:Permits!C4: sites: "Thornbury Ln" is not a recorded site; did you mean "Thornbury Lane"`,
		`house.xlsx:Permits!E5: expires: "05/2027" is no full date`,
		`house.xlsx:Permits!F6: suspended: "?" leaves open whether the paper is in force`,
		`house.xlsx:Fridge!C3: vials: "~6" is an estimate`,
		`house.xlsx:Fridge!E4: expires: "28-Feb (no year is shown)" is no expiry`,
		`house.xlsx:Fridge!E5: expires: "05/06" may be 2005-06 or 2006-05`,
		`house.xlsx:Fridge!A6: product: "Thai neurotoxc antivenin" is not a recorded product; did you mean "Thai neurotoxic antivenin"`,
	}
	contains(t, preview, refused...)
	contains(t, preview, noted...)
	contains(t, preview, `"DWA licence" is the class dwa-licence.`, `The house plans for 1 bitten at once`, "There is no database antidotary.db yet", "Nothing was recorded.")
	contains(t, preview, fmt.Sprintf("Refused: 14 rows, for %d reasons", len(refused)))
	contains(t, wrong, "14 rows were refused")
	if _, err := os.Stat("antidotary.db"); err == nil {
		t.Error("a preview makes a database")
	}

	done, _ := says(t, exitFailed, append(house, "--as", "marta")...)
	contains(t, done, refused...)
	contains(t, done, "Recorded: 16 records, as one change.", "The refused rows are in house.Our snakes.rejects.csv")

	check, _ := says(t, exitCannotTell, "check")
	contains(t, check, "0 out of order", "CANNOT TELL", "Thornbury Lane", "TL-001", "TL-004", "DWA-901", "Naja kaouthia at Thornbury Lane")
	watched(t)
}

// noted is what the workbook has and nobody reads, with the reason.
var noted = []string{
	"house.xlsx:old: the sheet is hidden",
	"house.xlsx:Birthdays: no header row of animals, papers, vials or sessions was found",
	`house.xlsx:Our snakes!G4: column "Mood": 1 filled cells`,
	"house.xlsx:Our snakes: 2 rows are titles across merged columns",
}

// says runs one command in this process.
func says(t *testing.T, code int, args ...string) (stdout, stderr string) {
	t.Helper()
	var out, wrong strings.Builder
	if got := run(context.Background(), args, terminal{&out, &wrong, func() time.Time { return now }}); got != code {
		t.Fatalf("%v exits %d; want %d\n%s%s", args, got, code, out.String(), wrong.String())
	}
	return out.String(), wrong.String()
}

func contains(t *testing.T, text string, all ...string) {
	t.Helper()
	for _, want := range all {
		if !strings.Contains(text, want) {
			t.Errorf("not told: %s\n%s", want, text)
		}
	}
}

// watched holds that the records are what clear cells said, and nothing more.
func watched(t *testing.T) {
	t.Helper()
	st, err := store.OpenReadOnly(t.Context(), "antidotary.db", store.Options{Clock: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	view, err := st.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for a := range view.Snapshot.Animals.All() {
		species, _ := view.Snapshot.Species.Get(a.Species)
		if species.Venomous != inventory.Unknown {
			t.Errorf("%s is %s venomous: nobody said so", species.Accepted, species.Venomous)
		}
		got = append(got, fmt.Sprintf("%s %s bred %s, arrived %s", a.Accession, species.Accepted, a.Origin.Bred, a.Arrived))
	}
	for x := range view.Snapshot.Permits.All() {
		got = append(got, fmt.Sprintf("%s %s until %s, renewable %s", x.Number, x.Class, x.Expires, x.Renewable))
	}
	for l := range view.Snapshot.Lots.All() {
		got = append(got, fmt.Sprintf("lot %s until %s, month only %v, moved %d", l.Number, l.Labelled, l.MonthOnly, len(l.Movements)))
	}
	slices.Sort(got)
	want := []string{
		"DWA-901 dwa-licence until 2026-12-31, renewable unknown",
		"TL-001 Naja kaouthia bred yes, arrived 2024-05-17",
		"TL-002 Naja kaouthia bred unknown, arrived 2024-05-17",
		"TL-004 Vipera berus bred unknown, arrived ",
		"TL-008 Vipera berus bred unknown, arrived ",
		"lot L1 until 2027-02-28, month only true, moved 1",
	}
	if !slices.Equal(got, want) {
		t.Errorf("recorded:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if view.Snapshot.Feeds.Len() != 0 {
		t.Error("a list reads as kept, and nobody keeps it")
	}
}
