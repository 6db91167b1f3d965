package intake

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// edited changes cells of an exported list: rows by what stands in one
// of their cells; + is a new row.
func edited(t *testing.T, data []byte, edits map[string]map[string]string) []byte {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	must(t, err)
	for name, cells := range edits {
		i := slices.IndexFunc(rows, func(row []string) bool { return slices.Contains(row, name) })
		if name == "+" {
			i, rows = len(rows), append(rows, make([]string, len(rows[0])))
		}
		if i < 0 {
			t.Fatalf("no row %q", name)
		}
		for column, text := range cells {
			c := slices.Index(rows[0], column)
			if c < 0 {
				t.Fatalf("no column %q in %q", column, rows[0])
			}
			rows[i][c] = text
		}
	}
	var b bytes.Buffer
	must(t, csv.NewWriter(&b).WriteAll(rows))
	return b.Bytes()
}

// without takes columns away.
func without(t *testing.T, data []byte, columns ...string) []byte {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	must(t, err)
	for _, column := range columns {
		c := slices.Index(rows[0], column)
		for i := range rows {
			rows[i] = slices.Delete(rows[i], c, c+1)
		}
	}
	var b bytes.Buffer
	must(t, csv.NewWriter(&b).WriteAll(rows))
	return b.Bytes()
}

func back(t *testing.T, files map[string][]byte, was *compliance.Snapshot, s Settings) *Plan {
	t.Helper()
	s.Now = noon
	return planned(t, readFiles(t, files), was, s)
}

const papersMark, animalsMark = "export 1: papers", "export 1: animals"

// TestEditedLists: what is edited changes, and nothing else; a blank is
// nothing; a new row is a new record, which others may name.
func TestEditedLists(t *testing.T) {
	was := recorded(t)
	files := csvFolder(t, was)
	files["animals.csv"] = edited(t, files["animals.csv"], map[string]map[string]string{
		"A1": {"arrived": "", "owner": "=the house", "captive bred": "yes", "enclosures": "E-01 @ Thornbury Lane | 2025-01-05; E-02 @ Thornbury Lane | 2026-02-01;"},
		"+":  {"accession": "A3", "species": "Naja kaouthia", "received as": "two\\nlines"},
	})
	files["papers.csv"] = edited(t, files["papers.csv"], map[string]map[string]string{
		"P1": {"species": "genus Naja except Naja naja, Naja atra: 3; any", "animals": "A3; A1", "suspensions": "2026-03-01 | "},
	})
	files["vials.csv"] = without(t, files["vials.csv"], "lot") // stays as it is recorded
	p := back(t, files, was, Settings{})
	if wrong := p.Refusals(); len(wrong) > 0 {
		t.Fatal(wrong)
	}
	after := applied(t, p, was)
	a1, a3 := animalCalled(t, after, "A1"), animalCalled(t, after, "A3")
	if !a1.Arrived.IsZero() || a1.Owner != "=the house" || a1.Origin.Bred != inventory.Yes || len(a1.Stays) != 2 || a1.Stays[1].From != day.MustParse("2026-02-01") {
		t.Errorf("%+v", a1)
	}
	if a3.ReceivedAs != "two\nlines" {
		t.Errorf("%+v", a3)
	}
	for x := range after.Permits.All() {
		if len(x.Animals) != 2 || x.Animals[0] != a3.ID || len(x.Suspensions) != 1 || len(x.Grants) != 2 || len(x.Grants[0].Except) != 2 || x.Grants[0].Max != 3 {
			t.Errorf("%+v", x)
		}
	}
	lotCalled(t, after, "L1")
	if n := len(p.Batch); n != 3 {
		t.Errorf("%d changes; want 3", n)
	}
	wantFates(t, p, map[Fate]int{New: 1, Changed: 2, Same: len(p.Entries) - 3})
}

