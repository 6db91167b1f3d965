package deed_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func d(s string) day.Day { return day.MustParse(s) }

// house is what the deeds of these tests are about.
type house struct {
	org        inventory.Organisation
	site       inventory.Site
	doors      []inventory.Enclosure
	places     []inventory.Place
	cobra      inventory.Species
	product    inventory.Product
	lot        inventory.Lot
	animal     inventory.Animal
	paper      compliance.Permit
	keeper     compliance.Person
	list       compliance.Feed
	planned    inventory.Planned
	snapshot   *compliance.Snapshot
	notWatched compliance.NotWatched
}

func newHouse(t testing.TB) *house {
	t.Helper()
	h := &house{}
	h.org = inventory.Organisation{ID: inventory.NewID(), Title: "Moss", Victims: 1}
	h.site = inventory.Site{ID: inventory.NewID(), Organisation: h.org.ID, Title: "Moss House", Zone: "Europe/London"}
	for i := range 2 {
		h.doors = append(h.doors, inventory.Enclosure{ID: inventory.NewID(), Site: h.site.ID, Code: fmt.Sprint("E", i), State: inventory.InService})
		h.places = append(h.places, inventory.Place{ID: inventory.NewID(), Site: h.site.ID, Title: fmt.Sprint("fridge ", i)})
	}
	h.cobra = inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia"}
	h.product = inventory.Product{ID: inventory.NewID(), Type: "equine F(ab')2 against Asian cobras"}
	h.lot = inventory.Lot{ID: inventory.NewID(), Product: h.product.ID, Number: "L1", Labelled: day.Until(d("2027-05-31")),
		Movements: []inventory.Movement{{On: d("2026-01-10"), Place: h.places[0].ID, Vials: 10, Reason: inventory.Received, Condition: inventory.Checked}}}
	h.animal = inventory.Animal{ID: inventory.NewID(), Accession: "A1", Species: h.cobra.ID, Arrived: d("2026-02-01"),
		Stays: []inventory.Stay{{Enclosure: h.doors[0].ID, From: d("2026-02-01")}}}
	h.paper = compliance.Permit{ID: inventory.NewID(), Number: "P1", Class: "keep", Sites: []inventory.ID{h.site.ID}, Issued: d("2024-01-01"), Expires: day.Until(d("2026-12-31")),
		Grants: []compliance.Grant{{Rank: compliance.RankSpecies, Taxon: "Naja kaouthia", Max: 3}}, Applications: []compliance.Application{}, Suspensions: []compliance.Suspension{}}
	h.keeper = compliance.Person{ID: inventory.NewID(), Called: "Odo Fern", Joined: d("2020-01-01")}
	h.list = compliance.Feed{ID: inventory.NewID(), Topic: compliance.TopicStock, Keeper: compliance.Curator, Complete: d("2026-01-01"), MaxAge: 35}
	h.planned = inventory.Planned{ID: inventory.NewID(), Kind: inventory.PlanArrival, On: d("2026-07-01"), Site: h.site.ID, Species: h.cobra.ID, Count: 2}
	h.notWatched = compliance.NotWatched{ID: inventory.NewID(), Subject: h.paper.Ref(), By: h.keeper.ID, Why: "w", From: d("2026-01-01"), Last: d("2026-12-01")}
	batch := compliance.Batch{compliance.Record(h.org), compliance.Record(h.site), compliance.Record(h.cobra), compliance.Record(h.product)}
	for i := range 2 {
		batch = append(batch, compliance.Record(h.doors[i]), compliance.Record(h.places[i]))
	}
	batch = append(batch, compliance.Record(h.lot), compliance.Record(h.animal), compliance.Record(h.paper), compliance.Record(h.keeper),
		compliance.Record(h.list), compliance.Record(h.planned), compliance.Record(h.notWatched))
	var err error
	if h.snapshot, err = batch.Apply(&compliance.Snapshot{}); err != nil {
		t.Fatal(err)
	}
	return h
}

func text(t testing.TB, s *compliance.Snapshot) string {
	t.Helper()
	var b strings.Builder
	for rec := range s.Everything() {
		line, err := json.Marshal(rec)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(line)
		b.WriteByte('\n')
	}
	return b.String()
}

