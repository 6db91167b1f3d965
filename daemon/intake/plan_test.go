package intake

import (
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestBadCells: each refuses its row with the place of the cell and what is
// allowed.
func TestBadCells(t *testing.T) {
	was := recorded(t)
	const animals, papers, vials = "animals.csv", "papers.csv", "vials.csv"
	for _, c := range []struct{ name, file, head, row, want string }{
		{"no accession", animals, "accession,species", ",Naja kaouthia", `animals.csv:2:1: accession: is blank`},
		{"an abbreviated species", animals, "accession,species", "A9,N. kaouthia", `animals.csv:2:4: species: "N. kaouthia" is not a recorded species; did you mean "Naja kaouthia"`},
		{"another case", animals, "accession,species", "A9,naja kaouthia", `did you mean "Naja kaouthia"`},
		{"a species that is not recorded", animals, "accession,species", "A9,Bitis arietans", `--new-species`},
		{"half a name", animals, "accession,species", "A9,Cobra", `not a recorded species`},
		{"a site that is not recorded", animals, "accession,species,site", "A9,Naja kaouthia,Thornbury Lne", `animals.csv:2:18: site: "Thornbury Lne" is not a recorded site; did you mean "Thornbury Lane"`},
		{"a date both ways", animals, "accession,species,arrived", "A9,Naja kaouthia,03/02/2026", `animals.csv:2:18: arrived: "03/02/2026" may be 2026-02-03 or 2026-03-02`},
		{"an arrival to come", animals, "accession,species,arrived", "A9,Naja kaouthia,2026-11-26", `is after today, 2026-11-25`},
		{"left before it came", animals, "accession,species,arrived,left,how left", "A9,Naja kaouthia,2025-05-01,2025-04-01,death", `not before the arrival`},
		{"left, nobody says how", animals, "accession,species,left", "A9,Naja kaouthia,2025-04-01", `how left: is not given`},
		{"left, nobody says when", animals, "accession,species,how left", "A9,Naja kaouthia,sold", `"sold" is not allowed; allowed: death`},
		{"bred, perhaps", animals, "accession,species,bred", "A9,Naja kaouthia,captive", `captive bred: "captive" is not allowed`},
		{"a failed formula", animals, "accession,species,owner", "A9,Naja kaouthia,#REF!", `owner: "#REF!" is a formula that failed`},
		{"back in time", animals, "accession,species,enclosure,since", "A1,Naja kaouthia,E-09,2024-01-01", `since: 2024-01-01 is before the animal came`},
		{"a class that no rule could ask for", papers, "number,class", "P9,DWA (licence)", `class: "dwa-(licence)" is not allowed`},
		{"a paper's month", papers, "number,class,expires", "P9,dwa-licence,02/2027", `papers.csv:2:16: expires: "02/2027" is no full date`},
		{"a paper that ends before it begins", papers, "number,class,issued,expires", "P9,dwa-licence,2026-02-01,2026-01-01", `before the paper begins`},
		{"an unknown authority", papers, "number,class,authority", "P9,dwa-licence,Another Council", `--new-authorities ZONE`},
		{"a holder whom nobody knows", papers, "number,class,holder", "P9,dwa-licence,Somebody", `not a recorded house or person`},
		{"an animal that is not recorded", papers, "number,class,animals", "P9,dwa-licence,A1;A7", `animals: "A7" is not a recorded animal`},
		{"a mistyped species on a paper", papers, "number,class,species", "P9,dwa-licence,Naja kaoutia: 3", `species: "Naja kaoutia" is not a recorded species; did you mean "Naja kaouthia"`},
		{"a common name on a paper", papers, "number,class,species", "P9,dwa-licence,cobras", `no full scientific name`},
		{"a number of none", papers, "number,class,species", "P9,dwa-licence,Naja kaouthia: 0", `allows none`},
		{"an estimate", vials, "product,lot,vials,place", "Thai neurotoxic antivenin,L9,~10,locked fridge", `vials.csv:2:30: vials: "~10" is an estimate: a counted number is needed; leave the row out until somebody has counted`},
		{"another case of a recorded number", animals, "accession,species", "a 1,Naja kaouthia", `accession: "a 1" is nearly "A1"`},
		{"nobody knows what is recorded", animals, "accession,species,arrived", "A1,Naja kaouthia,?", `arrived: "?" says that nobody knows, but 2025-01-05 is recorded`},
		{"nobody knows the end that is recorded", papers, "number,class,expires", "P1,dwa-licence,unknown", `expires: "unknown" says that nobody knows, but 2027-01-31 is recorded`},
		{"nobody knows the label that is recorded", vials, "product,lot,vials,place,expires", "Thai neurotoxic antivenin,L1,10,locked fridge,?", `expires: "?" says that nobody knows, but 2027-02-28 is recorded`},
		{"on hold, perhaps", vials, "product,lot,vials,place,hold", "Thai neurotoxic antivenin,L9,10,locked fridge,?", `hold: "?" leaves open whether the vials may be used`},
		{"no place", vials, "product,lot,vials,place", "Thai neurotoxic antivenin,L9,10,", `place: is blank`},
		{"a product that is not recorded", vials, "product,lot,vials,place", "Thai neurotoxic antiven,L9,10,locked fridge", `did you mean "Thai neurotoxic antivenin"`},
		{"a label both ways", vials, "product,lot,vials,place,exp", "Thai neurotoxic antivenin,L9,10,locked fridge,05/06", `expires: "05/06" may be 2005-06 or 2006-05`},
		{"a count before vials moved", vials, "product,lot,vials,place,counted", "Thai neurotoxic antivenin,L1,9,locked fridge,2026-10-01", `a later count is required`},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := planned(t, folder(t, map[string]string{c.file: c.head + "\n" + c.row + "\n"}), was, later())
			if got := told(p); !strings.Contains(got, c.want) {
				t.Errorf("told: %s\nwant: %s", got, c.want)
			}
			wantFates(t, p, map[Fate]int{Refused: 1})
			if len(p.Batch) > 0 {
				t.Error("a refused row makes a change")
			}
		})
	}
}

