package label

import (
	"strings"
	"testing"

	"antidotary/inventory/day"
)

const (
	engine     = "GS1 syntax engine, commit 50657dbd, tests"
	dictionary = "GS1 syntax dictionary, commit f7e477f17d48"
	worked     = "worked out by hand from the rules"
	gs         = Separator
	item       = "0106291041500213"
)

// TestCodes are element strings with what they say. Where wantErr is given,
// there is no label.
func TestCodes(t *testing.T) {
	for _, v := range []struct {
		id, scan, source string
		want             string // elements in print
		lot, end         string
		monthOnly        bool
		about            string // of the warnings, in order
		wantErr          string
	}{
		{id: "GS-1", scan: "]d2011231231231233310ABC123" + gs + "99TESTING", source: engine,
			want: "(01)12312312312333(10)ABC123(99)TESTING", lot: "ABC123", end: "unknown", about: "end"},
		{id: "GS-2", scan: "]d2", source: engine, wantErr: "is empty"},
		{id: "GS-2", scan: "]C1", source: engine, wantErr: "is empty"},
		{id: "GS-2", scan: "]Q3", source: engine, wantErr: "is empty"},
		{id: "GS-2", scan: "]e0", source: engine, wantErr: "is empty"},
		{id: "GS-2, and a separator", scan: "]C1" + gs, source: worked, wantErr: "is empty"},
		{id: "GS-3", scan: "]d2011231231231233310ABC123" + gs + "99TESTING" + gs, source: engine,
			want: "(01)12312312312333(10)ABC123(99)TESTING", lot: "ABC123", end: "unknown", about: "end"},
		{id: "GS-4", scan: "]d201062910415002131727120010LOT-A1", source: worked,
			want: "(01)06291041500213(17)271200(10)LOT-A1", lot: "LOT-A1", end: "2027-12-31", monthOnly: true},
		{id: "GS-5", scan: item + "10LOT-A117271200", source: worked,
			want: "(01)06291041500213(10)LOT-A117271200", lot: "LOT-A117271200?", end: "unknown", about: "lot end end"},
		{id: "GS-5 with its separator", scan: item + "10LOT-A1" + gs + "17271200", source: worked,
			want: "(01)06291041500213(10)LOT-A1(17)271200", lot: "LOT-A1", end: "2027-12-31", monthOnly: true},
		{id: "GS-5, and more behind it", scan: item + "10LOT-A117271200" + gs + "21S1", source: worked,
			want: "(01)06291041500213(10)LOT-A117271200(21)S1", lot: "LOT-A117271200?", end: "unknown", about: "lot end end"},
		{id: "GS-5 with a serial number", scan: item + "1727120010A12112345678", source: worked,
			want: "(01)06291041500213(17)271200(10)A12112345678", lot: "A12112345678?", end: "2027-12-31", monthOnly: true, about: "lot"},
		{id: "GS-5, the day on which it was made", scan: item + "1727120010A111260500", source: worked,
			want: "(01)06291041500213(17)271200(10)A111260500", lot: "A111260500?", end: "2027-12-31", monthOnly: true, about: "lot"},
		{id: "a lot number with 21 at its end", scan: item + "1727120010L2103", source: worked,
			want: "(01)06291041500213(17)271200(10)L2103", lot: "L2103", end: "2027-12-31", monthOnly: true},
		{id: "the lot number within the serial number", scan: item + "21S110LOT17271200", source: worked,
			want: "(01)06291041500213(21)S110LOT17271200", end: "unknown", about: "lot end"},
		{id: "GS-7, 21 characters", scan: item + "10" + strings.Repeat("A", 21), source: dictionary, wantErr: "at character 17: (10) lot: \"AAAAAAAAAAAAAAAAAAAAA\" is too long"},
		{id: "GS-7, a blank", scan: item + "10AB C", source: dictionary, wantErr: `" " in "AB C" is not allowed`},
		{id: "GS-8", scan: "10ABC", source: dictionary, wantErr: "it says (10) lot, and not of what"},
		{id: "GS-9", scan: "0106291041500214", source: worked, wantErr: "its check digit is 4 and must be 3"},
		{id: "EU, with a day", scan: item + "17210331", source: "European Union, guidance on medicines, as quoted in GS1 material",
			want: "(01)06291041500213(17)210331", end: "2021-03-31", about: "lot"},
		{id: "EU, without a day", scan: item + "17210300", source: "European Union, guidance on medicines, as quoted in GS1 material",
			want: "(01)06291041500213(17)210300", end: "2021-03-31", monthOnly: true, about: "lot"},
		{id: "twice the same", scan: item + "17271200" + item + "10A" + gs + "17271200", source: "GS1 General Specifications 7.8.7, from memory",
			want: "(01)06291041500213(17)271200(10)A", lot: "A", end: "2027-12-31", monthOnly: true},
		{id: "twice, and not the same", scan: item + "17271200" + "17271100", source: "GS1 General Specifications 7.8.7, from memory", wantErr: "(17) expiry twice: 271200 and 271100"},
		{id: "expiry to the minute", scan: item + "10A" + gs + "7003" + "2712311000", source: worked,
			want: "(01)06291041500213(10)A(7003)2712311000", lot: "A", end: "2027-12-30", about: "hour"},
		{id: "expiry to the last minute", scan: item + "10A" + gs + "7003" + "2712312359", source: worked,
			want: "(01)06291041500213(10)A(7003)2712312359", lot: "A", end: "2027-12-31"},
		{id: "expiry to the minute, no day", scan: item + "7003" + "2712001000", source: dictionary, wantErr: "has no day"},
		{id: "expiry to the minute, no hour", scan: item + "7003" + "2712312400", source: dictionary, wantErr: "no time of day"},
		{id: "two expiries", scan: item + "17271231" + "7003" + "2712312359", source: worked, wantErr: "it has two expiries"},
		{id: "an identifier that is not known", scan: item + "17271200" + "310200123410A", source: worked,
			want: "(01)06291041500213(17)271200", end: "2027-12-31", monthOnly: true, about: "rest lot"},
		{id: "it was scanned as it is printed", scan: "(01)06291041500213", source: worked, wantErr: "how a code is printed"},
		{id: "cut in an identifier", scan: item + "1", source: worked, wantErr: "in the middle of an element"},
		{id: "cut in a value", scan: item + "172712", source: worked, wantErr: `"2712" is too short`},
		{id: "two separators", scan: item + "10A" + gs + gs + "17271200", source: worked, wantErr: "is no application identifier"},
		{id: "a case of packs", scan: "00123456789012345675" + "0206291041500213" + "3712" + gs + "17271200" + "10A", source: worked,
			want: "(00)123456789012345675(02)06291041500213(37)12(17)271200(10)A", lot: "A", end: "2027-12-31", monthOnly: true, about: "vials"},
		{id: "a case without its count", scan: "0206291041500213", source: dictionary, wantErr: "one of (37) must stand"},
		{id: "a count beside the item itself", scan: item + "3712", source: dictionary, wantErr: "(37) count of trade items within the unit"},
		{id: "best before is no expiry", scan: item + "1527120010A", source: worked,
			want: "(01)06291041500213(15)271200(10)A", lot: "A", end: "unknown", about: "end"},
		{id: "serial number beside another one's", scan: item + "21A" + gs + "235B", source: dictionary, wantErr: "exclude each other"},
	} {
		t.Run(v.id, func(t *testing.T) {
			l, warnings, err := Read(v.scan, 2026)
			if v.wantErr != "" {
				if err == nil || !strings.Contains(err.Error(), v.wantErr) || len(l.Elements)+len(warnings) > 0 {
					t.Fatalf("%v, %+v; want %q, and nothing else (%s)", err, l, v.wantErr, v.source)
				}
				return
			}
			lot := l.Lot
			if l.LotDoubtful {
				lot += "?"
			}
			if err != nil || inPrint(l.Elements) != v.want || lot != v.lot || l.End.String() != v.end || l.MonthOnly != v.monthOnly {
				t.Errorf("%v: %s, lot %s, end %s %t; want %s, lot %s, end %s %t (%s)", err, inPrint(l.Elements), lot, l.End, l.MonthOnly, v.want, v.lot, v.end, v.monthOnly, v.source)
			}
			if got := subjects(warnings); got != v.about {
				t.Errorf("warnings about %q, want %q: %+v", got, v.about, warnings)
			}
		})
	}
}

