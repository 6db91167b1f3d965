package inventory_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// plannedOn answers for one order and one day, straight from the definition:
// an order that is neither closed nor overdue brings its vials on the expected
// day, and they are in date until the label's end, or for their life.
func plannedOn(o inventory.Order, today, on day.Day) int {
	for _, s := range o.Stages {
		if s.What == inventory.StageReceived || s.What == inventory.StageCancelled {
			return 0
		}
	}
	if o.Expected.IsZero() || o.Expected < today || on < o.Expected {
		return 0
	}
	if last, known := o.Labelled.Known(); known {
		if on <= last {
			return o.Vials
		}
		return 0
	}
	if o.Life > 0 && int(on-o.Expected) <= o.Life {
		return o.Vials
	}
	return 0
}

// ways are the stages that an order may go through after the first, each
// written out by hand.
var ways = [][]inventory.StageKind{
	{}, {inventory.StageShipped}, {inventory.StageCustoms}, {inventory.StageArrived}, {inventory.StageReceived}, {inventory.StageCancelled},
	{inventory.StageShipped, inventory.StageArrived}, {inventory.StageShipped, inventory.StageCustoms, inventory.StageShipped, inventory.StageArrived},
	{inventory.StageShipped, inventory.StageCustoms, inventory.StageArrived, inventory.StageReceived}, {inventory.StageArrived, inventory.StageCancelled},
}

// someOrder is any order that the records accept.
func someOrder(t *rapid.T) inventory.Order {
	o := inventory.Order{ID: numbered(1), Product: numbered(2), Place: fridge, Number: "O-1", Vials: rapid.IntRange(1, 30).Draw(t, "vials"),
		Stages: []inventory.Stage{{What: inventory.StageOrdered, On: origin}}}
	on := origin
	for _, what := range rapid.SampledFrom(ways).Draw(t, "way") {
		on = on.Add(rapid.IntRange(0, 12).Draw(t, "after"))
		o.Stages = append(o.Stages, inventory.Stage{What: what, On: on})
	}
	if rapid.IntRange(0, 4).Draw(t, "expected?") > 0 {
		o.Expected = someDay(t, "expected")
	}
	if rapid.Bool().Draw(t, "label known") {
		o.Labelled = day.Until(max(someDay(t, "labelled"), o.Expected))
	}
	if rapid.Bool().Draw(t, "life known") {
		o.Life = rapid.IntRange(1, 40).Draw(t, "life")
	}
	return o
}

func TestPlannedAgreesWithItsOracle(t *testing.T) {
	var counted, never int
	rapid.Check(t, func(t *rapid.T) {
		o := someOrder(t)
		if err := o.Check(); err != nil {
			t.Fatalf("the records refuse it: %v\n%+v", err, o)
		}
		today := someDay(t, "today")
		line := o.Planned(today)
		if line.Always(0) {
			never++
		} else {
			counted++
		}
		for on := origin - 2; on <= origin.Add(stretch+60); on++ {
			if got, want := line.At(on), plannedOn(o, today, on); got != want {
				t.Fatalf("today %s, on %s: %d, want %d\n%+v", today, on, got, want, o)
			}
		}
	})
	if counted == 0 || never == 0 {
		t.Errorf("%d orders counted, %d did not: nothing was learnt", counted, never)
	}
}

// TestOneStageFollowsAnother, or not: every pair, by a table written by hand.
func TestOneStageFollowsAnother(t *testing.T) {
	const o, s, h, a, r, c = inventory.StageOrdered, inventory.StageShipped, inventory.StageCustoms, inventory.StageArrived, inventory.StageReceived, inventory.StageCancelled
	reach := map[inventory.StageKind][]inventory.StageKind{o: {}, s: {s}, h: {h}, a: {a}, r: {r}, c: {c}}
	may := map[[2]inventory.StageKind]bool{{o, s}: true, {o, h}: true, {o, a}: true, {o, r}: true, {o, c}: true,
		{s, h}: true, {s, a}: true, {s, r}: true, {s, c}: true, {h, s}: true, {h, a}: true, {h, r}: true, {h, c}: true, {a, r}: true, {a, c}: true}
	for from, way := range reach {
		for to := range reach {
			order := inventory.Order{ID: numbered(1), Product: numbered(2), Place: fridge, Number: "O-1", Vials: 1}
			for i, what := range slices.Concat([]inventory.StageKind{o}, way, []inventory.StageKind{to}) {
				order.Stages = append(order.Stages, inventory.Stage{What: what, On: origin.Add(i)})
			}
			if err := order.Check(); (err == nil) != may[[2]inventory.StageKind{from, to}] {
				t.Errorf("%s after %s: %v", to, from, err)
			}
		}
	}
}

func TestOrdersThatAreRefused(t *testing.T) {
	good := inventory.Order{ID: numbered(1), Product: numbered(2), Place: fridge, Number: "O-1", Vials: 5, Expected: d("2026-05-01"), Labelled: day.Until(d("2027-05-01")),
		Stages: []inventory.Stage{{What: inventory.StageOrdered, On: d("2026-03-01")}, {What: inventory.StageShipped, On: d("2026-03-01")}}}
	if err := good.Check(); err != nil {
		t.Fatal(err)
	}
	for want, spoil := range map[string]func(*inventory.Order){
		"vials: must be at least 1": func(o *inventory.Order) { o.Vials = 0 },
		"number: is empty":          func(o *inventory.Order) { o.Number = "" },
		"product: is not set":       func(o *inventory.Order) { o.Product = inventory.ID{} },
		"place: is not set":         func(o *inventory.Order) { o.Place = inventory.ID{} },
		"stages: are none":          func(o *inventory.Order) { o.Stages = nil },
		"stages: must have days, in ascending": func(o *inventory.Order) {
			o.Stages = []inventory.Stage{o.Stages[0], {What: inventory.StageShipped, On: d("2026-02-28")}}
		},
		"stages: must begin with ordered":      func(o *inventory.Order) { o.Stages = o.Stages[1:] },
		"labelled: never":                      func(o *inventory.Order) { o.Labelled = day.Forever() },
		"labelled: must not be before 2026-05": func(o *inventory.Order) { o.Labelled = day.Until(d("2026-04-30")) },
		"expected: must not be before 2026-03": func(o *inventory.Order) { o.Expected = d("2026-02-28") },
		"life_days: must not be negative":      func(o *inventory.Order) { o.Life = -1 },
		"what may follow is held-at-customs, a": func(o *inventory.Order) {
			o.Stages = append(o.Stages[:2:2], inventory.Stage{What: "lost", On: d("2026-03-02")})
		},
	} {
		o := good
		spoil(&o)
		if err := o.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