// TestEveryBadCellIsTold: not only the first of a row.
func TestEveryBadCellIsTold(t *testing.T) {
	p := planned(t, folder(t, map[string]string{"animals.csv": "accession,species,arrived,born\nA9,N. kaouthia,yesterday,spring\n"}), recorded(t), later())
	if n := len(p.Refusals()); n != 3 {
		t.Errorf("%d mistakes; want 3\n%s", n, told(p))
	}
}

// TestAgain: the same rows change nothing; a cell that differs changes that
// field; a blank one changes nothing.
func TestAgain(t *testing.T) {
	was := recorded(t)
	for _, c := range []struct {
		name, file, text string
		want             map[Fate]int
		diff             string // of the one changed row
	}{
		{"the same animals", "animals.csv", "accession,species,enclosure,arrived\nA1,Naja kaouthia,E-01,2025-01-05\nA2,Vipera berus,E-02,2025-01-06\n", map[Fate]int{Same: 2}, ""},
		{"blank cells", "animals.csv", "accession,species,enclosure,arrived\nA1,Naja kaouthia,,\nA2,Vipera berus,,-\n", map[Fate]int{Same: 2}, ""},
		{"another arrival", "animals.csv", "accession,species,arrived\nA1,Naja kaouthia,2025-01-04\n", map[Fate]int{Changed: 1}, "arrived: 2025-01-05 -> 2025-01-04"},
		{"another enclosure", "animals.csv", "accession,species,enclosure\nA1,Naja kaouthia,E-02\n", map[Fate]int{Changed: 1}, "enclosure: E-01 at Thornbury Lane -> E-02 at Thornbury Lane since 2026-11-25"},
		{"the same paper", "papers.csv", "number,class,sites,species,expires\nP1,dwa-licence,Thornbury Lane,Naja kaouthia: 5,2027-01-31\n", map[Fate]int{Same: 1}, ""},
		{"a renewed paper", "papers.csv", "number,class,expires\nP1,DWA licence,2029-01-31\n", map[Fate]int{Changed: 1}, "expires: 2027-01-31 -> 2029-01-31"},
		{"more on a paper", "papers.csv", "number,class,species\nP1,dwa-licence,Naja kaouthia: 5; genus Vipera\n", map[Fate]int{Changed: 1}, "species: Naja kaouthia: 5 -> Naja kaouthia: 5; genus Vipera"},
		{"any place", "papers.csv", "number,class,sites\nP1,dwa-licence,any\n", map[Fate]int{Changed: 1}, "sites: Thornbury Lane -> any"},
		{"the same vials", "vials.csv", "product,lot,vials,place,expires\nThai neurotoxic antivenin,L1,10,locked fridge,02/2027\n", map[Fate]int{Same: 1}, ""},
		{"two fewer", "vials.csv", "product,lot,vials,place,counted\nThai neurotoxic antivenin,L1,8,locked fridge,2026-11-20\n", map[Fate]int{Changed: 1}, "vials in locked fridge: 10 -> 8 on 2026-11-20"},
		{"on hold", "vials.csv", "product,lot,vials,place,hold\nThai neurotoxic antivenin,L1,10,locked fridge,fridge was warm\n", map[Fate]int{Changed: 1}, "hold:  -> fridge was warm since 2026-11-25"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := planned(t, folder(t, map[string]string{c.file: c.text}), was, later())
			wantFates(t, p, c.want)
			if len(p.Batch) != c.want[Changed] {
				t.Errorf("%d changes; want %d", len(p.Batch), c.want[Changed])
			}
			for _, e := range p.Entries {
				if e.Fate == Changed && (len(e.Diffs) != 1 || e.Diffs[0].Field+": "+e.Diffs[0].Old+" -> "+e.Diffs[0].New != c.diff) {
					t.Errorf("differences %v; want %s", e.Diffs, c.diff)
				}
			}
			again := planned(t, folder(t, map[string]string{c.file: c.text}), applied(t, p, was), later())
			if len(again.Batch) > 0 {
				t.Errorf("the same once more makes %d changes: %v", len(again.Batch), again.Entries[0].Diffs)
			}
		})
	}
}

