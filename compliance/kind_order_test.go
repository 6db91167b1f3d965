package compliance

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

const antivenomFirstRule = "{before: arrival, antivenom: {bases: [indicated, immunogen]}, lead: 284 days}"

// arrives is an animal that came to the site on a day.
func (h *house) arrives(sp inventory.Species, on string) inventory.Animal {
	a := h.animal(sp)
	a.Arrived, a.Stays[0].From = d(on), d(on)
	h.put(Record(a))
	return a
}

// TestAntivenomBeforeTheAnimal: in hand on the day before the animal comes.
func TestAntivenomBeforeTheAnimal(t *testing.T) {
	const source = "American College of Medical Toxicology, Institutions housing venomous animals (2002, 2012): antivenom obtained before the animal is acquired (R); animal of 2026-05-10"
	for _, c := range []struct {
		name, received, expires string
		on                      string
		want                    Standing
		state                   Code
	}{
		{"received two days after", "2026-05-12", "2028-12-31", "2026-05-10", OutOfOrder, CameTooEarly},
		{"and on the eve of it", "2026-05-12", "2028-12-31", "2026-05-11", OutOfOrder, CameTooEarly},
		{"done late it is in order again", "2026-05-12", "2028-12-31", "2026-05-12", InOrder, CameSince},
		{"received the day before", "2026-05-09", "2028-12-31", "2026-05-10", InOrder, CameFirst},
		{"received the day before, already expired", "2026-05-09", "2026-04-30", "2026-05-10", OutOfOrder, CameTooEarly},
		{"received on the day itself", "2026-05-10", "2028-12-31", "2026-05-10", CannotTell, SameDay},
		{"and from the next day it is there, early or late", "2026-05-10", "2028-12-31", "2026-05-11", InOrder, CameSince},
		{"its end is not recorded", "2026-05-09", "", "2026-05-10", CannotTell, StockUnknown},
		{"it ends later: another rule's business", "2026-05-09", "2026-06-30", "2026-07-01", InOrder, CameFirst},
		{"it ends on the eve", "2026-05-01", "2026-05-09", "2026-05-10", OutOfOrder, CameTooEarly},
	} {
		s := newShelf(t)
		sp := s.species("Naja kaouthia", "Elapidae")
		s.covers("polyvalent", sp, inventory.Indicated, 5, 10)
		end := day.End{}
		if c.expires != "" {
			end = day.Until(d(c.expires))
		}
		s.put(Record(inventory.Lot{ID: inventory.NewID(), Product: s.product("polyvalent").ID, Number: "L", Labelled: end,
			Movements: []inventory.Movement{{On: d(c.received), Place: s.place.ID, Vials: 10, Reason: inventory.Received, Condition: inventory.Checked}}}))
		a := s.arrives(sp, "2026-05-10")
		got := lineOf(t, book(t, "law", "us", rule("test.r", "order", "animal", "order", antivenomFirstRule)), s.snapshot(), "order", a.Ref()).At(d(c.on))
		if got.Standing != c.want || got.State != c.state {
			t.Errorf("%s: %s, %s; want %s, %s (%s)", c.name, got.Standing, got.State, c.want, c.state, source)
		}
	}
}

// TestInspectedBeforeAnimalsArePlaced: the facility, or the enclosure, is
// inspected and approved before the animal comes.
func TestInspectedBeforeAnimalsArePlaced(t *testing.T) {
	const source = "Rule 68A-6.017 FAC: facility inspected and approved before animals are placed (R); dates D"
	for _, c := range []struct {
		name, of string
		on       string
		passed   inventory.Tri
		want     Code
	}{
		{"the day before", "site", "2026-05-09", inventory.Yes, CameFirst},
		{"on the day", "site", "2026-05-10", inventory.Yes, SameDay},
		{"a day late", "site", "2026-05-11", inventory.Yes, CameTooEarly},
		{"failed", "site", "2026-05-09", inventory.No, CameTooEarly},
		{"whether it passed is not recorded", "site", "2026-05-09", inventory.Unknown, ResultUnknown},
		{"the enclosure itself", "enclosure", "2026-05-09", inventory.Yes, CameFirst},
		{"more than a year ago", "site", "2025-05-09", inventory.Yes, CameTooEarly},
	} {
		h := newHouse(t).lists()
		a := h.arrives(h.species("Naja kaouthia", "Elapidae"), "2026-05-10")
		about := h.site.Ref()
		if c.of == "enclosure" {
			about = inventory.Ref{Kind: inventory.KindEnclosure, ID: a.Stays[0].Enclosure}
		}
		h.put(Record(Activity{ID: inventory.NewID(), What: "inspection.facility", Subject: about, On: d(c.on), Passed: c.passed}))
		params := "{before: arrival, activity: {what: inspection.facility, of: " + c.of + ", good_for: 12 months}}"
		got := lineOf(t, book(t, "law", "us/fl", rule("test.r", "order", "animal", "order", params)), h.snapshot(), "order", a.Ref()).At(d("2026-05-10"))
		if got.State != c.want {
			t.Errorf("%s: %s, %s; want %s (%s)", c.name, got.Standing, got.State, c.want, source)
		}
	}
}

