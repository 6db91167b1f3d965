package compliance

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

func TestHuntCertNever(t *testing.T) {
	h := newHouse(t).lists()
	p := Person{ID: inventory.NewID(), Called: "S", Site: h.site.ID, Joined: d("2020-01-01")}
	h.put(Record(p), Record(Activity{ID: inventory.NewID(), What: "certificate.cpr", Subject: p.Ref(), On: d("2025-09-01"), Passed: inventory.Yes, Until: day.Forever()}))
	b := book(t, "law", "us", rule("test.r", "cpr", "person", "recurring", "{activity: certificate.cpr, certificate: true}"))
	t.Log(*lineOf(t, b, h.snapshot(), "cpr", p.Ref()).At(d("2026-06-15")))
	r := Evaluate(b, h.snapshot(), Ask{Now: noon})
	_, needed := r.Finding(r.Of(Key{Requirement: "cpr", Subject: p.Ref()}))
	t.Log("needed", needed)
}

func TestHuntMoved(t *testing.T) {
	h := newHouse(t).lists()
	sp := h.species("Naja kaouthia", "Elapidae")
	a := h.animal(sp)
	other := h.site
	other.ID, other.Title = inventory.NewID(), "Other"
	e := inventory.Enclosure{ID: inventory.NewID(), Site: other.ID, Code: "O1"}
	a.Stays = append(a.Stays, inventory.Stay{Enclosure: e.ID, From: d("2026-06-01")})
	author := Person{ID: inventory.NewID(), Called: "Head"}
	p := h.permit("P", day.Until(d("2027-12-31")))
	p.Sites, p.AnyPlace = nil, true
	p.Grants = []Grant{{Rank: RankSpecies, Taxon: "Naja kaouthia", Max: 1}}
	h.put(Record(other), Record(e), Record(a), Record(author), Record(p), Record(NotWatched{ID: inventory.NewID(), Subject: h.site.Ref(), By: author.ID, Why: "w", From: d("2026-01-01"), Last: d("2026-12-31")}))
	h.animal(sp)
	b := book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13))
	l := lineOf(t, b, h.snapshot(), "paper", a.Ref())
	t.Log("watched at other site:", *l.At(d("2026-06-15")), "over number anyplace?")
}

func TestHuntLapsedAfterGap(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	old := h.permit("OLD", day.Until(d("2026-06-30")))
	decided("2026-05-01", "2026-07-10", Granted)(&old)
	next := h.permit("NEW", day.Until(d("2027-07-10")))
	next.Issued, next.From, next.Renews = d("2026-07-10"), d("2026-07-10"), old.ID
	h.put(Record(old), Record(next))
	l := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep}")), h.snapshot(), "paper", a.Ref())
	for _, on := range []string{"2026-07-01", "2026-07-10", "2027-07-11"} {
		t.Log(on, l.At(d(on)).Standing, l.At(d(on)).State)
	}
}

func TestHuntUnasked(t *testing.T) {
	h := newHouse(t).lists()
	sp, sp2 := h.species("Naja kaouthia", "Elapidae"), h.species("Bitis gabonica", "Viperidae")
	a := h.animal(sp)
	a.Left = &inventory.Disposition{How: inventory.Died, On: d("2010-01-01")}
	h.animal(sp2)
	p := h.permit("P", day.Until(d("2026-07-01")))
	p.Grants = []Grant{{Rank: RankSpecies, Taxon: "Naja kaouthia"}}
	h.put(Record(a), Record(p))
	r := Evaluate(book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), Ask{Now: noon})
	t.Log("watched for its own sake:", r.Of(Key{Requirement: "paper.kept", Subject: p.Ref()}) != nil)
}

func TestHuntPersonUnknownHolder(t *testing.T) {
	h := newHouse(t).lists()
	who := Person{ID: inventory.NewID(), Called: "S", Site: h.site.ID, Joined: d("2020-01-01")}
	p := h.permit("P", day.Until(d("2027-07-01")))
	p.Holder = inventory.Ref{}
	h.put(Record(who), Record(p))
	l := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "person", "permit", part13)), h.snapshot(), "paper", who.Ref())
	t.Log("unknown holder:", l.At(d("2026-06-15")).Standing)
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	p.Holder = who.Ref()
	h.put(Record(p))
	l = lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), "paper", a.Ref())
	t.Log("unknown custodian:", l.At(d("2026-06-15")).Standing)
}

func TestHuntLetGoPaper(t *testing.T) {
	h := newHouse(t).lists()
	author := Person{ID: inventory.NewID(), Called: "Head"}
	p := h.permit("P", day.Until(d("2026-01-01")))
	q := h.permit("Q", day.Until(d("2027-01-01")))
	q.Surrendered = d("2026-02-01")
	h.put(Record(author), Record(p), Record(q), Record(Decision{ID: inventory.NewID(), Ruling: WillNotRenew, Subject: p.Ref(), By: author.ID, On: d("2025-12-01"), Why: "w", Consequence: "c"}))
	r := Evaluate(book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), Ask{Now: noon})
	for _, x := range []Permit{p, q} {
		v, _ := r.Of(Key{Requirement: "paper.kept", Subject: x.Ref()}).At(d("2026-06-15"))
		t.Log(x.Number, v.Standing, v.State)
	}
}

func TestHuntCoverHandover(t *testing.T) {
	s := newShelf(t)
	sp := s.species("Dendroaspis polylepis", "Elapidae")
	s.covers("P", sp, inventory.Immunogen, 10, 20)
	s.covers("Q", sp, inventory.Immunogen, 10, 20)
	s.lot("P", "L1", 20, day.Until(d("2026-08-31")))
	s.put(Record(inventory.Lot{ID: inventory.NewID(), Product: s.product("Q").ID, Number: "L2", Labelled: day.Until(d("2030-08-31")),
		Movements: []inventory.Movement{{On: d("2026-07-01"), Place: s.place.ID, Vials: 20, Reason: inventory.Received}}}))
	s.animal(sp)
	l := s.cover(sp)
	t.Log(*l.At(d("2026-06-15")))
	t.Log(*l.At(d("2026-07-15")))
}

func TestHuntWindow(t *testing.T) {
	h := newHouse(t).lists()
	p := h.permit("P", day.Until(d("2026-09-15")))
	h.put(Record(p))
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	b := books(t, pack("l", "law", "us", rule("l.a", "paper", "animal", "permit", "{class: keep, renewal: {lead: 30 days}}", "    window_days: 10\n")),
		pack("h", "house", "us", rule("h.a", "paper", "animal", "permit", "{class: keep, renewal: {lead: 20 days}}", "    window_days: 120\n")))
	r := Evaluate(b, h.snapshot(), Ask{Now: noon})
	_, needed := r.Finding(r.Of(Key{Requirement: "paper", Subject: a.Ref()}))
	t.Log("needed", needed)
}