// TestKeysGivenTwice: neither row is taken.
func TestKeysGivenTwice(t *testing.T) {
	p := planned(t, folder(t, map[string]string{
		"animals.csv": "accession,species\nA3,Naja kaouthia\nA4,Naja kaouthia\nA3,Vipera berus\n",
		"papers.csv":  "number,class,animals\nP2,dwa-licence,A3\nP3,dwa-licence,A4\n",
		"vials.csv": "product,lot,vials,place\nThai neurotoxic antivenin,L2,4,locked fridge\nThai neurotoxic antivenin,L2,5,locked fridge\n" +
			"Thai neurotoxic antivenin,L3,4,locked fridge\nThai neurotoxic antivenin,L3,5,go-bag\n",
	}), recorded(t), later())
	wantFates(t, p, map[Fate]int{New: 4, Refused: 5})
	for _, want := range []string{
		`animals.csv:2:1: accession: "A3" stands here and at animals.csv:4:1`,
		`animals.csv:4:1: accession: "A3" stands here and at animals.csv:2:1`,
		`papers.csv:2:16: animals: the row of animal "A3" was refused`,
		`vials.csv:3:27: lot: "L2" stands here and at vials.csv:2:27`,
	} {
		if !strings.Contains(told(p), want) {
			t.Errorf("not told: %s\n%s", want, told(p))
		}
	}
}

// TestLotInTwoPlaces: one lot, a movement each; half a lot is not taken.
func TestLotInTwoPlaces(t *testing.T) {
	was := recorded(t)
	p := planned(t, folder(t, map[string]string{"vials.csv": "product,lot,vials,place,expires,received\n" +
		"Thai neurotoxic antivenin,L2,4,locked fridge,EXP 03/27,2026-05-01\nThai neurotoxic antivenin,L2,2,go-bag,,2026-06-01\n"}), was, later())
	wantFates(t, p, map[Fate]int{New: 2})
	l := lotCalled(t, applied(t, p, was), "L2")
	if len(l.Movements) != 2 || l.Movements[0].Vials != 4 || l.Movements[1].Vials != 2 || l.Movements[0].Reason != inventory.Received ||
		l.Labelled != day.Until(day.MustParse("2027-03-31")) || !l.MonthOnly {
		t.Errorf("%+v", l)
	}
	for name, second := range map[string]string{"a bad count": "x,go-bag,,", "another expiry": "2,go-bag,2027-04,"} {
		p = planned(t, folder(t, map[string]string{"vials.csv": "product,lot,vials,place,expires,received\n" +
			"Thai neurotoxic antivenin,L2,4,locked fridge,EXP 03/27,2026-05-01\nThai neurotoxic antivenin,L2," + second + "\n"}), was, later())
		wantFates(t, p, map[Fate]int{Refused: 2})
		if len(p.Batch) > 0 {
			t.Errorf("%s: half a lot was taken", name)
		}
	}
}