// TestPaperBeforeTheAnimal: a paper issued earlier counts from the first
// minute of its first day; one granted on the day itself may have come later.
func TestPaperBeforeTheAnimal(t *testing.T) {
	for _, c := range []struct {
		name, issued, from string
		want               Code
	}{
		{"in force for long", "2026-01-01", "2026-01-01", CameFirst},
		{"in force from that day, issued before", "2026-05-01", "2026-05-10", CameFirst},
		{"issued on that day", "2026-05-10", "2026-05-10", SameDay},
		{"issued the day after", "2026-05-11", "2026-05-11", CameTooEarly},
	} {
		h := newHouse(t).lists()
		a := h.arrives(h.species("Naja kaouthia", "Elapidae"), "2026-05-10")
		p := h.permit("P", day.Until(d("2027-12-31")))
		p.Issued, p.From = d(c.issued), d(c.from)
		h.put(Record(p))
		params := "{before: arrival, paper: {class: keep}}"
		r := Evaluate(book(t, "law", "us", rule("test.r", "order", "animal", "order", params)), h.snapshot(), Ask{Now: noon})
		j := r.Of(Key{Requirement: "order", Subject: a.Ref()})
		if got := j.Law.At(d("2026-05-10")); got.State != c.want {
			t.Errorf("%s: %s, %s; want %s", c.name, got.Standing, got.State, c.want)
		}
		if r.Of(Key{Requirement: "paper.kept", Subject: p.Ref()}) == nil {
			t.Errorf("%s: nobody watches the paper once the animal is there", c.name)
		}
	}
}

// TestArrivalsThatAreNone: an animal that was there when the rule began, or
// was born there, came before nothing.
func TestArrivalsThatAreNone(t *testing.T) {
	s := newShelf(t)
	sp := s.species("Naja kaouthia", "Elapidae")
	s.covers("polyvalent", sp, inventory.Indicated, 5, 10)
	there, born, moved := s.animal(sp), s.arrives(sp, "2026-05-10"), s.arrives(sp, "2026-05-10")
	born.Born = born.Arrived
	site, cage := s.otherSite("Other")
	moved.Stays = append(moved.Stays, inventory.Stay{Enclosure: cage.ID, From: d("2026-06-01")})
	site.Jurisdiction = inventory.Always("us/tx")
	s.put(Record(born), Record(site), Record(moved))
	r := Evaluate(book(t, "law", "us/tx", rule("test.r", "order", "animal", "order", antivenomFirstRule)), s.snapshot(), Ask{Now: noon})
	if j := r.Of(Key{Requirement: "order", Subject: moved.Ref()}); j == nil || j.Law.At(d("2026-06-01")).State != CameTooEarly {
		t.Errorf("moved under the law: %+v", j)
	}
	r = Evaluate(book(t, "law", "us", rule("test.r", "order", "animal", "order", antivenomFirstRule, "    from: 2026-01-01\n")), s.snapshot(), Ask{Now: noon})
	for name, a := range map[string]inventory.Animal{"there already": there, "born there": born} {
		j := r.Of(Key{Requirement: "order", Subject: a.Ref()})
		if got := j.Law; !got.Always(notApplicable) {
			t.Errorf("%s: %+v", name, got)
		}
		if why := r.WhyRule(j.Rules[0].Rule, j.Key, d("2026-06-15")); len(why) == 0 || why[0].Code != "order-no-arrival" {
			t.Errorf("%s: why %v", name, why)
		}
	}
}