// TestPermitFromFilingToANewPaper follows a renewal, step by step; whatever
// comes out of turn is refused with a sentence.
func TestPermitFromFilingToANewPaper(t *testing.T) {
	h := newHouse(t)
	s := h.snapshot
	next := inventory.NewID()
	p := h.paper.ID
	for _, step := range []struct {
		name string
		does deed.Deed
		want string // empty: it is taken
	}{
		{"received before it was filed", deed.PermitReceived(p, d("2026-06-01"), ""), "record that it was filed first"},
		{"decided before it was filed", deed.PermitDecided(p, d("2026-06-01"), compliance.Granted, nil), "record that it was filed first"},
		{"filed", deed.PermitFiled(p, d("2026-06-10"), ""), ""},
		{"filed twice", deed.PermitFiled(p, d("2026-06-11"), ""), "not decided yet"},
		{"received before it was posted", deed.PermitReceived(p, d("2026-06-09"), ""), "before 2026-06-10, the day on which it was posted"},
		{"received", deed.PermitReceived(p, d("2026-06-12"), "R1"), ""},
		{"received twice", deed.PermitReceived(p, d("2026-06-13"), ""), "already recorded as received on 2026-06-12"},
		{"not sufficient", deed.PermitDeficient(p, d("2026-06-20")), ""},
		{"filed again before that", deed.PermitFiled(p, d("2026-06-19"), ""), "before 2026-06-20"},
		{"filed again, by hand", deed.PermitFiled(p, d("2026-06-22"), "R2"), ""},
		{"decided before it was filed again", deed.PermitDecided(p, d("2026-06-21"), compliance.Granted, nil), "before 2026-06-22"},
		{"granted, with the new paper", deed.PermitDecided(p, d("2026-09-01"), compliance.Granted,
			&deed.Successor{ID: next, Number: "P2", From: d("2027-01-01"), Until: day.Until(d("2029-12-31"))}), ""},
		{"decided twice", deed.PermitDecided(p, d("2026-09-02"), compliance.Refused, nil), "record that it was filed first"},
		{"another paper of that number", deed.PermitIssued(p, deed.Successor{ID: inventory.NewID(), Number: "P2"}), "already recorded"},
		{"lifted without a suspension", deed.PermitLifted(next, d("2027-02-01")), "no suspension"},
		{"suspended", deed.PermitSuspended(next, d("2027-02-01")), ""},
		{"suspended twice", deed.PermitSuspended(next, d("2027-02-02")), "already suspended"},
		{"lifted before that", deed.PermitLifted(next, d("2027-01-31")), "before 2027-02-01"},
		{"lifted", deed.PermitLifted(next, d("2027-03-01")), ""},
		{"revoked", deed.PermitRevoked(next, d("2027-04-01")), ""},
		{"revoked twice", deed.PermitRevoked(next, d("2027-04-02")), "already recorded as revoked"},
		{"given back", deed.PermitSurrendered(next, d("2027-04-02")), ""},
	} {
		after, err := step.does.Apply(s)
		if step.want != "" {
			if err == nil || !strings.Contains(err.Error(), step.want) {
				t.Errorf("%s: %v, want %q", step.name, err, step.want)
			}
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v", step.name, err)
		}
		s = after
	}
	old, _ := s.Permits.Get(p)
	want := []compliance.Application{
		{Posted: d("2026-06-10"), Received: d("2026-06-12"), Receipt: "R1", Deficient: d("2026-06-20")},
		{Posted: d("2026-06-22"), Received: d("2026-06-22"), Receipt: "R2", Decided: d("2026-09-01"), Outcome: compliance.Granted},
	}
	if fmt.Sprint(old.Applications) != fmt.Sprint(want) {
		t.Errorf("applications %+v, want %+v", old.Applications, want)
	}
	made, _ := s.Permits.Get(next)
	if made.Renews != p || made.Class != "keep" || made.Sites[0] != h.site.ID || made.Grants[0].Max != 3 {
		t.Errorf("the new paper: %+v", made)
	}
}

