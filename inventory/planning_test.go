package inventory_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

var bases = []inventory.Basis{inventory.Indicated, inventory.Immunogen, inventory.Paraspecific, inventory.Excluded}

// figures reads one row's figures on one day: the last entry that has begun.
func figures(c *inventory.Coverage, on day.Day) (v inventory.Vials) {
	for _, dated := range c.Vials {
		if dated.From <= on {
			v = dated.Value
		}
	}
	return v
}

// plannedFigures answers for one day, straight from the definition.
func plannedFigures(rows []*inventory.Coverage, on day.Day) (v inventory.Vials) {
	for _, c := range rows {
		f := figures(c, on)
		v.Initial, v.Full, v.Worst = max(v.Initial, f.Initial), max(v.Full, f.Full), max(v.Worst, f.Worst)
	}
	if v.Full > 0 && v.Initial > v.Full {
		v.Full = v.Initial
	}
	if v.Worst > 0 && v.Worst < max(v.Full, v.Initial) {
		v.Worst = max(v.Full, v.Initial)
	}
	return v
}

func someRows(t *rapid.T) (rows []*inventory.Coverage) {
	for i := range rapid.IntRange(0, 6).Draw(t, "rows") {
		c := &inventory.Coverage{ID: numbered(i + 1), Product: numbered(rapid.IntRange(1, 2).Draw(t, "product")), Species: numbered(rapid.IntRange(5, 6).Draw(t, "species")),
			Locality: rapid.SampledFrom([]string{"", "", "in", "in/tn", "lk"}).Draw(t, "locality"), Basis: rapid.SampledFrom(bases).Draw(t, "basis"),
			Source: rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "source")}
		on := origin
		for n := range rapid.IntRange(0, 3).Draw(t, "figures") {
			v := inventory.Dated[inventory.Vials]{From: on, Value: inventory.Vials{Full: rapid.IntRange(0, 9).Draw(t, "full"), Worst: rapid.IntRange(0, 20).Draw(t, "worst")}}
			if n == 0 && rapid.Bool().Draw(t, "since ever") {
				v.From = 0
			}
			v.Value.Initial = rapid.IntRange(0, 5).Draw(t, "initial")
			if v.Value.Full > 0 {
				v.Value.Initial = min(v.Value.Initial, v.Value.Full)
			}
			c.Vials = append(c.Vials, v)
			on = on.Add(rapid.IntRange(1, 20).Draw(t, "after"))
		}
		rows = append(rows, c)
	}
	return rows
}

// mayHold says by hand whether a row of someRows holds for a region.
func mayHold(locality, region string) inventory.Tri {
	table := map[string]map[string]inventory.Tri{
		"":      {"": inventory.Yes, "in": inventory.Yes, "in/tn": inventory.Yes, "lk": inventory.Yes},
		"in":    {"": inventory.Unknown, "in": inventory.Yes, "in/tn": inventory.Yes, "lk": inventory.No},
		"in/tn": {"": inventory.Unknown, "in": inventory.Unknown, "in/tn": inventory.Yes, "lk": inventory.No},
		"lk":    {"": inventory.Unknown, "in": inventory.No, "in/tn": inventory.No, "lk": inventory.Yes},
	}
	return table[locality][region]
}

func TestPlanningAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := someRows(t)
		for _, c := range rows {
			if err := c.Check(); err != nil {
				t.Fatalf("the records refuse it: %v\n%+v", err, *c)
			}
		}
		region := rapid.SampledFrom([]string{"", "in", "in/tn", "lk"}).Draw(t, "region")
		checkGrounds(t, inventory.Planning(rows), rows, func(*inventory.Coverage) inventory.Tri { return inventory.Yes })
		checkGrounds(t, inventory.PlanningFor(rows, region), rows, func(c *inventory.Coverage) inventory.Tri { return mayHold(c.Locality, region) })
	})
}

func checkGrounds(t *rapid.T, grounds []inventory.Ground, rows []*inventory.Coverage, holds func(*inventory.Coverage) inventory.Tri) {
	seen := 0
	for product := 1; product <= 2; product++ {
		for species := 5; species <= 6; species++ {
			var of []*inventory.Coverage
			for _, c := range rows {
				if c.Product == numbered(product) && c.Species == numbered(species) && holds(c) != inventory.No {
					of = append(of, c)
				}
			}
			i := slices.IndexFunc(grounds, func(g inventory.Ground) bool { return g.Product == numbered(product) && g.Species == numbered(species) })
			if (i >= 0) != (len(of) > 0) {
				t.Fatalf("ground %d for %d rows", i, len(of))
			}
			if i < 0 {
				continue
			}
			seen++
			checkGround(t, grounds[i], of, holds)
		}
	}
	if seen != len(grounds) {
		t.Fatalf("%d grounds, want %d", len(grounds), seen)
	}
}

