package intake

import (
	"strings"
	"testing"

	"antidotary/compliance"
)

func TestCSV(t *testing.T) {
	for _, c := range []struct{ name, text string }{
		{"commas", "accession,species\nA1,Naja kaouthia\n"},
		{"semicolons", "accession;species\nA1;Naja kaouthia\n"},
		{"tabs", "accession\tspecies\nA1\tNaja kaouthia\n"},
		{"a byte order mark and CRLF", "\ufeffaccession,species\r\nA1,Naja kaouthia\r\n"},
		{"titles and blank lines above", "The house\n\n,,\naccession,species\nA1,Naja kaouthia\n"},
		{"another order, other words", "Latin Name;ACC. NO\nNaja kaouthia;A1\n"},
		{"blanks within a name", "accession,species\nA1,\" Naja   kaouthia \"\n"},
		{"a header cell of two lines", "\"accession\nnumber\",species\nA1,Naja kaouthia\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := planned(t, folder(t, map[string]string{"list.csv": c.text}), &compliance.Snapshot{}, first())
			wantFates(t, p, map[Fate]int{New: 1})
			animalCalled(t, applied(t, p, &compliance.Snapshot{}), "A1")
		})
	}
}

// TestPlacesInCSV: lines are those of the file, and columns count characters.
func TestPlacesInCSV(t *testing.T) {
	p := planned(t, folder(t, map[string]string{"animals.csv": "owner,accession,species,arrived\n\"Zoë\nÅ\",A1,Naja kaouthia,soon\nZoë,A2,Naja kaouthia,soon\n"}), recorded(t), later())
	for _, want := range []string{"animals.csv:3:21: arrived", "animals.csv:4:22: arrived"} {
		if !strings.Contains(told(p), want) {
			t.Errorf("not told: %s\n%s", want, told(p))
		}
	}
}

func TestFilesThatCannotBeRead(t *testing.T) {
	for _, c := range []struct{ name, file, text, want string }{
		{"another encoding", "animals.csv", "accession,species\nA1,Na\xefve\n", "animals.csv:2:6: byte 0xef is no text in UTF-8"},
		{"a NUL", "animals.csv", "accession,species\nA1,\x00\n", "animals.csv:2:4: byte 0x00"},
		{"an open quote", "animals.csv", "accession,species\nA1,\"Naja\n", "animals.csv:"},
		{"another kind of file", "animals.ods", "x", "save it as one of them"},
		{"no workbook", "animals.xlsx", "x", "save it as .xlsx without a password"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Read(c.file, []byte(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v; want %q", err, c.want)
			}
		})
	}
}

// TestListsThatCannotBeRead: a file that is called like a list but is none is
// told, beside the others that are taken.
func TestListsThatCannotBeRead(t *testing.T) {
	p := planned(t, folder(t, map[string]string{
		"animals.csv": "accession,species\nA9,Naja kaouthia\n",
		"permits.csv": "number,until\nP9,2027-01-01\n",
		"stock.csv":   "product,lot,vials,count,place\nThai neurotoxic antivenin,L9,4,5,door\n",
	}), recorded(t), later())
	for _, want := range []string{"permits.csv:1:1: has no header row for papers", `the columns "vials" and "count" both mean it`} {
		if !strings.Contains(told(p), want) {
			t.Errorf("not told: %s\n%s", want, told(p))
		}
	}
	wantFates(t, p, map[Fate]int{New: 1})
}
