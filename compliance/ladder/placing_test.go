package ladder

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// house scale: what the scores of hazards and the floors are worth in these
// tests. Common practice, no source: the maximum with floors, not a sum.
var scale = Placing{Harmless: 2, ByScore: [5]int{3, 3, 4, 5, 6}, Floors: []Floor{
	{When: "arboreal", Stage: 4}, {When: "spitting", Stage: 6}, {When: "no-antivenom", Stage: 7},
	{When: "exotic", Stage: 4}, {Names: []string{"Elapidae", "Atractaspis"}, Stage: 5},
}}

func TestPlacing(t *testing.T) {
	const yes, no, unknown = inventory.Yes, inventory.No, inventory.Unknown
	hazards := func(venom, yield, speed, reach int, spitting, arboreal inventory.Tri) inventory.Hazards {
		return inventory.Hazards{Venom: venom, Yield: yield, Speed: speed, Reach: reach, Spitting: spitting, Arboreal: arboreal}
	}
	mild := hazards(1, 1, 1, 1, no, no)
	for _, c := range []struct {
		what   string
		traits Traits
		want   Place
	}{
		{"harmless", Traits{Venomous: no, Family: "Colubridae", Native: yes, Hazards: hazards(0, 0, 5, 5, yes, yes)}, Place{2, 2}},
		{"mild in everything", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: mild}, Place{3, 3}},
		{"the highest counts, not the sum", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(3, 3, 3, 3, no, no)}, Place{4, 4}},
		{"slow, but stops the breath", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(5, 1, 1, 1, no, no)}, Place{6, 6}},
		{"only fast", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(1, 1, 4, 1, no, no)}, Place{5, 5}},
		{"a floor lifts", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(1, 1, 1, 1, no, yes)}, Place{4, 4}},
		{"and never lowers", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(5, 1, 1, 1, no, yes)}, Place{6, 6}},
		{"the highest floor", Traits{Venomous: yes, Family: "Elapidae", Native: no, Hazards: hazards(1, 1, 1, 1, yes, yes)}, Place{6, 6}},
		{"no antivenom", Traits{Venomous: yes, Family: "Viperidae", Native: yes, NoAntivenom: true, Hazards: mild}, Place{7, 7}},
		{"not native", Traits{Venomous: yes, Family: "Viperidae", Native: no, Hazards: mild}, Place{4, 4}},
		{"a family", Traits{Venomous: yes, Family: "Elapidae", Native: yes, Hazards: mild}, Place{5, 5}},
		{"a genus", Traits{Venomous: yes, Genus: "Atractaspis", Family: "Atractaspididae", Native: yes, Hazards: mild}, Place{5, 5}},
		{"nobody knows its family", Traits{Venomous: yes, Native: yes, Hazards: mild}, Place{3, 5}},
		{"nobody knows its temper", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(2, 2, 0, 2, no, no)}, Place{3, 6}},
		{"nobody knows its temper, but its venom", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(4, 2, 0, 2, no, no)}, Place{5, 6}},
		{"nobody knows whether it spits", Traits{Venomous: yes, Family: "Viperidae", Native: yes, Hazards: hazards(1, 1, 1, 1, unknown, no)}, Place{3, 6}},
		{"nobody knows whether it is native", Traits{Venomous: yes, Family: "Viperidae", Hazards: mild}, Place{3, 4}},
		{"nobody knows whether it is venomous", Traits{Family: "Viperidae", Native: yes, Hazards: mild}, Place{2, 3}},
		{"nobody knows anything", Traits{}, Place{2, 6}},
		{"nobody knows anything but that there is no antivenom", Traits{NoAntivenom: true}, Place{2, 7}},
	} {
		if got := scale.Of(c.traits); got != c.want {
			t.Errorf("%s: %v, not %v", c.what, got, c.want)
		}
	}
}