// TestStockNeverGoesBelowNothing, and no vial is lost or made: after any
// deeds, what a lot has in all places is what came less what went, and what is
// there on a day is never less than nothing. Deeds are told in any order of
// days.
func TestStockNeverGoesBelowNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHouse(t)
		s, want := h.snapshot, 10
		for range rapid.IntRange(1, 25).Draw(rt, "deeds") {
			v := deed.Vials{Place: h.places[rapid.IntRange(0, 1).Draw(rt, "place")].ID, Count: rapid.IntRange(0, 6).Draw(rt, "vials"),
				On: d("2026-01-01").Add(rapid.IntRange(0, 60).Draw(rt, "day")), Of: rapid.SampledFrom([]*inventory.Condition{nil, nil, new(inventory.Checked), new(inventory.Unchecked), new(inventory.Unfit)}).Draw(rt, "of")}
			does, by := stockDeed(rt, h, v)
			before := text(t, s)
			after, err := does.Apply(s)
			if text(t, s) != before {
				rt.Fatalf("%s altered the records as they were", does.Words())
			}
			if err != nil {
				var refusal *compliance.Refusal
				if !errors.As(err, &refusal) {
					rt.Fatalf("%s: %v is no refusal", does.Words(), err)
				}
				continue
			}
			s, want = after, want+by(v.Count)
			l, _ := s.Lots.Get(h.lot.ID)
			all := l.InPlaces(func(inventory.ID) bool { return true })
			if got := all.At(d("2030-01-01")); got != want {
				rt.Fatalf("after %s of %d: %d vials, want %d", does.Words(), v.Count, got, want)
			}
			for _, p := range h.places {
				there := l.InPlaces(func(id inventory.ID) bool { return id == p.ID })
				for on, n := range there.Changes() {
					if n < 0 {
						rt.Fatalf("%d vials at %s on %s", n, p.Title, on)
					}
					for c, n := range l.There(p.ID, on) {
						if n < 0 {
							rt.Fatalf("%d %s vials at %s on %s", n, c, p.Title, on)
						}
					}
				}
			}
		}
	})
}

// stockDeed draws a deed about the lot, and how it changes what the house has.
func stockDeed(rt *rapid.T, h *house, v deed.Vials) (deed.Deed, func(int) int) {
	more, less, same := func(n int) int { return n }, func(n int) int { return -n }, func(int) int { return 0 }
	switch rapid.IntRange(0, 13).Draw(rt, "deed") {
	case 0:
		return deed.LotReceived(h.lot, v), more
	case 1:
		return deed.LotUsed(h.lot.ID, v), less
	case 2:
		v.Unwitnessed = "alone that night"
		return deed.LotDiscarded(h.lot.ID, v), less
	case 3:
		return deed.LotLent(h.lot.ID, v, inventory.Loan{Borrower: "Tern Hospital"}), less
	case 4:
		return deed.LotReturned(h.lot.ID, v, rapid.IntRange(0, 2).Draw(rt, "loan")), more
	case 5:
		return deed.LotHeld(h.lot.ID, v.On, "warm", rapid.SampledFrom([]inventory.ID{{}, v.Place}).Draw(rt, "held at")), same
	case 6:
		return deed.LotReleased(h.lot.ID, v.On, rapid.SampledFrom([]*inventory.ID{nil, {}, &v.Place}).Draw(rt, "of")), same
	case 7:
		return deed.LotChecked(h.lot.ID, v), same
	case 8:
		return deed.LotUnfit(h.lot.ID, v), same
	case 9:
		return deed.LotReserved(h.lot.ID, v), same
	case 10:
		return deed.LotPromised(h.lot.ID, inventory.Promise{From: v.On, Place: v.Place, Vials: v.Count, To: "Tern Hospital"}), same
	case 11:
		return deed.LotPromiseEnded(h.lot.ID, rapid.IntRange(0, 2).Draw(rt, "promise"), v.On), same
	default:
		return deed.LotMoved(h.lot.ID, v, h.places[rapid.IntRange(0, 1).Draw(rt, "to")].ID), same
	}
}