func checkGround(t *rapid.T, g inventory.Ground, of []*inventory.Coverage, holds func(*inventory.Coverage) inventory.Tri) {
	if len(g.Rows) != len(of) {
		t.Fatalf("%d of %d rows are shown", len(g.Rows), len(of))
	}
	for _, c := range of {
		if !slices.Contains(g.Rows, c) {
			t.Fatalf("%+v is not shown", *c)
		}
	}
	for _, basis := range bases {
		says := slices.ContainsFunc(of, func(c *inventory.Coverage) bool { return c.Basis == basis && holds(c) == inventory.Yes })
		if basis == inventory.Excluded {
			says = slices.ContainsFunc(of, func(c *inventory.Coverage) bool { return c.Basis == basis })
			if g.Excluded != says {
				t.Fatalf("excluded %t, want %t", g.Excluded, says)
			}
			continue
		}
		if slices.Contains(g.Bases, basis) != says {
			t.Fatalf("%s: %v, want %t", basis, g.Bases, says)
		}
	}
	for on := origin - 2; on <= origin.Add(stretch+10); on++ {
		if got, want := g.Vials.At(on), plannedFigures(of, on); got != want {
			t.Fatalf("%s: %+v, want %+v", on, got, want)
		}
	}
}

// TestSourcesThatDisagree: worked by hand.
func TestSourcesThatDisagree(t *testing.T) {
	row := func(n int, basis inventory.Basis, source string, v inventory.Vials) *inventory.Coverage {
		return &inventory.Coverage{ID: numbered(n), Product: numbered(8), Species: numbered(9), Basis: basis, Source: source, Vials: inventory.Always(v)}
	}
	a, b := row(1, inventory.Indicated, "a label", inventory.Vials{Initial: 2, Full: 4}), row(2, inventory.Paraspecific, "a study", inventory.Vials{Initial: 6, Full: 5, Worst: 5})
	b.Vials[0].Value.Initial = 5
	g := inventory.Planning([]*inventory.Coverage{b, a})[0]
	if got, want := g.Vials.At(origin), (inventory.Vials{Initial: 5, Full: 5, Worst: 5}); got != want {
		t.Errorf("%+v, want the larger of each %+v", got, want)
	}
	if g.Excluded || !slices.Equal(g.Bases, []inventory.Basis{inventory.Indicated, inventory.Paraspecific}) || !slices.Equal(g.Rows, []*inventory.Coverage{a, b}) {
		t.Errorf("%+v", g)
	}
	no := row(3, inventory.Excluded, "another label", inventory.Vials{})
	if g = inventory.Planning([]*inventory.Coverage{a, no, b})[0]; !g.Excluded || len(g.Bases) != 2 || len(g.Rows) != 3 {
		t.Errorf("an exclusion does not beat the others, or they are not shown: %+v", g)
	}
}

// TestARowOfAnotherOriginDoesNotCover: and of one that may be the animal's it
// excludes and raises figures, but covers nothing.
func TestARowOfAnotherOriginDoesNotCover(t *testing.T) {
	south := &inventory.Coverage{ID: numbered(1), Product: numbered(8), Species: numbered(9), Locality: "in/tn", Basis: inventory.Immunogen, Source: "a", Vials: inventory.Always(inventory.Vials{Full: 10})}
	rows := []*inventory.Coverage{south}
	if g := inventory.PlanningFor(rows, "lk"); len(g) != 0 {
		t.Errorf("a row of in/tn holds in lk: %+v", g)
	}
	for _, region := range []string{"", "in"} {
		if g := inventory.PlanningFor(rows, region); len(g) != 1 || len(g[0].Bases) != 0 || g[0].Vials.At(origin).Full != 10 {
			t.Errorf("%q: %+v", region, g)
		}
	}
	if g := inventory.PlanningFor(rows, "in/tn"); len(g) != 1 || len(g[0].Bases) != 1 {
		t.Errorf("its own region: %+v", g)
	}
}
