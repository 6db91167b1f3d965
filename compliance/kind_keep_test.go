package compliance

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveKept answers for one day, of grounds that each have an end.
func naiveKept(untils []day.End, gone []Activity, f *Feed, on day.Day) Standing {
	must, perhaps := false, false
	for _, u := range untils {
		switch {
		case u.Kind == day.Never || u.Kind == day.Known && on <= u.On:
			must = true
		case u.Kind == day.Unknown:
			perhaps = true
		}
	}
	if !must && !perhaps {
		return NotApplicable
	}
	sure, maybe := false, false
	for _, a := range gone {
		sure = sure || a.On <= on && a.Passed == inventory.Yes
		maybe = maybe || a.On <= on && a.Passed == inventory.Unknown
	}
	switch {
	case sure && must:
		return OutOfOrder
	case sure || maybe:
		return CannotTell
	case f == nil || naiveFresh(*f, on) == Stale:
		return CannotTell
	default:
		return InOrder
	}
}

func anyFeed(t *rapid.T, h *house) *Feed {
	if rapid.IntRange(0, 4).Draw(t, "list kept") == 0 {
		return nil
	}
	f := &Feed{ID: inventory.NewID(), Topic: TopicActivities, Keeper: Head, Complete: anyDay(t, "complete"), MaxAge: rapid.IntRange(1, 60).Draw(t, "max age")}
	f.Confirmed = []day.Day{f.Complete.Add(rapid.IntRange(0, 20).Draw(t, "confirmed"))}
	h.put(Record(*f))
	return f
}

func anyActivities(t *rapid.T, h *house, subject inventory.Ref, words ...string) (all []Activity) {
	for range rapid.IntRange(0, 4).Draw(t, "activities") {
		a := Activity{ID: inventory.NewID(), What: rapid.SampledFrom(words).Draw(t, "what"), Subject: subject, On: anyDay(t, "on"), Passed: anyTri(t, "passed")}
		all = append(all, a)
		h.put(Record(a))
	}
	return all
}

// later adds days to an end.
func later(e day.End, days int) day.End {
	if on, known := e.Known(); known {
		return day.Until(on.Add(days))
	}
	return e
}

func TestKeepAgreesWithItsOracle(t *testing.T) {
	b := book(t, "law", "us", rule("test.p", "paper", "permit", "keep", "{destroyed: destroyed.x, grounds: [{after: expiry, for: 5 days}, {after: activity, activity: sale.x, for: 3 days}]}")+
		rule("test.a", "animal", "animal", "keep", "{destroyed: destroyed.x, grounds: [{after: departure, for: 4 days}, {after: paper, class: keep, for: 6 days}]}")+
		rule("test.l", "lot", "lot", "keep", "{destroyed: destroyed.x, grounds: [{after: emptied, for: 4 days}, {after: expiry, for: 2 days}]}"))
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{})
		s := &shelf{house: h, products: map[string]inventory.Product{}, place: inventory.Place{ID: inventory.NewID(), Site: h.site.ID, Title: "fridge"}}
		h.put(Record(s.place))
		sp := h.species("Naja kaouthia", "Elapidae")
		f := anyFeed(t, h)
		a := h.animal(sp)
		departed := day.Forever()
		if rapid.Bool().Draw(t, "left") {
			on := anyDay(t, "left on")
			a.Left, departed = &inventory.Disposition{How: inventory.Transferred, On: on}, day.Until(on)
		}
		h.put(Record(a))
		p := h.permit("P", anyEnd(t, "expires"))
		other := h.permit("Q", anyEnd(t, "expires"))
		other.Class = "other"
		h.put(Record(p), Record(other))
		l := anyLot(t, s, "first", "L")
		h.put(Record(l))
		for _, c := range []struct {
			requirement string
			subject     inventory.Ref
			untils      func(acts []Activity) []day.End
		}{
			{"paper", p.Ref(), func(acts []Activity) []day.End {
				all := []day.End{later(p.Expires, 5)}
				for _, x := range acts {
					if x.What == "sale.x" {
						all = append(all, day.Until(x.On.Add(3)))
					}
				}
				return all
			}},
			{"animal", a.Ref(), func([]Activity) []day.End { return []day.End{later(departed, 4), later(p.Expires, 6)} }},
			{"lot", l.Ref(), func([]Activity) []day.End {
				vials, end, gone := 0, day.End{}, l.Labelled
				for _, m := range l.Movements {
					if vials += m.Vials; vials == 0 {
						end = day.Until(m.On)
					}
				}
				if vials > 0 {
					end = day.Forever()
				}
				for _, e := range l.Extensions {
					if gone.Kind == day.Known {
						gone.On = max(gone.On, e.Until)
					}
				}
				return []day.End{later(end, 4), later(gone, 2)}
			}},
		} {
			acts := anyActivities(t, h, c.subject, "destroyed.x", "sale.x")
			var gone []Activity
			for _, x := range acts {
				if x.What == "destroyed.x" {
					gone = append(gone, x)
				}
			}
			line := lineOf(discard{}, b, h.snapshot(), c.requirement, c.subject)
			for on := base - 3; on <= base.Add(stretch+60); on++ {
				if got, want := line.At(on), naiveKept(c.untils(acts), gone, f, on); got.Standing != want {
					t.Fatalf("%s on %s: %s (%s), the oracle says %s\n%+v\n%v\n%+v", c.requirement, on, got.Standing, got.State, want, f, c.untils(acts), gone)
				}
			}
		}
	})
}