// TestACountMakesWhatWasFound, leaves nothing out, and keeps what differed.
func TestACountMakesWhatWasFound(t *testing.T) {
	h := newHouse(t)
	count := deed.Count{Activity: inventory.NewID(), Place: h.places[0].ID, Watched: deed.Watched{By: h.keeper.ID, Unwitnessed: "alone"}, On: d("2026-03-01")}
	if _, err := deed.AntivenomCounted(count).Apply(h.snapshot); err == nil || !strings.Contains(err.Error(), "lot by lot") {
		t.Errorf("nothing said: %v", err)
	}
	count.Vials = map[inventory.ID]inventory.Found{inventory.NewID(): {Vials: 3}}
	if _, err := deed.AntivenomCounted(count).Apply(h.snapshot); err == nil || !strings.Contains(err.Error(), "leaves out L1 (10 recorded)") {
		t.Errorf("a lot left out: %v", err)
	}
	for found, note := range map[int]string{10: "", 7: "L1: 7 counted, 10 recorded", 0: "L1: 0 counted, 10 recorded", 12: "L1: 12 counted, 10 recorded"} {
		count.Vials = map[inventory.ID]inventory.Found{h.lot.ID: {Vials: found}}
		s, err := deed.AntivenomCounted(count).Apply(h.snapshot)
		if err != nil {
			t.Fatal(err)
		}
		l, _ := s.Lots.Get(h.lot.ID)
		if got := deed.VialsAt(l, h.places[0].ID, d("2026-03-01")); got != found {
			t.Errorf("%d found, %d recorded", found, got)
		}
		if a, _ := s.Activities.Get(count.Activity); a.Note != note || a.Passed != inventory.Yes || a.What != "count.antivenom" {
			t.Errorf("%d found: %+v, want the note %q", found, a, note)
		}
	}
	asBooked := deed.Count{Activity: inventory.NewID(), Place: h.places[0].ID, On: d("2026-03-01"), AsBooked: true, Watched: deed.Watched{Unwitnessed: "alone"}}
	if s, err := deed.AntivenomCounted(asBooked).Apply(h.snapshot); err != nil || s.Activities.Len() != 1 {
		t.Errorf("as recorded: %v", err)
	}
}

// TestACountOfAnimals that differs does not pass.
func TestACountOfAnimals(t *testing.T) {
	h := newHouse(t)
	for found, passed := range map[int]inventory.Tri{1: inventory.Yes, 0: inventory.No, 2: inventory.No} {
		id := inventory.NewID()
		s, err := deed.AnimalsCounted(id, h.site.ID, h.keeper.ID, d("2026-03-01"), found).Apply(h.snapshot)
		if err != nil {
			t.Fatal(err)
		}
		if a, _ := s.Activities.Get(id); a.Passed != passed || a.Note != fmt.Sprintf("%d counted, 1 recorded", found) {
			t.Errorf("%d found: %+v", found, a)
		}
	}
}

// TestAnimalsComeAndGo, and a plan ends with its last animal.
func TestAnimalsComeAndGo(t *testing.T) {
	h := newHouse(t)
	s := h.snapshot
	arrive := func(accession string) deed.Deed {
		return deed.AnimalArrived(inventory.Animal{ID: inventory.NewID(), Accession: accession, Species: h.cobra.ID, Arrived: d("2026-07-02"),
			Stays: []inventory.Stay{{Enclosure: h.doors[1].ID, From: d("2026-07-02")}}}, h.planned.ID)
	}
	a := h.animal.ID
	for _, step := range []struct {
		name string
		does deed.Deed
		want string
	}{
		{"one of two planned", arrive("A2"), ""},
		{"the accession of another", arrive("A2"), "already recorded"},
		{"the second", arrive("A3"), ""},
		{"a third", arrive("A4"), "the plan ended on 2026-07-02"},
		{"moved to where it is", deed.AnimalMoved(a, h.doors[0].ID, d("2026-07-03")), "in that enclosure since 2026-02-01"},
		{"moved before it came", deed.AnimalMoved(a, h.doors[1].ID, d("2026-01-03")), "before 2026-02-01"},
		{"moved", deed.AnimalMoved(a, h.doors[1].ID, d("2026-07-03")), ""},
		{"died before it moved", deed.AnimalDied(a, d("2026-07-02")), "before 2026-07-03"},
		{"died", deed.AnimalDied(a, d("2026-07-09")), ""},
		{"left when it was dead", deed.AnimalLeft(a, inventory.Disposition{How: inventory.Transferred, On: d("2026-07-10")}), "left the house on 2026-07-09 (death)"},
		{"moved when it was dead", deed.AnimalMoved(a, h.doors[0].ID, d("2026-07-10")), "left the house"},
		{"left in no way that there is", deed.AnimalLeft(h.animal.ID, inventory.Disposition{How: "gone", On: d("2026-07-10")}), "left the house"},
	} {
		after, err := step.does.Apply(s)
		switch {
		case step.want == "" && err != nil:
			t.Fatalf("%s: %v", step.name, err)
		case step.want == "":
			s = after
		case err == nil || !strings.Contains(err.Error(), step.want):
			t.Errorf("%s: %v, want %q", step.name, err, step.want)
		}
	}
	if p, _ := s.Planned.Get(h.planned.ID); p.Cancelled != d("2026-07-02") {
		t.Errorf("the plan: %+v", p)
	}
	if n := deed.AnimalsHeld(s, h.site.ID, d("2026-07-09")); n != 2 {
		t.Errorf("%d animals are held, want 2", n)
	}
}

