package inventory_test

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestTriIsWhatEveryCompletionSays: a definite answer is the answer for each
// way in which the unknown could turn out, and unknown means that they differ.
func TestTriIsWhatEveryCompletionSays(t *testing.T) {
	all := []inventory.Tri{inventory.Unknown, inventory.No, inventory.Yes}
	ways := func(v inventory.Tri) []bool {
		switch v {
		case inventory.Yes:
			return []bool{true}
		case inventory.No:
			return []bool{false}
		default:
			return []bool{false, true}
		}
	}
	agreed := func(a, b inventory.Tri, f func(x, y bool) bool) inventory.Tri {
		var yes, no bool
		for _, x := range ways(a) {
			for _, y := range ways(b) {
				yes, no = yes || f(x, y), no || !f(x, y)
			}
		}
		if yes && no {
			return inventory.Unknown
		}
		return inventory.Bool(yes)
	}
	for _, a := range all {
		for _, b := range all {
			if got, want := a.And(b), agreed(a, b, func(x, y bool) bool { return x && y }); got != want {
				t.Errorf("%s and %s is %s, want %s", a, b, got, want)
			}
			if got, want := a.Or(b), agreed(a, b, func(x, y bool) bool { return x || y }); got != want {
				t.Errorf("%s or %s is %s, want %s", a, b, got, want)
			}
		}
	}
}

// TestNativeIn: native to a part of the jurisdiction only cannot be told,
// and in which order the areas are listed does not matter.
func TestNativeIn(t *testing.T) {
	for _, c := range []struct {
		name  string
		to    []string
		known inventory.Tri
		path  string
		want  inventory.Tri
	}{
		{"the state itself", []string{"us/fl"}, inventory.Yes, "us/fl", inventory.Yes},
		{"a district of it", []string{"us/fl"}, inventory.Yes, "us/fl/monroe", inventory.Yes},
		{"a state with a like name", []string{"us/fl"}, inventory.Yes, "us/fla", inventory.No},
		{"the country of which it is a part", []string{"us/fl"}, inventory.Yes, "us", inventory.Unknown},
		{"elsewhere", []string{"us/fl"}, inventory.Yes, "au/qld", inventory.No},
		{"nowhere", nil, inventory.Yes, "us/fl", inventory.No},
		{"whose range is not known", []string{"us/fl"}, inventory.Unknown, "us/fl", inventory.Unknown},
		{"whose range is known not to be complete", []string{"us/fl"}, inventory.No, "us/fl", inventory.Unknown},
		{"at a site whose law is not known", []string{"us/fl"}, inventory.Yes, "", inventory.Unknown},
		{"the whole and a part of it", []string{"us/fl", "us/fl/monroe"}, inventory.Yes, "us/fl", inventory.Yes},
		{"a part and then the whole", []string{"us/fl/monroe", "us/fl"}, inventory.Yes, "us/fl", inventory.Yes},
	} {
		s := inventory.Species{Accepted: "Crotalus adamanteus", NativeTo: c.to, RangeKnown: c.known}
		if got := s.NativeIn(c.path); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// TestDatedHoldsFromItsDay: an attribute has the value of the last entry
// that had begun, whatever order the entries are in.
func TestDatedHoldsFromItsDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []inventory.Dated[int]
		taken := map[day.Day]bool{}
		for i := range rapid.IntRange(0, 4).Draw(t, "entries") {
			e := inventory.Dated[int]{Value: i + 1}
			if rapid.IntRange(0, 3).Draw(t, "dated") > 0 {
				e.From = someDay(t, "from")
			}
			if !taken[e.From] {
				taken[e.From] = true
				list = append(list, e)
			}
		}
		line := inventory.LineOf(0, list)
		for on := origin - 2; on <= origin.Add(stretch+2); on++ {
			want, since := 0, day.Day(-1)
			for _, e := range list {
				if e.From <= on && e.From > since {
					want, since = e.Value, e.From
				}
			}
			if got := line.At(on); got != want {
				t.Fatalf("%s: %d, want %d\n%+v", on, got, want, list)
			}
		}
	})
}

// TestRefsReadBack: what is written of a reference is read back as it was.
func TestRefsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ref := inventory.Ref{Kind: rapid.SampledFrom(append(inventory.Kinds(), inventory.KindHolding)).Draw(t, "kind"), ID: numbered(rapid.IntRange(0, 9).Draw(t, "id"))}
		if ref.Kind == inventory.KindHolding {
			ref.At = numbered(rapid.IntRange(0, 9).Draw(t, "at"))
		}
		text, _ := ref.MarshalText()
		var back inventory.Ref
		if err := back.UnmarshalText(text); err != nil || back != ref {
			t.Fatalf("%s: %+v, %v; want %+v", text, back, err, ref)
		}
	})
	for _, wrong := range []string{"site", "site:", "site:1", "snake:00000000-0000-0000-0000-000000000001",
		"holding:00000000-0000-0000-0000-000000000001", "site:00000000-0000-0000-0000-000000000001@00000000-0000-0000-0000-000000000002"} {
		var back inventory.Ref
		if err := back.UnmarshalText([]byte(wrong)); err == nil {
			t.Errorf("%q was read as %+v", wrong, back)
		}
	}
}

