package compliance

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveWording answers for one day: any reading that may be the latest counts,
// and the worst of them.
func naiveWording(acts []Activity, moves []day.Day, fields []string, every int, on day.Day) Standing {
	latest := day.Day(0)
	for _, a := range acts {
		if a.On <= on {
			latest = max(latest, a.On)
		}
	}
	if latest == 0 || every > 0 && on.Sub(latest) > every {
		return CannotTell
	}
	for _, m := range moves {
		if m <= on && latest <= m {
			return CannotTell
		}
	}
	worst := NotApplicable
	for _, a := range acts {
		if a.On != latest || naiveReadAgain(acts, a) {
			continue
		}
		missing := 0
		for _, f := range fields {
			if !strings.Contains(","+strings.Join(a.Fields, ",")+",", ","+f+",") {
				missing++
			}
		}
		listed := len(a.Fields) > 0
		switch {
		case listed && missing > 0 || a.Passed == inventory.No:
			worst = OutOfOrder
		case !listed || a.Passed == inventory.Unknown:
			worst = max(worst, CannotTell)
		default:
			worst = max(worst, InOrder)
		}
	}
	return worst
}

// naiveReadAgain says whether a reading was surely followed by another on the
// same day.
func naiveReadAgain(acts []Activity, a Activity) bool {
	again := false
	for _, b := range acts {
		if b.On != a.On {
			continue
		}
		if b.At.IsZero() {
			return false
		}
		again = again || b.At.After(a.At)
	}
	return again && !a.At.IsZero()
}

func TestWordingAgreesWithItsOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		a := h.animal(h.species("Naja kaouthia", "Elapidae"))
		var moves []day.Day
		if rapid.Bool().Draw(t, "moved") {
			other := inventory.Enclosure{ID: inventory.NewID(), Site: h.site.ID, Code: "other"}
			moves = []day.Day{anyDay(t, "moved on")}
			a.Stays = append(a.Stays, inventory.Stay{Enclosure: other.ID, From: moves[0]})
			h.put(Record(other), Record(a))
		}
		var acts []Activity
		for range rapid.IntRange(0, 5).Draw(t, "readings") {
			act := Activity{ID: inventory.NewID(), What: "label.checked", Subject: a.Ref(), On: base.Add(rapid.IntRange(0, 8).Draw(t, "on")), Passed: anyTri(t, "passed"),
				Fields: rapid.SampledFrom([][]string{nil, {"banner"}, {"banner", "owner"}, {"owner", "banner", "name"}}).Draw(t, "fields")}
			if rapid.IntRange(0, 3).Draw(t, "hour known") > 0 {
				act.At = day.StartOf(act.On, time.UTC).Add(time.Duration(rapid.IntRange(5, 9).Draw(t, "hour")) * time.Hour).UTC()
			}
			acts = append(acts, act)
			h.put(Record(act))
		}
		every := rapid.SampledFrom([]int{0, 3, 10}).Draw(t, "every")
		params := "{checked: label.checked, fields: [banner, owner]}"
		if every > 0 {
			params = fmt.Sprintf("{checked: label.checked, fields: [banner, owner], every: %d days}", every)
		}
		line := lineOf(discard{}, book(discard{}, "law", "us", rule("test.r", "label", "animal", "wording", params)), h.snapshot(), "label", a.Ref())
		for on := base - 3; on <= base.Add(stretch); on++ {
			if got, want := line.At(on), naiveWording(acts, moves, []string{"banner", "owner"}, every, on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\n%+v\nmoved %v, %s", on, got.Standing, got.State, want, acts, moves, params)
			}
		}
	})
}

