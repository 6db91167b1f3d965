package intake

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestTemplateIsUnderstood: each column of the empty lists is read as itself.
func TestTemplateIsUnderstood(t *testing.T) {
	files, err := Template()
	must(t, err)
	for _, file := range files {
		if file.Name == "columns.txt" {
			for _, l := range Lists {
				for _, f := range l.Fields {
					if !strings.Contains(string(file.Data), f.Name) {
						t.Errorf("%s does not explain %s", file.Name, f.Name)
					}
				}
			}
			continue
		}
		src, err := Read(file.Name, file.Data)
		must(t, err)
		for _, s := range src.Sheets {
			table, _, wrong := recognise(s, &Mapping{})
			if wrong != nil || table == nil || table.List.Name != strings.TrimSuffix(s.mappedAs(), ".csv") {
				t.Fatalf("%s: %v, %v", s.Title(), table, wrong)
			}
			for i, f := range table.List.Fields {
				if table.Columns[i].Field != f.Name {
					t.Errorf("%s: column %q is read as %q", s.Title(), f.Name, table.Columns[i].Field)
				}
			}
		}
	}
}

// TestSynonymsMeanOneThing: no name of a column means two fields of a list.
func TestSynonymsMeanOneThing(t *testing.T) {
	for _, l := range Lists {
		meant := make(map[string]string)
		for _, f := range l.Fields {
			for _, name := range append([]string{f.Name}, f.Also...) {
				if other, twice := meant[folded(name)]; twice {
					t.Errorf("%s: %q means %s and %s", l.Name, name, other, f.Name)
				}
				meant[folded(name)] = f.Name
			}
		}
	}
}

func TestTemplateBookHasNotes(t *testing.T) {
	files, err := Template()
	must(t, err)
	f, err := excelize.OpenReader(bytes.NewReader(files[len(Lists)].Data))
	must(t, err)
	defer f.Close()
	for _, l := range Lists {
		notes, err := f.GetComments(l.Name)
		must(t, err)
		if len(notes) != len(l.Fields) {
			t.Errorf("%s: %d notes; want %d", l.Name, len(notes), len(l.Fields))
		}
	}
}

// written gives a list with the template's columns.
func written(t *rapid.T, list string, rows ...map[string]string) string {
	var b strings.Builder
	out := csv.NewWriter(&b)
	l := ListNamed(list)
	lines := [][]string{l.fieldNames()}
	for _, row := range rows {
		var line []string
		for _, f := range l.Fields {
			line = append(line, Escaped(row[f.Name]))
		}
		lines = append(lines, line)
	}
	if err := out.WriteAll(lines); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// words are texts that a cell keeps: no blanks at the ends or in a row, and
// none that says that nobody knows.
func words(t *rapid.T, label string) string {
	s := tidy(rapid.StringMatching(`[-=+@'A-Za-zé0-9(,;"]{1,6}( [-=+@'A-Za-z0-9.]{1,5})?`).Draw(t, label))
	if isUnknown(s) || spreadsheetError(s) {
		return "x"
	}
	return s
}

func past(t *rapid.T, label string) day.Day {
	return day.MustParse("2026-11-25").Add(-rapid.IntRange(0, 9000).Draw(t, label))
}

// TestRowsComeBack: records written by the template's columns are read as the
// same records.
func TestRowsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		accession, species := words(t, "accession"), "Naja kaouthia"
		arrived := past(t, "arrived")
		a := inventory.Animal{Accession: accession, Owner: words(t, "owner"), From: words(t, "from"), ReceivedAs: words(t, "received as"),
			Arrived: arrived, Born: past(t, "born"), Origin: inventory.Origin{Bred: inventory.Tri(rapid.IntRange(0, 2).Draw(t, "bred")), Country: words(t, "country")}}
		if rapid.Bool().Draw(t, "left") {
			a.Left = &inventory.Disposition{How: inventory.Died, On: arrived.Add(rapid.IntRange(0, int(day.MustParse("2026-11-25")-arrived)).Draw(t, "days")), To: words(t, "to")}
		}
		row := map[string]string{"accession": accession, "species": species, "owner": a.Owner, "from": a.From, "received as": a.ReceivedAs,
			"arrived": a.Arrived.String(), "born": a.Born.String(), "captive bred": a.Origin.Bred.String(), "country": a.Origin.Country}
		if a.Left != nil {
			row["left"], row["how left"], row["gone to"] = a.Left.On.String(), string(a.Left.How), a.Left.To
		}
		x := compliance.Permit{Number: words(t, "number"), Class: "dwa-licence", Issued: past(t, "issued"), Renewable: inventory.Yes,
			Grants: []compliance.Grant{{Rank: compliance.RankSpecies, Taxon: species, Max: rapid.IntRange(0, 99).Draw(t, "max")}, {Rank: compliance.RankGenus, Taxon: "Bitis"}}}
		x.Expires = rapid.SampledFrom([]day.End{{}, day.Forever(), day.Until(x.Issued.Add(900))}).Draw(t, "expires")
		paper := map[string]string{"number": x.Number, "class": x.Class, "issued": x.Issued.String(), "renewable": "yes", "expires": x.Expires.String(),
			"species": showGrant(x.Grants[0]) + "; " + showGrant(x.Grants[1])}
		lot := inventory.Lot{Number: words(t, "lot"), MonthOnly: rapid.Bool().Draw(t, "month")}
		end := past(t, "end")
		vials := map[string]string{"product": "Thai neurotoxic antivenin", "lot": lot.Number, "vials": "7", "place": words(t, "place"), "expires": end.String()}
		if lot.MonthOnly {
			end, vials["expires"] = end.EndOfMonth(), end.String()[:7]
		}
		lot.Labelled = day.Until(end)

		src := &Source{}
		for list, row := range map[string]map[string]string{"animals": row, "papers": paper, "vials": vials} {
			one, err := Read(list+".csv", []byte(written(t, list, row)))
			if err != nil {
				t.Fatal(err)
			}
			src.Sheets = append(src.Sheets, one.Sheets...)
		}
		p, err := NewPlan(src, &compliance.Snapshot{}, first())
		if err != nil {
			t.Fatal(err)
		}
		after, err := p.Batch.Apply(&compliance.Snapshot{})
		if err != nil || len(p.Refusals()) > 0 {
			t.Fatalf("%v\n%s", err, told(p))
		}
		for got := range after.Animals.All() {
			a.ID, a.Species, a.Stays = got.ID, got.Species, got.Stays
			same(t, a, *got)
		}
		for got := range after.Permits.All() {
			x.ID = got.ID
			same(t, x, *got)
		}
		for got := range after.Lots.All() {
			lot.ID, lot.Product = got.ID, got.Product
			if len(got.Movements) != 1 || got.Movements[0].Vials != 7 {
				t.Fatalf("movements %+v", got.Movements)
			}
			lot.Movements = got.Movements
			same(t, lot, *got)
		}
		if after.Animals.Len() != 1 || after.Permits.Len() != 1 || after.Lots.Len() != 1 {
			t.Fatal("a record is missing")
		}
		again, err := NewPlan(src, after, later())
		if err != nil || len(again.Batch) > 0 {
			t.Fatalf("%v: the same once more makes %d changes", err, len(again.Batch))
		}
	})
}

func same[T any](t *rapid.T, want, got T) {
	if diff := cmp.Diff(want, got); diff != "" {
		t.Fatal(diff)
	}
}
