package intake

import (
	"maps"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
)

var noon = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

// first are the settings of the first import into an empty database.
func first() Settings {
	return Settings{Now: noon, House: "Thornbury Lane collection", Site: "Thornbury Lane", Zone: "Europe/London",
		NewSpecies: true, NewProducts: true, NewAuthorities: "Europe/London"}
}

// later are those of an import into what first made.
func later() Settings { return Settings{Now: noon, Site: "Thornbury Lane"} }

// folder makes the source of CSV texts by file name.
func folder(t testing.TB, files map[string]string) *Source {
	t.Helper()
	fsys := fstest.MapFS{}
	for name, text := range files {
		fsys[name] = &fstest.MapFile{Data: []byte(text)}
	}
	src, err := ReadFolder(fsys)
	if err != nil {
		t.Fatal(err)
	}
	return src
}

func planned(t testing.TB, src *Source, was *compliance.Snapshot, s Settings) *Plan {
	t.Helper()
	p, err := NewPlan(src, was, s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func applied(t testing.TB, p *Plan, was *compliance.Snapshot) *compliance.Snapshot {
	t.Helper()
	after, err := p.Batch.Apply(was)
	if err != nil {
		t.Fatal(err)
	}
	return after
}

// recorded is a house with two species, two animals, a paper and a lot.
func recorded(t testing.TB) *compliance.Snapshot {
	t.Helper()
	p := planned(t, folder(t, map[string]string{
		"animals.csv": "accession,species,enclosure,arrived\nA1,Naja kaouthia,E-01,2025-01-05\nA2,Vipera berus,E-02,2025-01-06\n",
		"papers.csv":  "number,class,authority,sites,species,issued,expires\nP1,dwa-licence,Fictional Council,Thornbury Lane,Naja kaouthia: 5,2025-02-01,2027-01-31\n",
		"vials.csv":   "product,lot,vials,place,expires,counted\nThai neurotoxic antivenin,L1,10,locked fridge,2027-02,2026-11-01\n",
	}), &compliance.Snapshot{}, first())
	if wrong := p.Refusals(); len(wrong) > 0 {
		t.Fatal(wrong)
	}
	return applied(t, p, &compliance.Snapshot{})
}

func fates(p *Plan) map[Fate]int {
	all := make(map[Fate]int)
	for _, t := range p.Tables {
		for fate, n := range p.Counts(t) {
			all[fate] += n
		}
	}
	return all
}

func wantFates(t *testing.T, p *Plan, want map[Fate]int) {
	t.Helper()
	if got := fates(p); !maps.Equal(got, want) {
		t.Errorf("rows: %v; want %v\n%s", got, want, told(p))
	}
}

// told gives every mistake on a line of its own.
func told(p *Plan) string {
	var b strings.Builder
	for _, m := range p.Refusals() {
		b.WriteString(m.Error() + "\n")
	}
	return b.String()
}

func animalCalled(t *testing.T, s *compliance.Snapshot, accession string) inventory.Animal {
	t.Helper()
	for a := range s.Animals.All() {
		if a.Accession == accession {
			return *a
		}
	}
	t.Fatalf("animal %s is not recorded", accession)
	return inventory.Animal{}
}

func lotCalled(t *testing.T, s *compliance.Snapshot, number string) inventory.Lot {
	t.Helper()
	for l := range s.Lots.All() {
		if l.Number == number {
			return *l
		}
	}
	t.Fatalf("lot %s is not recorded", number)
	return inventory.Lot{}
}