// TestTradeItemNumbers: a spreadsheet takes their zeros away, and one that was
// mistyped or is another product's is refused.
func TestTradeItemNumbers(t *testing.T) {
	was := recorded(t)
	var one, two inventory.Product
	for x := range was.Products.All() {
		one = *x
	}
	one.GTINs = []string{"06291041500213", "00000002345673"}
	two = inventory.Product{ID: inventory.NewID(), Type: "two", GTINs: []string{"12345678901231"}}
	was, err := compliance.Batch{compliance.Record(one), compliance.Record(two)}.Apply(was)
	must(t, err)
	for cell, want := range map[string]string{
		"06291041500213; 00000002345673": "",
		"6291041500213; 2345673":         "",
		"6291041500214":                  `gtins: "06291041500214" is no trade item number: its check digit is 4 and must be 3`,
		"6.29104E+12":                    `gtins: "6.29104E+12" is no trade item number`,
		"2345673; 2345673":               `gtins: 00000002345673 is there twice`,
		"12345678901231":                 `the trade item number 12345678901231 is already recorded of "two"`,
	} {
		files := csvFolder(t, was)
		files["products.csv"] = edited(t, files["products.csv"], map[string]map[string]string{one.Type: {"trade item numbers": cell}})
		p := back(t, files, was, Settings{})
		if len(p.Batch) > 0 || (len(p.Refusals()) > 0) != (want != "") || !strings.Contains(told(p), want) {
			t.Errorf("%s: %d changes, told %s; want %q", cell, len(p.Batch), told(p), want)
		}
	}
}

// TestSeveralOffersOfASupplier: in packs of two sizes they come back, and an
// order still says by which it is. Two of one pack and day are one offer.
func TestSeveralOffersOfASupplier(t *testing.T) {
	product := inventory.Product{ID: inventory.NewID(), Type: "Thai neurotoxic antivenin"}
	site := inventory.Site{ID: inventory.NewID(), Title: "Thornbury Lane", Zone: "UTC"}
	house := inventory.Organisation{ID: inventory.NewID(), Title: "Thornbury", Victims: 1}
	site.Organisation = house.ID
	place := inventory.Place{ID: inventory.NewID(), Site: site.ID, Title: "locked fridge"}
	small := inventory.Supply{ID: inventory.NewID(), Product: product.ID, Supplier: "Fictional Sera", PackSize: 1}
	large := inventory.Supply{ID: inventory.NewID(), Product: product.ID, Supplier: "Fictional Sera", PackSize: 5}
	order := inventory.Order{ID: inventory.NewID(), Number: "O1", Product: product.ID, Place: place.ID, Supply: large.ID, Vials: 5,
		Stages: []inventory.Stage{{What: inventory.StageOrdered, On: day.First}}}
	was, err := compliance.Batch{compliance.Record(house), compliance.Record(site), compliance.Record(product), compliance.Record(place),
		compliance.Record(small), compliance.Record(large), compliance.Record(order)}.Apply(&compliance.Snapshot{})
	must(t, err)
	for form, export := range exports {
		t.Run(form, func(t *testing.T) { roundTrip(t, was, export) })
	}
	files := csvFolder(t, was)
	files["supplies.csv"] = edited(t, files["supplies.csv"], map[string]map[string]string{
		"+": {"supplier": "Fictional Sera", "product": product.Type, "vials in a pack": "5"},
	})
	p := back(t, files, was, Settings{})
	if wrong := told(p); len(p.Refusals()) != 1 || !strings.Contains(wrong, `another supply is already recorded as "Fictional Sera"`) || len(p.Batch) > 0 {
		t.Errorf("%d changes, refused:\n%s", len(p.Batch), wrong)
	}
}

// TestOldExports: a row that nobody edited never takes a newer record back,
// and one that was edited while its record changed is refused.
func TestOldExports(t *testing.T) {
	was := recorded(t)
	files := csvFolder(t, was)
	var paper compliance.Permit
	for x := range was.Permits.All() {
		paper = *x
	}
	paper.Suspensions = []compliance.Suspension{{From: day.MustParse("2026-11-20")}}
	now, err := compliance.Record(paper).Apply(was)
	must(t, err)
	p := back(t, files, now, Settings{})
	if len(p.Batch) > 0 || len(p.Refusals()) > 0 {
		t.Errorf("an old export takes %d records back; refused: %s", len(p.Batch), told(p))
	}
	if len(p.Assumed) != 1 || !strings.Contains(p.Assumed[0], "1 rows are as they were exported") {
		t.Errorf("%q", p.Assumed)
	}
	files["papers.csv"] = edited(t, files["papers.csv"], map[string]map[string]string{"P1": {"expires": "2029-01-31"}})
	p = back(t, files, now, Settings{})
	if want := "the record has changed since it was exported"; len(p.Batch) > 0 || !strings.Contains(told(p), want) {
		t.Errorf("%d changes; told %q, want %q", len(p.Batch), told(p), want)
	}
	files["papers.csv"] = edited(t, files["papers.csv"], map[string]map[string]string{"P1": {"as exported": ""}})
	if p = back(t, files, now, Settings{}); len(p.Batch) > 0 || !strings.Contains(told(p), "as exported: is blank") {
		t.Errorf("%d changes; told %q", len(p.Batch), told(p))
	}
	if p = back(t, map[string][]byte{"papers.csv": without(t, files["papers.csv"], "as exported")}, now, Settings{}); len(p.Batch) > 0 {
		t.Error("without the column a newer record is taken back")
	}
}

