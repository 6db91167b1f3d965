package answer

import (
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory"
)

func TestFind(t *testing.T) {
	twin := compliance.Permit{ID: inventory.NewID(), Number: "LH-015", Class: "fire-certificate"}
	r := asked(t, 0, inventory.Assumptions{}, compliance.Record(twin))
	wp102, err := Find(r, "WP-102")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, of string
		kind     inventory.Kind
		want     string // the subject's name, or what the error says
	}{
		{"a permit", "WP-102", inventory.KindPermit, "permit WP-102"},
		{"its full name", "permit WP-102", inventory.KindPermit, "permit WP-102"},
		{"in another case, with blanks", " wp-102 ", inventory.KindPermit, "permit WP-102"},
		{"an animal", "LH-014", inventory.KindAnimal, "animal LH-014"},
		{"a lot", "DEMO-T1", inventory.KindLot, "lot DEMO-T1"},
		{"a person", "Bram Hollowell-Gorse", inventory.KindPerson, "Bram Hollowell-Gorse"},
		{"a person of whom nothing is asked", "Willa Gorsebank", inventory.KindPerson, "Willa Gorsebank"},
		{"a site", "tamarind station", inventory.KindSite, "Tamarind Station"},
		{"a holding", "Naja kaouthia at Larkspur House", inventory.KindHolding, "Naja kaouthia at Larkspur House"},
		{"kind and identifier", wp102.String(), inventory.KindPermit, "permit WP-102"},
		{"two of a name", "LH-015", 0, `"LH-015" is the name of several: animal LH-015 (animal:`},
		{"the beginning of names", "WP-10", 0, "near it: permit WP-101; permit WP-102; "},
		{"nothing like it", "nobody", 0, `nothing is called "nobody": give an accession`},
	} {
		t.Run(c.name, func(t *testing.T) {
			ref, err := Find(r, c.of)
			switch {
			case c.kind == 0 && (err == nil || !strings.Contains(err.Error(), c.want)):
				t.Errorf("%v, %v; want %q", ref, err, c.want)
			case c.kind == 0:
			case err != nil:
				t.Error(err)
			case ref.Kind != c.kind || r.View.NameOf(ref) != c.want:
				t.Errorf("%s, %s; want %s", ref, r.View.NameOf(ref), c.want)
			}
		})
	}
}

// The error that several are called so names each, and each of its
// identifiers is understood.
func TestAmbiguousNamesCanBeTold(t *testing.T) {
	twin := compliance.Permit{ID: inventory.NewID(), Number: "LH-015", Class: "fire-certificate"}
	r := asked(t, 0, inventory.Assumptions{}, compliance.Record(twin))
	_, err := Find(r, "LH-015")
	if err == nil {
		t.Fatal("one of two was picked")
	}
	if got := strings.Count(err.Error(), "LH-015 ("); got != 2 || !strings.Contains(err.Error(), twin.Ref().String()) {
		t.Errorf("%v", err)
	}
	if ref, err := Find(r, twin.Ref().String()); err != nil || ref != twin.Ref() {
		t.Errorf("%v, %v", ref, err)
	}
}