// TestOrderIsToldAhead: of an arrival that is planned, by the day on which to
// order; the stock must be there on the day before.
func TestOrderIsToldAhead(t *testing.T) {
	s := newShelf(t)
	sp := s.species("Naja kaouthia", "Elapidae")
	s.covers("polyvalent", sp, inventory.Indicated, 5, 10)
	s.planned(inventory.PlanArrival, sp, "2027-05-12", 3)
	b := book(t, "law", "us", rule("test.r", "order", "animal", "order", antivenomFirstRule))
	key := Key{"order", inventory.Holding(sp.ID, s.site.ID), "2027-05-12"}
	r := Evaluate(b, s.snapshot(), Ask{Now: noon})
	// 2027-05-11 less 284 days is Friday 2026-07-31.
	if got := r.Of(key).Law.At(d("2026-06-15")); got.Standing != InOrder || got.Step.Do != OrderAntivenom || got.Step.By != d("2026-07-31") || got.Step.Legal != d("2027-05-11") {
		t.Errorf("without stock: %+v", got)
	}
	if got := r.Of(key).Law.At(d("2027-05-12")); got.State != CameTooEarly || got.Step.Do != ReplaceAntivenom || got.Step.By != d("2026-07-31") {
		t.Errorf("on the day: %+v", got)
	}
	if why := r.Why(r.Of(key), d("2026-06-15")); !slices.ContainsFunc(why, func(r Reason) bool { return r.Code == "order-vials" }) {
		t.Errorf("why: %v", why)
	}
	s.lot("polyvalent", "L", 10, day.Until(d("2028-12-31")))
	if got := Evaluate(b, s.snapshot(), Ask{Now: noon}).Of(key).Law.At(d("2026-06-15")); got.Standing != InOrder || !got.Step.IsZero() {
		t.Errorf("with stock: %+v", got)
	}
}

// TestOrderNeedsAListThatReachesBack: a stock list that begins after the
// arrival does not prove that there was none.
func TestOrderNeedsAListThatReachesBack(t *testing.T) {
	for complete, want := range map[string]Code{"2026-05-09": CameTooEarly, "2026-05-10": ListMissing, "2026-05-11": ListMissing} {
		h := newHouse(t)
		sp := h.species("Naja kaouthia", "Elapidae")
		s := &shelf{house: h, products: map[string]inventory.Product{}}
		s.covers("polyvalent", sp, inventory.Indicated, 5, 10)
		h.put(Record(Feed{ID: inventory.NewID(), Topic: TopicStock, Keeper: Head, Complete: d(complete), Confirmed: []day.Day{d("2026-06-01")}, MaxAge: 200}))
		a := h.arrives(sp, "2026-05-10")
		if got := lineOf(t, book(t, "law", "us", rule("test.r", "order", "animal", "order", antivenomFirstRule)), h.snapshot(), "order", a.Ref()).At(d("2026-06-15")); got.State != want {
			t.Errorf("complete from %s: %s, %s; want %s", complete, got.Standing, got.State, want)
		}
	}
}

// TestOrderMistakes: what a pack may get wrong.
func TestOrderMistakes(t *testing.T) {
	for _, c := range []struct{ subject, params, want string }{
		{"animal", "{antivenom: {bases: [indicated]}}", "before"},
		{"animal", "{before: departure, antivenom: {bases: [indicated]}}", "arrival"},
		{"animal", "{before: arrival}", "one thing"},
		{"animal", "{before: arrival, antivenom: {bases: [indicated]}, paper: {class: x}}", "one thing"},
		{"animal", "{before: arrival, antivenom: {bases: [hearsay]}}", "indicated"},
		{"animal", "{before: arrival, antivenom: {bases: [indicated], dose: half}}", "initial"},
		{"animal", "{before: arrival, activity: {what: x, of: room}}", "enclosure"},
		{"animal", "{before: arrival, activity: {what: x, every: 3 days}}", "good_for"},
		{"site", "{before: arrival, paper: {class: x}}", "no subject \"site\""},
	} {
		mistaken(t, "law", rule("mine.r", "order", c.subject, "order", c.params), c.want)
	}
}

// naiveOrder answers for one animal on one day. each gives, for each thing
// that would be enough, whether it is there on a day.
func naiveOrder(arrived, on day.Day, known bool, each []func(day.Day) inventory.Tri) Standing {
	if on < arrived {
		if !known {
			return NotApplicable
		}
		return InOrder
	}
	before, seen := inventory.No, inventory.No
	for _, there := range each {
		one := inventory.No
		switch {
		case there(arrived) == inventory.No:
		case there(arrived) == inventory.Yes && there(arrived-1) == inventory.Yes:
			one = inventory.Yes
		default:
			one = inventory.Unknown
		}
		before = before.Or(one)
	}
	if known && before == inventory.Yes {
		return InOrder
	}
	for x := arrived; x <= on; x++ {
		for _, there := range each {
			if is := there(x); x == arrived && known && is == inventory.Yes { // perhaps later than the animal
				if on > arrived {
					return InOrder
				}
				seen = seen.Or(inventory.Unknown)
			} else {
				seen = seen.Or(is)
			}
		}
	}
	switch {
	case seen == inventory.Yes:
		return InOrder
	case seen == inventory.Unknown || before == inventory.Unknown || !known:
		return CannotTell
	default:
		return OutOfOrder
	}
}