// TestListsPeopleAndWatching: what is told twice, or before its time, is
// refused.
func TestListsPeopleAndWatching(t *testing.T) {
	h := newHouse(t)
	s := h.snapshot
	for _, step := range []struct {
		name string
		does deed.Deed
		want string
	}{
		{"confirmed before the list begins", deed.ListConfirmed(h.list.ID, d("2025-12-31")), "before 2026-01-01"},
		{"confirmed", deed.ListConfirmed(h.list.ID, d("2026-03-01")), ""},
		{"confirmed again that day", deed.ListConfirmed(h.list.ID, d("2026-03-01")), "confirmed to 2026-03-01 already"},
		{"left before joining", deed.PersonLeft(h.keeper.ID, d("2019-01-01")), "before 2020-01-01"},
		{"left", deed.PersonLeft(h.keeper.ID, d("2026-09-01")), ""},
		{"left twice", deed.PersonLeft(h.keeper.ID, d("2026-09-02")), "recorded as leaving on 2026-09-01"},
		{"watched", deed.WatchingBegun([]inventory.ID{h.notWatched.ID}, d("2026-05-01")), ""},
		{"watched twice", deed.WatchingBegun([]inventory.ID{h.notWatched.ID}, d("2026-06-01")), "watched again since 2026-05-01"},
		{"a decision by nobody", deed.DecisionMade(compliance.Decision{ID: inventory.NewID(), Ruling: compliance.WillNotRenew, Subject: h.paper.Ref(), On: d("2026-05-01"), Why: "w", Consequence: "c"}), "by"},
		{"about nothing that is recorded", deed.PermitRevoked(inventory.NewID(), d("2026-05-01")), "is not recorded"},
	} {
		after, err := step.does.Apply(s)
		switch {
		case step.want == "" && err != nil:
			t.Fatalf("%s: %v", step.name, err)
		case step.want == "":
			s = after
		case err == nil || !strings.Contains(err.Error(), step.want):
			t.Errorf("%s: %v, want %q", step.name, err, step.want)
		}
	}
	if n, _ := s.NotWatched.Get(h.notWatched.ID); n.Last != d("2026-04-30") {
		t.Errorf("the last day not watched: %s", n.Last)
	}
}

// TestTwoPeopleRecordAtOnce: each deed is made of what the other left, not of
// what its author saw.
func TestTwoPeopleRecordAtOnce(t *testing.T) {
	h := newHouse(t)
	one := deed.LotUsed(h.lot.ID, deed.Vials{Place: h.places[0].ID, Count: 6, On: d("2026-03-01")})
	two := deed.LotUsed(h.lot.ID, deed.Vials{Place: h.places[0].ID, Count: 6, On: d("2026-03-01")})
	after, err := one.Apply(h.snapshot)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := two.Apply(after); err == nil || !strings.Contains(err.Error(), "there are 4 of it") {
		t.Errorf("%v, want that 4 are left", err)
	}
}

// TestRemembering keeps a trade item number with the product in the same change
// as the receipt, once.
func TestRemembering(t *testing.T) {
	h := newHouse(t)
	v := deed.Vials{Place: h.places[0].ID, Count: 2, On: d("2026-03-01")}
	it := deed.Remembering(deed.LotReceived(h.lot, v), h.product.ID, "06291041500213")
	after, err := it.Apply(h.snapshot)
	if err != nil {
		t.Fatal(err)
	}
	p, _ := after.Products.Get(h.product.ID)
	l, _ := after.Lots.Get(h.lot.ID)
	if it.Words() != deed.WordsLotReceived || len(p.GTINs) != 1 || p.GTINs[0] != "06291041500213" || deed.VialsAt(l, h.places[0].ID, d("2026-03-01")) != 12 {
		t.Errorf("%s: %+v, %+v", it.Words(), p, l)
	}
	if _, err := it.Apply(after); err == nil || !strings.Contains(err.Error(), "remembered already") {
		t.Errorf("a second time: %v", err)
	}
	if _, err := deed.Remembering(deed.LotReceived(h.lot, v), h.product.ID, "06291041500214").Apply(h.snapshot); err == nil || !strings.Contains(err.Error(), "check digit") {
		t.Errorf("a wrong number: %v", err)
	}
}