// TestRecordsSayWhatIsWrong: each mistake names its field.
func TestRecordsSayWhatIsWrong(t *testing.T) {
	id := numbered(1)
	lot := func(change func(*inventory.Lot)) inventory.Lot {
		l := inventory.Lot{ID: id, Product: id, Number: "L"}
		change(&l)
		return l
	}
	for _, c := range []struct {
		field  string
		record inventory.Record
	}{
		{"victims", inventory.Organisation{ID: id, Title: "House"}},
		{"name", inventory.Organisation{ID: id, Victims: 1, Title: " "}},
		{"zone", inventory.Site{ID: id, Organisation: id, Title: "S", Zone: "Local"}},
		{"zone", inventory.Site{ID: id, Organisation: id, Title: "S"}},
		{"jurisdiction", inventory.Site{ID: id, Organisation: id, Title: "S", Zone: "UTC", Jurisdiction: inventory.Always("US/FL")}},
		{"use", inventory.Site{ID: id, Organisation: id, Title: "S", Zone: "UTC", Use: "circus"}},
		{"organisation", inventory.Site{ID: id, Title: "S", Zone: "UTC"}},
		{"name", inventory.Site{ID: id, Title: "S\nT", Zone: "UTC"}},
		{"code", inventory.Enclosure{ID: id, Site: id}},
		{"state", inventory.Enclosure{ID: id, Site: id, Code: "E", State: "broken"}},
		{"accepted_name", inventory.Species{ID: id, Accepted: "Naja"}},
		{"accepted_name", inventory.Species{ID: id, Accepted: "Naja naja", Synonyms: []string{"cobra"}}},
		{"hazards", inventory.Species{ID: id, Accepted: "Naja naja", Hazards: inventory.Hazards{Reach: 6}}},
		{"certainty", inventory.Species{ID: id, Accepted: "Naja naja", Certainty: "sure"}},
		{"species", inventory.Animal{ID: id, Accession: "A"}},
		{"left.on", inventory.Animal{ID: id, Accession: "A", Species: id, Arrived: d("2026-02-02"), Left: &inventory.Disposition{How: inventory.Died, On: d("2026-02-01")}}},
		{"left.how", inventory.Animal{ID: id, Accession: "A", Species: id, Left: &inventory.Disposition{How: "sold", On: d("2026-02-01")}}},
		{"stays", inventory.Animal{ID: id, Accession: "A", Species: id, Stays: []inventory.Stay{{From: d("2026-02-02")}, {From: d("2026-02-01")}}}},
		{"stays", inventory.Animal{ID: id, Accession: "A", Species: id, Stays: []inventory.Stay{{From: d("2026-02-02")}}, Left: &inventory.Disposition{How: inventory.Died, On: d("2026-02-01")}}},
		{"labelled", lot(func(l *inventory.Lot) { l.Labelled = day.Forever() })},
		{"holds", lot(func(l *inventory.Lot) { l.Holds = []inventory.Hold{{From: d("2026-02-02"), Released: d("2026-02-01")}} })},
		{"extensions", lot(func(l *inventory.Lot) {
			l.Extensions = []inventory.Extension{{Noticed: d("2026-02-02"), Until: d("2026-02-01"), Reference: "r"}}
		})},
		{"extensions.reference", lot(func(l *inventory.Lot) {
			l.Extensions = []inventory.Extension{{Noticed: d("2026-02-02"), Until: d("2026-02-03")}}
		})},
		{"movements", lot(func(l *inventory.Lot) {
			l.Movements = []inventory.Movement{{On: d("2026-02-02"), Place: fridge, Vials: 2, Reason: inventory.Received}, {On: d("2026-02-03"), Place: bag, Vials: -1, Reason: inventory.Used}}
		})},
		{"gtins", inventory.Product{ID: id, Type: "p", GTINs: []string{"06291041500214"}}},
		{"gtins", inventory.Product{ID: id, Type: "p", GTINs: []string{"6291041500213"}}},
		{"gtins", inventory.Product{ID: id, Type: "p", GTINs: []string{"06291041500213", "06291041500213"}}},
		{"vials", inventory.Coverage{ID: id, Product: id, Species: id, Basis: inventory.Indicated, Source: "s", Vials: inventory.Always(inventory.Vials{Initial: 6, Full: 4})}},
		{"basis", inventory.Coverage{ID: id, Product: id, Species: id, Basis: "hope", Source: "s"}},
		{"source", inventory.Coverage{ID: id, Product: id, Species: id, Basis: inventory.Indicated}},
		{"count", inventory.Planned{ID: id, Kind: inventory.PlanVials, On: d("2026-02-01"), Site: id, Product: id}},
		{"until", inventory.Planned{ID: id, Kind: inventory.PlanVials, On: d("2026-02-02"), Site: id, Product: id, Count: 3, Until: day.Until(d("2026-02-01"))}},
		{"kind", inventory.Planned{ID: id, Kind: "party", On: d("2026-02-01")}},
	} {
		err := c.record.Check()
		var field *inventory.FieldError
		if !errors.As(err, &field) || field.Field != c.field || !strings.Contains(err.Error(), ": ") {
			t.Errorf("%T %+v: %v; want a sentence about %s", c.record, c.record, err, c.field)
		}
	}
}