// TestKeepTheLongestOf is P3: the permit's expiry and five years, by one law,
// and the animal's disposal and two, by another. Each is judged alone; the
// record is kept until the later day.
func TestKeepTheLongestOf(t *testing.T) {
	const source = "50 CFR 13.46 (M), 17 Ill. Adm. Code 885.140 (R), dates D"
	h := newHouse(t).lists()
	h.site.Jurisdiction = inventory.Always("us/il")
	h.put(Record(h.site))
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	a.Left = &inventory.Disposition{How: inventory.Transferred, On: d("2027-03-01")}
	h.put(Record(a), Record(h.permit("P", day.Until(d("2026-12-31")))))
	b := books(t, pack("us", "law", "us", rule("us.keep", "record", "animal", "keep", "{destroyed: record.destroyed, grounds: [{after: paper, class: keep, for: 5 years}]}")),
		pack("il", "law", "us/il", rule("il.keep", "record", "animal", "keep", "{destroyed: record.destroyed, grounds: [{after: departure, for: 2 years}]}")))
	until := func(h *house) (last map[string]day.Day, line Line) {
		j := Evaluate(b, h.snapshot(), Ask{Now: noon}).Of(Key{Requirement: "record", Subject: a.Ref()})
		last = make(map[string]day.Day)
		for _, r := range j.Rules {
			on, _, _ := r.Line.Next(d("2027-03-01"), func(v *Verdict) bool { return v.Standing == NotApplicable })
			last[r.Rule.ID] = on - 1
		}
		return last, j.Law
	}
	last, line := until(h)
	if last["us.keep"] != d("2031-12-31") || last["il.keep"] != d("2029-03-01") {
		t.Errorf("kept to %v (%s)", last, source)
	}
	for on, want := range map[string]Standing{"2029-03-01": InOrder, "2031-12-31": InOrder, "2032-01-01": NotApplicable} {
		if got := line.At(d(on)).Standing; got != want {
			t.Errorf("%s: %s, want %s (P3: %s)", on, got, want, source)
		}
	}
	h.did("record.destroyed", a.Ref(), "2029-03-02")
	_, line = until(h)
	for on, want := range map[string]Standing{"2029-03-01": InOrder, "2029-03-02": OutOfOrder, "2031-12-31": OutOfOrder, "2032-01-01": NotApplicable} {
		if got := line.At(d(on)); got.Standing != want {
			t.Errorf("destroyed on 2029-03-02, %s: %s (%s), want %s", on, got.Standing, got.State, want)
		}
	}
}

// TestKeepOfLaw: Rule 68A-6.008 FAC (R part): three years. Utah R657-3-16
// (R): two from a certificate's expiration.
func TestKeepOfLaw(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	p := h.permit("C", day.Until(d("2026-02-28")))
	h.put(Record(p))
	h.did("sale.animal", a.Ref(), "2026-02-28")
	b := book(t, "law", "us", rule("test.s", "sale", "animal", "keep", "{destroyed: record.destroyed, grounds: [{after: activity, activity: sale.animal, for: 3 years}]}")+
		rule("test.c", "certificate", "permit", "keep", "{destroyed: record.destroyed, grounds: [{after: expiry, for: 2 years}]}"))
	for _, c := range []struct {
		requirement string
		subject     inventory.Ref
		last        string
	}{{"sale", a.Ref(), "2029-02-28"}, {"certificate", p.Ref(), "2028-02-28"}} {
		line := lineOf(t, b, h.snapshot(), c.requirement, c.subject)
		if line.At(d(c.last)).Standing != InOrder || line.At(d(c.last)+1).Standing != NotApplicable || !line.At(d(c.last)).Step.IsZero() {
			t.Errorf("%s: %s, then %s", c.requirement, line.At(d(c.last)).Standing, line.At(d(c.last)+1).Standing)
		}
	}
	r := Evaluate(b, h.snapshot(), Ask{Now: noon})
	if why := fmt.Sprint(r.Why(r.Of(Key{Requirement: "sale", Subject: a.Ref()}), d("2026-06-15"))); !strings.Contains(why, "2029-02-28") {
		t.Errorf("%s does not say until when", why)
	}
}

func TestKeepRefuses(t *testing.T) {
	for params, want := range map[string]string{
		"{grounds: [{after: expiry, for: 2 years}]}": "destroyed",
		"{destroyed: x}": "grounds",
		"{destroyed: x, grounds: [{after: departure, for: 2 years}]}":                 "allowed: expiry, activity",
		"{destroyed: x, grounds: [{after: expiry}]}":                                  "for",
		"{destroyed: x, grounds: [{after: activity, for: 2 years}]}":                  "after: activity needs it",
		"{destroyed: x, grounds: [{after: expiry, for: 2 years, class: keep}]}":       "belongs to after: paper alone",
		"{destroyed: x, grounds: [{after: expiry, for: 2 years, until: 2027-01-01}]}": "until",
		"{destroyed: x, grounds: [{after: activity, activity: Sale, for: 2 years}]}":  "lower-case words",
	} {
		_, err := ReadPack("p.yaml", []byte(pack("p", "law", "us", rule("r", "record", "permit", "keep", params))))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", params, err, want)
		}
	}
}