func TestOrderAgreesWithItsOracle(t *testing.T) {
	seen := map[Standing]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := newShelf(discard{})
		sp := s.species("Naja kaouthia", "Elapidae")
		a := s.animal(sp)
		arrival := anyDay(t, "arrival")
		a.Arrived, a.Stays[0].From = arrival, arrival
		known := rapid.IntRange(0, 3).Draw(t, "arrival known") > 0
		if !known {
			a.Arrived = 0
		}
		s.put(Record(a))
		var params string
		var each []func(day.Day) inventory.Tri
		switch rapid.IntRange(0, 2).Draw(t, "what") {
		case 0:
			params = "{before: arrival, antivenom: {bases: [indicated]}}"
			for i := range rapid.IntRange(1, 2).Draw(t, "products") {
				name, need := fmt.Sprint("product ", i), rapid.IntRange(1, 8).Draw(t, "full")
				s.covers(name, sp, inventory.Indicated, 0, need)
				var lots []inventory.Lot
				for j := range rapid.IntRange(0, 2).Draw(t, "lots") {
					lots = append(lots, anyLot(t, s, name, fmt.Sprint("L", j)))
					s.put(Record(lots[j]))
				}
				each = append(each, func(on day.Day) inventory.Tri {
					sure, most := 0, 0
					for _, l := range lots {
						x, y := naiveVials(l, on)
						sure, most = sure+x, most+y
					}
					return naiveEnough(sure, most, need)
				})
			}
		case 1:
			params = "{before: arrival, activity: {what: inspection.x, good_for: 20 days}}"
			var acts []Activity
			for range rapid.IntRange(0, 3).Draw(t, "activities") {
				act := Activity{ID: inventory.NewID(), What: "inspection.x", Subject: s.site.Ref(), On: anyDay(t, "on"), Passed: anyTri(t, "passed")}
				acts = append(acts, act)
				s.put(Record(act))
			}
			each = append(each, func(on day.Day) inventory.Tri { return naiveTri(naiveRecurring(acts, 20, false, on)) })
		case 2:
			params = "{before: arrival, paper: {class: keep, match: [taxon]}}"
			var papers []Permit
			for i := range rapid.IntRange(0, 2).Draw(t, "papers") {
				p := anyPermit(t, s.house, fmt.Sprint("P", i))
				p.Issued = 0 // then its first day is all that is known
				if p.From == 0 {
					p.From = anyDay(t, "from then")
				}
				if last, ok := p.Expires.Known(); ok && last < p.From {
					p.Expires = day.Until(p.From)
				}
				papers = append(papers, p)
				s.put(Record(p))
			}
			for _, p := range papers {
				each = append(each, func(on day.Day) inventory.Tri {
					return naiveTri(naivePaper(p, papers, permitTerms{means: notEnough}, nil, on))
				})
			}
		}
		snapshot, err := s.batch.Apply(&Snapshot{})
		if err != nil {
			t.Skip(err)
		}
		line := lineOf(discard{}, book(discard{}, "law", "us", rule("test.r", "order", "animal", "order", params)), snapshot, "order", a.Ref())
		for on := base - 3; on <= base.Add(stretch+40); on++ {
			got, want := line.At(on), naiveOrder(arrival, on, known, each)
			if got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s; arrival %s, known: %v, %s", on, got.Standing, got.State, want, arrival, known, params)
			}
			seen[want]++
		}
	})
	if len(seen) < 3 {
		t.Errorf("only %v were seen", seen)
	}
}

func naiveEnough(sure, most, need int) inventory.Tri {
	switch {
	case sure >= need:
		return inventory.Yes
	case most >= need:
		return inventory.Unknown
	default:
		return inventory.No
	}
}

func naiveTri(s Standing) inventory.Tri {
	return map[Standing]inventory.Tri{InOrder: inventory.Yes, CannotTell: inventory.Unknown, OutOfOrder: inventory.No, NotApplicable: inventory.No}[s]
}