// TestWordingIsAUnion is P5: N.C. Gen. Stat. 14-417 (R) asks for five fields,
// the house for a sixth. Each rule is judged alone, and whoever makes the label
// is told of all six.
func TestWordingIsAUnion(t *testing.T) {
	const source = "N.C. Gen. Stat. 14-417 (R)"
	b := books(t, pack("nc", "law", "us/nc", rule("nc.label", "label", "animal", "wording", "{checked: label.checked, fields: [banner, scientific-name, common-name, antivenin, owner]}")),
		pack("house", "house", "", rule("house.label", "label", "animal", "wording", "{checked: label.checked, fields: [animal-id]}")),
		pack("guidance", "guidance", "", rule("guidance.label", "label", "animal", "wording", "{checked: label.checked, fields: [photo]}")))
	for _, c := range []struct {
		fields      []string
		law, policy Standing
		lacks       string
	}{
		{[]string{"banner", "scientific-name", "common-name", "owner"}, OutOfOrder, OutOfOrder, "animal id, antivenin"},
		{[]string{"banner", "scientific-name", "common-name", "antivenin", "owner"}, InOrder, OutOfOrder, "animal id"},
		{[]string{"banner", "scientific-name", "common-name", "antivenin", "owner", "animal-id"}, InOrder, InOrder, ""},
	} {
		h := newHouse(t).lists()
		h.site.Jurisdiction = inventory.Always("us/nc")
		h.put(Record(h.site))
		a := h.animal(h.species("Naja kaouthia", "Elapidae"))
		h.did("label.checked", a.Ref(), "2026-06-01", func(x *Activity) { x.Fields = c.fields })
		r := Evaluate(b, h.snapshot(), Ask{Now: noon})
		j := r.Of(Key{Requirement: "label", Subject: a.Ref()})
		on := d("2026-06-15")
		if j.Law.At(on).Standing != c.law || j.Policy.At(on).Standing != c.policy {
			t.Errorf("%v: law %s, policy %s; want %s, %s (P5, %s)", c.fields, j.Law.At(on).Standing, j.Policy.At(on).Standing, c.law, c.policy, source)
		}
		for _, rl := range j.Rules[:2] {
			why := r.WhyRule(rl.Rule, j.Key, on)
			if rl.Rule.Layer == Guidance {
				continue
			}
			if got := why[0].Args[0].Value; got != "animal id, antivenin, banner, common name, owner, scientific name" {
				t.Errorf("%s asks for %s, want the union of six (P5, %s)", rl.Rule.ID, got, source)
			}
			if got := fmt.Sprint(why); c.lacks != "" && !strings.Contains(got, c.lacks) {
				t.Errorf("%s: %s does not say that it lacks %s", rl.Rule.ID, got, c.lacks)
			}
		}
	}
}

// TestWordingOfANewEnclosure: a label read on the day of a move may be the old
// one; the first enclosure has no other.
func TestWordingOfANewEnclosure(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	a.Arrived, a.Stays[0].From = d("2026-06-01"), d("2026-06-01")
	other := inventory.Enclosure{ID: inventory.NewID(), Site: h.site.ID, Code: "other"}
	a.Stays = append(a.Stays, inventory.Stay{Enclosure: other.ID, From: d("2026-06-10")})
	h.put(Record(other), Record(a))
	for _, on := range []string{"2026-06-01", "2026-06-10", "2026-06-12"} {
		h.did("label.checked", a.Ref(), on, func(x *Activity) { x.Fields = []string{"banner"} })
	}
	line := lineOf(t, book(t, "law", "us", rule("test.r", "label", "animal", "wording", "{checked: label.checked, fields: [banner]}")), h.snapshot(), "label", a.Ref())
	for on, want := range map[string]Code{"2026-06-01": WordingComplete, "2026-06-09": WordingComplete, "2026-06-10": WordingOfBefore, "2026-06-11": WordingOfBefore, "2026-06-12": WordingComplete} {
		if got := line.At(d(on)).State; got != want {
			t.Errorf("%s: %s, want %s", on, got, want)
		}
	}
}

func TestWordingRefuses(t *testing.T) {
	for params, want := range map[string]string{
		"{fields: [banner]}":                              "checked",
		"{checked: label.checked}":                        "name at least one field",
		"{checked: label.checked, fields: []}":            "fields",
		"{checked: label.checked, fields: [Banner]}":      "lower-case words",
		"{checked: label.checked, fields: [a, a]}":        "fields",
		"{checked: label.checked, fields: [a], ever: 1}":  "ever",
		"{checked: label.checked, fields: [a], every: 1}": "every",
	} {
		_, err := ReadPack("p.yaml", []byte(pack("p", "law", "us", rule("r", "label", "animal", "wording", params))))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", params, err, want)
		}
	}
}

// TestActivityFields: what a record of a reading may hold.
func TestActivityFields(t *testing.T) {
	ok := Activity{What: "label.checked", Subject: inventory.Ref{Kind: inventory.KindSite, ID: inventory.NewID()}, On: d("2026-06-01"), Fields: []string{"banner", "owner"}, At: clockAt("2026-06-01T23:30-11:00")}
	for _, c := range []struct {
		spoil func(*Activity)
		want  string
	}{
		{func(*Activity) {}, ""},
		{func(a *Activity) { a.Fields = []string{"Banner"} }, "fields"},
		{func(a *Activity) { a.Fields = []string{"banner", "banner"} }, "stands twice"},
		{func(a *Activity) { a.At = clockAt("2026-06-03T00:00-00:00") }, "not on 2026-06-01 anywhere"},
		{func(a *Activity) { a.At = clockAt("2026-05-31T09:59-00:00") }, "not on 2026-06-01 anywhere"},
		{func(a *Activity) { a.At = a.At.In(time.FixedZone("x", 3600)) }, "UTC"},
		{func(a *Activity) { a.At = a.At.Add(time.Millisecond) }, "whole seconds"},
	} {
		a := ok
		c.spoil(&a)
		err := a.Check()
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", a, err, c.want)
		}
	}
}