// TestBadWholeCells refuse their rows, with the place and what is allowed.
func TestBadWholeCells(t *testing.T) {
	was := recorded(t)
	id := ""
	for a := range was.Animals.All() {
		id = a.ID.String()
	}
	for _, c := range []struct {
		name, list, row string
		cells           map[string]string
		want            string
	}{
		{"no identifier", "animals", "A1", map[string]string{animalsMark: "A1"}, `animals.csv:2:1: id: "A1" is no identifier`},
		{"one identifier twice", "animals", "A1", map[string]string{animalsMark: id}, `animals.csv:2:1: id: stands here and at animals.csv:3:1`},
		{"one number twice", "animals", "A1", map[string]string{"accession": "A2"}, `"A2" stands here and at animals.csv:3:38`},
		{"a species that is not recorded", "animals", "A1", map[string]string{"species": "Naja kaoutia"}, `species: "Naja kaoutia" is not a recorded species, nor in this source; did you mean "Naja kaouthia"?`},
		{"a date both ways", "animals", "A1", map[string]string{"arrived": "03/02/2025"}, `arrived: "03/02/2025" may be 2025-02-03 or 2025-03-02`},
		{"a failed formula", "animals", "A1", map[string]string{"owner": "#REF!"}, `owner: "#REF!" is a formula that failed`},
		{"a backslash", "animals", "A1", map[string]string{"owner": `C:\Temp`}, `owner: "C:\\Temp" has a backslash that means nothing; write \\ for a backslash`},
		{"too few parts", "animals", "A1", map[string]string{"enclosures": "2025-01-05"}, `enclosures: "2025-01-05" has 1 parts; these are required: enclosure | from`},
		{"perhaps", "animals", "A1", map[string]string{"captive bred": "perhaps"}, `captive bred: "perhaps" is not allowed`},
		{"left, nobody says how", "animals", "A1", map[string]string{"left": "2026-01-01"}, `left.how`},
		{"no reference", "animals", "A1", map[string]string{"custodian": "Marta"}, `custodian: "Marta" is no reference; a kind and a name are required`},
		{"another kind of record", "papers", "P1", map[string]string{"holder": "planned: x"}, `holder: "x" is no identifier`},
		{"except a single species", "papers", "P1", map[string]string{"species": "Naja naja except Naja atra"}, `except is allowed after genus NAME`},
		{"no number", "house", "Thornbury Lane collection", map[string]string{"victims": "two"}, `victims: "two" is no number`},
		{"an enclosure without site", "animals", "A1", map[string]string{"enclosures": "E-01 | 2025-01-05"}, `enclosure: "E-01" is no enclosure; write code @ site`},
		{"a class that no rule could ask for", "papers", "P1", map[string]string{"class": "DWA Licence"}, `class: "DWA Licence" is not allowed`},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := csvFolder(t, was)
			files[c.list+".csv"] = edited(t, files[c.list+".csv"], map[string]map[string]string{c.row: c.cells})
			p := back(t, files, was, Settings{})
			if !strings.Contains(told(p), c.want) {
				t.Errorf("told: %s\nwant: %s", told(p), c.want)
			}
			if len(p.Batch) > 0 {
				t.Error("a refused row makes a change")
			}
		})
	}
}