func inPrint(all []Element) (s string) {
	for _, e := range all {
		s += e.String()
	}
	return s
}

func subjects(warnings []Warning) string {
	var all []string
	for _, w := range warnings {
		all = append(all, string(w.About))
	}
	return strings.Join(all, " ")
}

// TestPrinted: GS-6, whose parentheses no code carries.
func TestPrinted(t *testing.T) {
	all, err := Printed("(17)120428(10)123456")
	if got := Written(all); err != nil || got != "1712042810123456" {
		t.Errorf("%v: %q; GS1 General Specifications: 1712042810123456", err, got)
	}
	l, warnings, err := ReadPrinted(" (01)06291041500213 (10)LOT-A117271200\n(17)271200", 2026)
	if err != nil || l.Lot != "LOT-A117271200" || l.LotDoubtful || l.End.String() != "2027-12-31" || len(warnings) > 0 {
		t.Errorf("%v: %+v, %+v", err, l, warnings)
	}
	for text, want := range map[string]string{
		"0106291041500213":                "does not begin with",
		"x(01)06291041500213":             "does not begin with",
		"(01)06291041500213(10)A(B":       "parenthesis",
		"(01)06291041500213(10)A\x1d17":   "separator",
		"(01)06291041500213(17)1204(10)1": `"1204" is too short`,
		"(01)06291041500213(3102)001234":  "no application identifier",
		"(17)120428(10)123456":            "not of what",
	} {
		if _, _, err := ReadPrinted(text, 2026); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// TestSymbologies: ISO/IEC 15424 and the GS1 General Specifications, by the
// GS1 syntax engine.
func TestSymbologies(t *testing.T) {
	for _, v := range []struct{ scan, gtin, name, wantErr string }{
		{"]C1" + item, "06291041500213", "GS1-128", ""},
		{"]d2" + item, "06291041500213", "GS1 DataMatrix", ""},
		{"]Q3" + item, "06291041500213", "GS1 QR Code", ""},
		{"]J1" + item, "06291041500213", "GS1 DotCode", ""},
		{"]e0" + item, "06291041500213", "GS1 DataBar or composite", ""},
		{"]E06291041500213", "06291041500213", "EAN-13 or UPC", ""},
		{"]E402345673", "00000002345673", "EAN-8", ""},
		{"]E402345674", "", "", "check digit"},
		{"]E46291041500213", "", "", "not as long"},
		{"]E002345673", "", "", "not as long"},
		{"]d1" + item, "", "", "not of GS1"},
		{"]Q1" + item, "", "", "not of GS1"},
		{"]J0" + item, "", "", "not of GS1"},
		{"]A0" + item, "", "", "not read here"},
		{"]", "", "", "not read here"},
		{gs + item, "06291041500213", "", ""},
	} {
		l, _, err := Read(v.scan, 2026)
		if v.wantErr != "" {
			if err == nil || !strings.Contains(err.Error(), v.wantErr) {
				t.Errorf("%q: %v, want %q", v.scan, err, v.wantErr)
			}
			continue
		}
		if err != nil || l.GTIN != v.gtin || l.SymbologyName() != v.name {
			t.Errorf("%q: %v: %s by %q, want %s by %q", v.scan, err, l.GTIN, l.SymbologyName(), v.gtin, v.name)
		}
	}
}

func TestCheckDigits(t *testing.T) {
	for _, v := range []struct {
		before string
		want   byte
		source string
	}{
		{"629104150021", '3', "gs1.org, manual calculation"},
		{"0629104150021", '3', "gs1.org, manual calculation, 14 digits"},
		{"730001100001", '7', "gs1.se"},
		{"501234567890", '0', "gs1uk.org"},
	} {
		if got, err := CheckDigit(v.before); err != nil || got != v.want {
			t.Errorf("%s: %c, %v; want %c (%s)", v.before, got, err, v.want, v.source)
		}
	}
	for text, right := range map[string]bool{ // dictionary, src/lint_csum.c
		"02345673": true, "416000336108": true, "1234567890128": true, "12345678901231": true, "123456789012345675": true,
		"12345673": false, "416000336109": false, "1234567890129": false, "12345678901232": false, "123456789012345670": false,
		"": false, "0": false, "1234567890x28": false,
	} {
		if err := checkDigit(text); (err == nil) != right {
			t.Errorf("%q: %v, want right: %t", text, err, right)
		}
	}
	for text, want := range map[string]string{"6291041500213": "06291041500213", "06291041500213": "06291041500213", "416000336108": "00416000336108", "02345673": "00000002345673",
		"123456789012345675": "", "629104150021": "", "62910415 0213": ""} {
		if got, err := TradeItem(text); got != want || (err == nil) != (want != "") {
			t.Errorf("%q: %q, %v, want %q", text, got, err, want)
		}
	}
}

// TestCheckPairs: dictionary, src/lint_csumalpha.c, commit 101d3a46e2f8.
func TestCheckPairs(t *testing.T) {
	for text, right := range map[string]bool{
		"22": true, "!22": true, "1987654Ad4X4bL5ttr2310c2K": true, "12345678901234567890123NT": true, `12345_!"%&'()*+,-./LC`: true, "12345_nopqrstuvwxyzP2": true, "99999zzzzzzzzzzzzzzzzzzT2": true,
		"2": false, "33": false, "1987654Ad4X4bL5ttr2310cXK": false, "1987654Ad4X4bL5ttr2310c2X": false,
	} {
		if err := checks["csumalpha"](text, 2026); (err == nil) != right {
			t.Errorf("%q: %v, want right: %t", text, err, right)
		}
	}
}

// TestDates: dictionary, src/lint_yymmd0.c, which takes the year 2021; day 00
// by the GS1 General Specifications.
func TestDates(t *testing.T) {
	for _, text := range []string{"200600", "200229", "240229", "210228", "000606", "990606"} {
		if _, _, err := date(text, 2021, true); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
	for _, text := range []string{"210229", "200230", "200431", "201310", "200010", "200132", "", "1", "11111", "1111111", "x00131", "20013x", "2 0131"} {
		if d, _, err := date(text, 2021, true); err == nil {
			t.Errorf("%q is %s", text, d)
		}
	}
	for text, want := range map[string]string{"130200": "2013-02-28", "160200": "2016-02-29", "271200": "2027-12-31"} {
		if d, monthOnly, err := date(text, 2021, true); err != nil || !monthOnly || d.String() != want {
			t.Errorf("%s: %s %t %v, want %s", text, d, monthOnly, err, want)
		}
		if d, _, err := date(text, 2021, false); err == nil {
			t.Errorf("%s without a day is %s", text, d)
		}
	}
	withDay, _, _ := date("210331", 2021, true)
	without, _, _ := date("210300", 2021, true)
	if withDay != without || withDay != day.MustParse("2021-03-31") {
		t.Errorf("%s and %s: the European Union takes them as one", withDay, without)
	}
}

// TestCenturies: GS1 General Specifications 7.12.
func TestCenturies(t *testing.T) {
	for _, v := range []struct{ current, yy, want int }{
		{2026, 76, 2076}, {2026, 77, 1977}, {2026, 0, 2000}, {2026, 99, 1999}, {2060, 10, 2110}, {2060, 11, 2011}, {1999, 49, 2049}, {1999, 50, 1950},
	} {
		if got := century(v.yy, v.current); got != v.want {
			t.Errorf("%02d in %d is %d, want %d", v.yy, v.current, got, v.want)
		}
	}
	for year := firstYear; year <= lastYear; year++ {
		for yy := range 100 {
			if got := century(yy, year); got < year-49 || got > year+50 || got%100 != yy {
				t.Fatalf("%02d in %d is %d", yy, year, got)
			}
		}
	}
	for _, year := range []int{0, firstYear - 1, lastYear + 1} {
		if _, _, err := Read(item, year); err == nil {
			t.Errorf("the year %d is taken", year)
		}
	}
}

// TestMeaning: the rest of what a label says. Hundredths of a degree: GS1 list
// of application identifiers; the sums by hand.
func TestMeaning(t *testing.T) {
	l, _, err := Read("00123456789012345675"+"0206291041500213"+"3712"+gs+"11260500"+"10A"+gs+"4331000800"+gs+"4333000250-", 2026)
	if err != nil || l.Contains != "06291041500213" || l.GTIN != "" || l.Packs != 12 || l.Made.String() != "2026-05-31" || !l.MadeMonthOnly || *l.StoreMax != 8_000 || *l.StoreMin != -2_500 {
		t.Errorf("%v: %+v", err, l)
	}
	l, _, err = Read("00123456789012345675"+"4330004640"+gs+"4332003560", 2026)
	if err != nil || *l.StoreMax != 8_000 || *l.StoreMin != 2_000 {
		t.Errorf("46.40 and 35.60 degrees Fahrenheit: %v: %+v", err, l)
	}
	l, _, err = Read("00123456789012345675"+"4330004641"+gs+"4332003561", 2026)
	if err != nil || *l.StoreMax != 8_005 || *l.StoreMin != 2_006 {
		t.Errorf("46.41 and 35.61 degrees Fahrenheit, rounded to the narrower range: %v: %d, %d", err, *l.StoreMax, *l.StoreMin)
	}
	l, _, err = Read("00123456789012345675"+"4330000001"+gs+"4332000001", 2026)
	if err != nil || *l.StoreMax != -17_773 || *l.StoreMin != -17_772 {
		t.Errorf("0.01 degrees Fahrenheit, rounded to the narrower range: %v: %d, %d", err, *l.StoreMax, *l.StoreMin)
	}
	l, _, err = Read(item+"305"+gs+"21S/1", 2026)
	if err != nil || l.Items != 5 || l.Serial != "S/1" || l.Elements[1].Title() != "count of items" {
		t.Errorf("%v: %+v", err, l)
	}
	l, _, err = Read(item+"7003"+"2712310930", 2026)
	if err != nil || l.EndsAt.String() != "2027-12-31 09:30" {
		t.Errorf("%v: %+v", err, l.EndsAt)
	}
}

// TestTable: the character sets, and that no identifier begins with another.
func TestTable(t *testing.T) {
	if len(set82) != 82 || len(set39) != 39 || len(set32) != 32 {
		t.Errorf("%d, %d and %d characters", len(set82), len(set39), len(set32))
	}
	var starts []string
	for ai, id := range identifiers {
		for other := range identifiers {
			if other != ai && strings.HasPrefix(other, ai) {
				t.Errorf("%s begins with %s", other, ai)
			}
		}
		if id.title == "" || len(id.parts) == 0 {
			t.Errorf("%s: %+v", ai, id)
		}
		// GS1 General Specifications, figure 7.8.5-2, from memory: the first two
		// digits of identifiers with a predefined length.
		if id.predefined != strings.Contains("00 01 02 03 04 11 12 13 14 15 16 17 18 19 20 31 32 33 34 35 36 41", ai[:2]) {
			t.Errorf("%s: predefined length: %t", ai, id.predefined)
		}
		starts = append(starts, ai)
	}
	if len(starts) != len(table)+8 {
		t.Errorf("%d identifiers in %d rows", len(starts), len(table))
	}
}
