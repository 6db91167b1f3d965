package naming

import (
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// house has two sites ten hours apart, and much that is called the same.
func house(t *testing.T) (*Names, map[string]inventory.Ref) {
	t.Helper()
	refs := make(map[string]inventory.Ref)
	var batch compliance.Batch
	org := inventory.Organisation{ID: inventory.NewID(), Title: "Moss", Victims: 1}
	batch = append(batch, compliance.Record(org))
	record := func(name string, rec inventory.Record) inventory.ID {
		refs[name] = rec.Ref()
		batch = append(batch, compliance.Record(rec))
		return rec.Ref().ID
	}
	moss := record("moss", inventory.Site{ID: inventory.NewID(), Organisation: org.ID, Title: "Moss House", Zone: "Europe/London"})
	fern := record("fern", inventory.Site{ID: inventory.NewID(), Organisation: org.ID, Title: "Fern Annexe", Zone: "Australia/Brisbane"})
	cobra := record("cobra", inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia", Synonyms: []string{"Naja naja kaouthia"}})
	one := record("one", inventory.Product{ID: inventory.NewID(), Type: "equine F(ab')2 against Asian cobras"})
	two := record("two", inventory.Product{ID: inventory.NewID(), Type: "ovine Fab against vipers"})
	for site, id := range map[string]inventory.ID{"moss": moss, "fern": fern} {
		record("door at "+site, inventory.Enclosure{ID: inventory.NewID(), Site: id, Code: "E-1"})
		record("fridge at "+site, inventory.Place{ID: inventory.NewID(), Site: id, Title: "fridge"})
		record("stock at "+site, compliance.Feed{ID: inventory.NewID(), Topic: compliance.TopicStock, Site: id, Keeper: compliance.Curator, Complete: day.MustParse("2026-01-01"), MaxAge: 30})
	}
	record("lot of one", inventory.Lot{ID: inventory.NewID(), Product: one, Number: "L1"})
	record("lot of two", inventory.Lot{ID: inventory.NewID(), Product: two, Number: "L1"})
	record("animal", inventory.Animal{ID: inventory.NewID(), Accession: "A-7", Species: cobra})
	record("paper", compliance.Permit{ID: inventory.NewID(), Number: "A-7", Class: "keep"})
	record("ada", compliance.Person{ID: inventory.NewID(), Called: "Ada Fern", Email: "ada@moss.example"})
	record("other ada", compliance.Person{ID: inventory.NewID(), Called: "Ada Fern"})
	s, err := batch.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	return &Names{Snapshot: s, Now: time.Date(2026, time.November, 24, 20, 0, 0, 0, time.UTC)}, refs
}

func got[T inventory.Record](rec *T, err error) (inventory.Ref, error) { return refOf(rec, err) }

// TestFindsWhatIsMeant, and takes nothing that is only near, or one of
// several.
func TestFindsWhatIsMeant(t *testing.T) {
	n, refs := house(t)
	for _, c := range []struct {
		name string
		find func() (inventory.Ref, error)
		want string // of refs, or what the error says
	}{
		{"by its number", func() (inventory.Ref, error) { return got(n.Permit("A-7")) }, "paper"},
		{"whatever the case", func() (inventory.Ref, error) { return got(n.Animal(" a-7 ")) }, "animal"},
		{"by kind and identifier", func() (inventory.Ref, error) { return got(n.Person(refs["ada"].String())) }, "ada"},
		{"an identifier of another kind is only a name", func() (inventory.Ref, error) { return got(n.Person(refs["paper"].String())) }, "no person is recorded as"},
		{"an identifier of nothing", func() (inventory.Ref, error) { return got(n.Person("person:" + inventory.NewID().String())) }, "is recorded"},
		{"by a synonym", func() (inventory.Ref, error) { return got(n.SpeciesOf("Naja naja kaouthia")) }, "cobra"},
		{"not by an abbreviation", func() (inventory.Ref, error) { return got(n.SpeciesOf("N. kaouthia")) }, "near it: Naja kaouthia"},
		{"one of two people", func() (inventory.Ref, error) { return got(n.Person("Ada Fern")) }, `"Ada Fern" is the name of several: Ada Fern (person:`},
		{"told apart by what is beside them", func() (inventory.Ref, error) { return got(n.Person("Ada Fern")) }, "Ada Fern, ada@moss.example (person:"},
		{"an enclosure at a site", func() (inventory.Ref, error) { return got(n.Enclosure("E-1", "Fern Annexe")) }, "door at fern"},
		{"an enclosure at either", func() (inventory.Ref, error) { return got(n.Enclosure("E-1", "")) }, "E-1 at Fern Annexe"},
		{"a place with its site", func() (inventory.Ref, error) { return got(n.Place("Fridge at Moss House", "")) }, "fridge at moss"},
		{"a place at a site that is none", func() (inventory.Ref, error) { return got(n.Place("fridge", "Moss Hause")) }, "near it: Moss House"},
		{"a lot of a product", func() (inventory.Ref, error) { return got(n.Lot("L1", "ovine Fab against vipers")) }, "lot of two"},
		{"a lot of either", func() (inventory.Ref, error) { return got(n.Lot("L1", "")) }, "lot L1 of equine"},
		{"a list of a site", func() (inventory.Ref, error) { return got(n.List("stock", "Moss House")) }, "stock at moss"},
		{"the only site there is", func() (inventory.Ref, error) { return got(n.SiteCalled("")) }, "name the site, one of Fern Annexe, Moss House"},
		{"nothing", func() (inventory.Ref, error) { return got(n.Permit("  ")) }, "name the permit"},
		{"a subject of several kinds", func() (inventory.Ref, error) { return n.Subject("A-7", inventory.KindAnimal, inventory.KindPermit) }, "is the name of several"},
		{"a subject of one kind", func() (inventory.Ref, error) { return n.Subject("A-7", inventory.KindPermit) }, "paper"},
		{"a subject that is none", func() (inventory.Ref, error) { return n.Subject("A-9", inventory.KindPermit, inventory.KindLot) }, "no permit is recorded as \"A-9\""},
	} {
		ref, err := c.find()
		if want, ok := refs[c.want]; ok {
			if err != nil || ref != want {
				t.Errorf("%s: %v, %v", c.name, ref, err)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, %v; want %q", c.name, ref, err, c.want)
		}
	}
	holding, err := n.Subject("naja kaouthia at Moss House", inventory.KindHolding)
	if err != nil || holding != inventory.Holding(refs["cobra"].ID, refs["moss"].ID) {
		t.Errorf("a holding: %v, %v", holding, err)
	}
}

// TestDaysAreTheSitesOwn, and what happened is not to come.
func TestDaysAreTheSitesOwn(t *testing.T) {
	n, refs := house(t)
	for _, c := range []struct{ text, site, want string }{
		{"today", "moss", "2026-11-24"}, {"", "fern", "2026-11-25"}, {"Yesterday", "fern", "2026-11-24"},
		{"2026-11-25", "fern", "2026-11-25"}, {"2026-11-25", "moss", "2026-11-25 is in the future: today is 2026-11-24"},
		{"tomorrow", "fern", "2026-11-26 is in the future"}, {"2026-02-30", "moss", "is not a day"}, {"24/11/2026", "moss", "write YYYY-MM-DD, today or yesterday"},
	} {
		d, err := n.Happened(c.text, refs[c.site].ID)
		if err != nil && !strings.Contains(err.Error(), c.want) || err == nil && d.String() != c.want {
			t.Errorf("%q at %s: %s, %v; want %s", c.text, c.site, d, err, c.want)
		}
	}
	if d, err := n.Day("tomorrow", refs["moss"].ID); err != nil || d.String() != "2026-11-25" {
		t.Errorf("a day to come: %s, %v", d, err)
	}
}

// TestEnd: a month means its last day (USP <7> as inventory.Lot has it), and
// unknown is said, never assumed.
func TestEnd(t *testing.T) {
	for _, c := range []struct {
		text  string
		never bool
		want  string
		month bool
	}{
		{"2028-02", false, "2028-02-29", true}, {"2027-02", false, "2027-02-28", true}, {"2027-12", false, "2027-12-31", true},
		{"2027-05-03", false, "2027-05-03", false}, {"unknown", false, "unknown", false}, {"Never", true, "never", false},
	} {
		end, month, err := End(c.text, c.never)
		if err != nil || end.String() != c.want || month != c.month {
			t.Errorf("%q: %s, %v, %v", c.text, end, month, err)
		}
	}
	for _, wrong := range []string{"", "never", "2027-13", "02/27", "soon"} {
		if _, _, err := End(wrong, false); err == nil {
			t.Errorf("%q was taken", wrong)
		}
	}
}