// TestNewNames: a mistyped form of a new name is no second species.
func TestNewNames(t *testing.T) {
	src := func() *Source {
		return folder(t, map[string]string{"animals.csv": "accession,species\nA1,Naja kaoutia\nA2,Naja kaouthia\nA3,Naja kaouthia\nA4,N. kaouthia\n"})
	}
	p := planned(t, src(), &compliance.Snapshot{}, first())
	wantFates(t, p, map[Fate]int{New: 2, Refused: 2})
	s := first()
	s.Mapping = &Mapping{}
	for _, pair := range []string{"N. kaouthia=Naja kaouthia", "Naja kaoutia = Naja kaouthia"} {
		if err := s.Mapping.Agree(pair); err != nil {
			t.Fatal(err)
		}
	}
	p = planned(t, src(), &compliance.Snapshot{}, s)
	wantFates(t, p, map[Fate]int{New: 4})
	after := applied(t, p, &compliance.Snapshot{})
	if after.Species.Len() != 1 {
		t.Errorf("%d species", after.Species.Len())
	}
	for sp := range after.Species.All() {
		if sp.Venomous != inventory.Unknown {
			t.Errorf("%s: venomous %v, want unknown", sp.Accepted, sp.Venomous)
		}
	}
}

// TestAnimalWithoutEnclosure stands at its site all the same.
func TestAnimalWithoutEnclosure(t *testing.T) {
	was := recorded(t)
	p := planned(t, folder(t, map[string]string{"animals.csv": "accession,species\nA9,Naja kaouthia\n"}), was, later())
	after := applied(t, p, was)
	a := animalCalled(t, after, "A9")
	if at := a.Held(after.SiteOf).At(day.MustParse("2026-11-25")); after.Site(at).Title != "Thornbury Lane" {
		t.Errorf("held at %v", at)
	}
	if len(p.Assumed) != 2 || !strings.Contains(p.Assumed[0], "2 recorded animals are in no row") || !strings.Contains(p.Assumed[1], noEnclosure) {
		t.Errorf("assumed: %q", p.Assumed)
	}
	s := later()
	s.Site = ""
	p = planned(t, folder(t, map[string]string{"animals.csv": "accession,species\nA8,Naja kaouthia\n"}), was, s)
	if !strings.Contains(told(p), "site: is not given") {
		t.Errorf("told: %s", told(p))
	}
}

// TestNothingIsDroppedInSilence: what is not read is named.
func TestNothingIsDroppedInSilence(t *testing.T) {
	was := recorded(t)
	files := map[string]string{
		"animals.csv":         "accession,species,mood,,empty\nA1,Naja kaouthia,calm,x,\n",
		"budget.csv":          "year,sum\n2026,5\n",
		"readme.txt":          "x",
		"animals.rejects.csv": "accession,species\n",
	}
	p := planned(t, folder(t, files), was, later())
	var all strings.Builder
	for _, n := range p.NotRead {
		all.WriteString(n.What + ": " + n.Why + "\n")
	}
	for _, want := range []string{`animals.csv:1:19: column "mood": 1 filled`, "a column without a name", "budget.csv: no header row", "readme.txt", "animals.rejects.csv"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("not told: %s\n%s", want, all.String())
		}
	}
	if strings.Contains(all.String(), `"empty"`) {
		t.Error("an empty column is told")
	}
	s := later()
	s.Mapping = &Mapping{Sheets: []SheetMapping{{Sheet: "animals.csv", List: "animals", Columns: []ColumnMapping{{"Mood", ignored}}}}}
	if p = planned(t, folder(t, files), was, s); strings.Contains(told(p), "mood") || len(p.NotRead) != 4 {
		t.Errorf("an ignored column is told: %v", p.NotRead)
	}
}

func TestSettingsThatCannotBe(t *testing.T) {
	was := recorded(t)
	for _, c := range []struct {
		name string
		was  *compliance.Snapshot
		set  func(*Settings)
		want string
	}{
		{"no house", &compliance.Snapshot{}, func(s *Settings) {}, "--house NAME"},
		{"another house", was, func(s *Settings) { s.House = "Elsewhere" }, "one database holds one house"},
		{"a site without zone", was, func(s *Settings) { s.Site = "Barn" }, "add --zone"},
		{"a mistyped site", was, func(s *Settings) { s.Site = "Thornbury Lan" }, `did you mean "Thornbury Lane"`},
		{"another zone", was, func(s *Settings) { s.Zone = "Europe/Paris" }, "is recorded in Europe/London"},
		{"a zone that is none", was, func(s *Settings) { s.Site, s.Zone = "Barn", "London" }, "IANA time zone"},
		{"law of no site", was, func(s *Settings) { s.Site, s.Law = "", "gb" }, "--site NAME is needed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := later()
			c.set(&s)
			_, err := NewPlan(folder(t, map[string]string{"animals.csv": "accession,species\n"}), c.was, s)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v; want %q", err, c.want)
			}
		})
	}
}