// TestWhatRestsOnARefusedRow is refused with it.
func TestWhatRestsOnARefusedRow(t *testing.T) {
	was := recorded(t)
	files := csvFolder(t, was)
	files["animals.csv"] = edited(t, files["animals.csv"], map[string]map[string]string{"+": {"accession": "A3", "species": "Naja kaouthia", "born": "spring"}})
	files["papers.csv"] = edited(t, files["papers.csv"], map[string]map[string]string{"P1": {"animals": "A3"}})
	p := back(t, files, was, Settings{})
	if len(p.Batch) > 0 || !strings.Contains(told(p), "the row of animal A3 was refused") {
		t.Errorf("%d changes, told %s", len(p.Batch), told(p))
	}
	empty := back(t, csvFolder(t, was), &compliance.Snapshot{}, Settings{})
	whole := len(empty.Batch)
	files = csvFolder(t, was)
	files["sites.csv"] = edited(t, files["sites.csv"], map[string]map[string]string{"Thornbury Lane": {"zone": "Nowhere/Here"}})
	if p = back(t, files, &compliance.Snapshot{}, Settings{}); len(p.Batch) >= whole-4 {
		t.Errorf("without its site the house still makes %d of %d records\n%s", len(p.Batch), whole, told(p))
	}
	applied(t, p, &compliance.Snapshot{}) // what is left holds
}

// TestARecordedName: a new row whose number another record has is refused, and
// so is a species that goes by another one's name.
func TestARecordedName(t *testing.T) {
	was := recorded(t)
	files := csvFolder(t, was)
	p := back(t, map[string][]byte{
		"animals.csv": edited(t, files["animals.csv"][:bytes.IndexByte(files["animals.csv"], '\n')+1], map[string]map[string]string{"+": {"accession": "A1", "species": "Naja kaouthia"}}),
		"species.csv": edited(t, files["species.csv"], map[string]map[string]string{"+": {"accepted name": "Naja siamensis", "synonyms": "Naja kaouthia"}}),
	}, was, Settings{})
	for _, want := range []string{`accession: "A1" is recorded already, with the identifier `, `another species is already recorded as "Naja kaouthia"`} {
		if !strings.Contains(told(p), want) {
			t.Errorf("told %s\nwant %s", told(p), want)
		}
	}
	if len(p.Batch) > 0 {
		t.Errorf("%d changes", len(p.Batch))
	}
}

// TestRejectsOfWholeLists come back once they are corrected.
func TestRejectsOfWholeLists(t *testing.T) {
	was := recorded(t)
	files := csvFolder(t, was)
	files["animals.csv"] = edited(t, files["animals.csv"], map[string]map[string]string{"A1": {"born": "spring", "owner": "=x"}})
	p := back(t, files, was, Settings{})
	data, err := p.Rejects(p.Tables[slices.IndexFunc(p.Tables, func(t *Table) bool { return t.List.Name == "animals" })])
	must(t, err)
	data = edited(t, data, map[string]map[string]string{"A1": {"born": "2024-04-01"}})
	p = back(t, map[string][]byte{"corrected.csv": data}, was, Settings{})
	wantFates(t, p, map[Fate]int{Changed: 1})
	if a := animalCalled(t, applied(t, p, was), "A1"); a.Born != day.MustParse("2024-04-01") || a.Owner != "=x" {
		t.Errorf("%+v", a)
	}
}

// TestPapersThatRenewEachOther come back, although each refers to the other.
func TestPapersThatRenewEachOther(t *testing.T) {
	one, two := compliance.Permit{ID: inventory.NewID(), Number: "1", Class: "c"}, compliance.Permit{ID: inventory.NewID(), Number: "2", Class: "c"}
	linked := one
	linked.Renews, two.Renews = two.ID, one.ID
	s, err := compliance.Batch{compliance.Record(one), compliance.Record(two), compliance.Record(linked)}.Apply(&compliance.Snapshot{})
	must(t, err)
	roundTrip(t, s, exports["csv"])
}

// TestSemicolons: a spreadsheet may save an export so, with the columns in
// another order and dates its own way, if the order is declared.
func TestSemicolons(t *testing.T) {
	was := recorded(t)
	text := animalsMark + ";species;arrived;accession;as exported\n;Naja kaouthia;17/05/2024;A9;\n"
	p := back(t, map[string][]byte{"x.csv": []byte(text)}, was, Settings{Mapping: &Mapping{Dates: DMY}})
	wantFates(t, p, map[Fate]int{New: 1})
	if a := animalCalled(t, applied(t, p, was), "A9"); a.Arrived != day.MustParse("2024-05-17") {
		t.Errorf("%+v", a)
	}
}