// TestKnowingMoreNarrows: whatever turns out to be so, the place lies within
// the range that was given before.
func TestKnowingMoreNarrows(t *testing.T) {
	some := []inventory.Tri{inventory.Yes, inventory.No}
	for n := range 3 * 3 * 3 * 6 * 6 {
		tri := func(k int) inventory.Tri { return inventory.Tri(k % 3) }
		traits := Traits{Family: "Viperidae", Venomous: tri(n), Native: tri(n / 3), Hazards: inventory.Hazards{Venom: n / 27 % 6, Speed: n / 162, Yield: 1, Reach: 1, Spitting: tri(n / 9), Arboreal: inventory.No}}
		before := scale.Of(traits)
		for k := range 8 * 25 {
			known := traits
			fill(&known.Venomous, some[k%2])
			fill(&known.Native, some[k/2%2])
			fill(&known.Hazards.Spitting, some[k/4%2])
			fill(&known.Hazards.Venom, 1+k/8%5)
			fill(&known.Hazards.Speed, 1+k/40)
			after := scale.Of(known)
			if after.Least != after.Most || after.Least < before.Least || after.Most > before.Most {
				t.Fatalf("%+v: %v; then %+v: %v", traits, before, known, after)
			}
		}
	}
}

// fill gives what is not known a value.
func fill[T comparable](field *T, value T) {
	var unknown T
	if *field == unknown {
		*field = value
	}
}

// TestDecided: upward anybody is heard, downward the head of collection only,
// in the order of their days. Common practice, no source.
func TestDecided(t *testing.T) {
	head, keeper := called("head"), called("keeper")
	isHead := func(id inventory.ID, d day.Day) bool { return id == head && d < on("2026-06-01") }
	down := func(stage int, d string, by inventory.ID, until day.End) *Placement {
		return &Placement{Stage: stage, On: on(d), By: by, Until: until}
	}
	forever := day.Forever()
	for _, c := range []struct {
		what      string
		base      Place
		decisions []*Placement
		day       string
		want      Place
	}{
		{"nobody decided", Place{3, 5}, nil, "2026-05-01", Place{3, 5}},
		{"the eve of it", Place{4, 4}, []*Placement{down(6, "2026-05-01", keeper, forever)}, "2026-04-30", Place{4, 4}},
		{"upward by anybody", Place{4, 4}, []*Placement{down(6, "2026-05-01", keeper, forever)}, "2026-05-01", Place{6, 6}},
		{"downward by a keeper", Place{4, 4}, []*Placement{down(3, "2026-05-01", keeper, forever)}, "2026-05-01", Place{4, 4}},
		{"downward by the head", Place{4, 4}, []*Placement{down(3, "2026-05-01", head, forever)}, "2026-05-01", Place{3, 3}},
		{"by who was head later no more", Place{4, 4}, []*Placement{down(3, "2026-06-01", head, forever)}, "2026-07-01", Place{4, 4}},
		{"a keeper lifts the lower end of a range", Place{3, 6}, []*Placement{down(5, "2026-05-01", keeper, forever)}, "2026-05-01", Place{5, 6}},
		{"the head settles a range", Place{3, 6}, []*Placement{down(5, "2026-05-01", head, forever)}, "2026-05-01", Place{5, 5}},
		{"its last day", Place{4, 4}, []*Placement{down(3, "2026-05-01", head, day.Until(on("2026-05-10")))}, "2026-05-10", Place{3, 3}},
		{"the day after", Place{4, 4}, []*Placement{down(3, "2026-05-01", head, day.Until(on("2026-05-10")))}, "2026-05-11", Place{4, 4}},
		{"downward until nobody knows when", Place{4, 4}, []*Placement{down(3, "2026-05-01", head, day.End{})}, "2026-05-02", Place{3, 4}},
		{"upward until nobody knows when", Place{4, 4}, []*Placement{down(6, "2026-05-01", keeper, day.End{})}, "2026-05-02", Place{6, 6}},
		{"up, then down by the head", Place{4, 4}, []*Placement{down(3, "2026-05-02", head, forever), down(6, "2026-05-01", keeper, forever)}, "2026-05-02", Place{3, 3}},
		{"down by the head, then up", Place{4, 4}, []*Placement{down(6, "2026-05-02", keeper, forever), down(3, "2026-05-01", head, forever)}, "2026-05-02", Place{6, 6}},
	} {
		if got := Decided(c.base, c.decisions, isHead).At(on(c.day)); got != c.want {
			t.Errorf("%s: %v, not %v", c.what, got, c.want)
		}
	}
}

// TestTraitsOf: what is not recorded of a species is not known of it.
func TestTraitsOf(t *testing.T) {
	got := TraitsOf(&inventory.Species{Accepted: "Exempla ficta", Family: "Exemplidae"}, "nowhere/at-all")
	if got.Genus != "Exempla" || got.Venomous != inventory.Unknown || got.Native != inventory.Unknown || got.NoAntivenom {
		t.Errorf("%+v", got)
	}
}
