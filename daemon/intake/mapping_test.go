package intake

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
)

// TestMappingComesBack: what is saved is read as it was, whatever columns are
// called.
func TestMappingComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.Custom(func(t *rapid.T) string {
			s := titled(rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"true", "12", "2026-01-01", "null", "~", "- a", "a: b", "#x", "'", `"`, "&a", "*a", "{", "<<"})).Draw(t, "name"))
			if s == "" {
				return "x"
			}
			return s
		})
		m := &Mapping{Format: 1, Dates: rapid.SampledFrom([]Order{"", DMY, MDY, YMD}).Draw(t, "dates")}
		for range rapid.IntRange(0, 2).Draw(t, "accepted") {
			m.Accept = append(m.Accept, Accepted{name.Draw(t, "written"), name.Draw(t, "means")})
		}
		for range rapid.IntRange(0, 2).Draw(t, "sheets") {
			m.Sheets = append(m.Sheets, SheetMapping{Sheet: name.Draw(t, "sheet"), List: "vials",
				Columns: []ColumnMapping{{name.Draw(t, "column"), "lot"}, {name.Draw(t, "other"), ignored}}})
		}
		data, err := m.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		back, err := ReadMapping("map.yaml", data)
		if err != nil {
			t.Fatalf("%v\n%s", err, data)
		}
		if diff := cmp.Diff(m, back); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestMappingsThatCannotBe(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"another format", "format: 2\n", "map.yaml:1:9: format"},
		{"a mistyped key", "format: 1\ndate: dmy\n", `did you mean "dates"`},
		{"an order that is none", "format: 1\ndates: dym\n", "map.yaml:2:8: dates"},
		{"a list that is none", "format: 1\nsheets:\n  - sheet: x\n    list: snakes\n", "map.yaml:4:11: sheets[1].list"},
		{"a field of another list", "format: 1\nsheets:\n  - sheet: x\n    list: vials\n    columns: [{column: a, field: accession}]\n", "allowed: product, lot"},
		{"a field twice", "format: 1\nsheets:\n  - sheet: x\n    list: vials\n    columns: [{column: a, field: lot}, {column: b, field: lot}]\n", `is "lot" again`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := ReadMapping("map.yaml", []byte(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v; want %q", err, c.want)
			}
		})
	}
}

// TestMappedColumns: the mapping file decides which list a sheet is and which
// column is which field, before names do.
func TestMappedColumns(t *testing.T) {
	s := first()
	s.Mapping = &Mapping{Dates: DMY, Sheets: []SheetMapping{{Sheet: "cobras.csv", List: "animals", Columns: []ColumnMapping{
		{"Nr", "accession"}, {"Wer", "species"}, {"Since when", "arrived"}, {"Arrived", ignored}}}}}
	p := planned(t, folder(t, map[string]string{"cobras.csv": "Nr,Wer,Since when,Arrived\nA1,Naja kaouthia,03/02/2025,by car\n"}), &compliance.Snapshot{}, s)
	wantFates(t, p, map[Fate]int{New: 1})
	if a := animalCalled(t, applied(t, p, &compliance.Snapshot{}), "A1"); a.Arrived.String() != "2025-02-03" {
		t.Errorf("arrived %s", a.Arrived)
	}
	if len(p.NotRead) > 0 {
		t.Errorf("not read: %v", p.NotRead)
	}
	if diff := cmp.Diff(s.Mapping.Sheets, p.Mapping.Sheets); diff != "" {
		t.Error(diff)
	}
}

func TestAgree(t *testing.T) {
	m := &Mapping{}
	for _, c := range []struct {
		pair string
		ok   bool
	}{
		{"N. kaouthia=Naja kaouthia", true}, {"N. kaouthia = Naja  kaouthia", true}, {"N. kaouthia=Naja naja", false}, {"Naja", false}, {"=Naja naja", false}, {"x=", false}, {"x\x00=y", false},
	} {
		if err := m.Agree(c.pair); (err == nil) != c.ok {
			t.Errorf("%q: %v", c.pair, err)
		}
	}
	if len(m.Accept) != 1 {
		t.Errorf("accepted: %v", m.Accept)
	}
}
