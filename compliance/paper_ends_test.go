package compliance

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// naiveEnded answers for one day whether a paper that names one animal has
// ended with an event: any day since it began on which the animal was away, or
// on which it had gone in a way that ends the paper.
func naiveEnded(p Permit, a inventory.Animal, cages map[inventory.ID]inventory.ID, events []string, on day.Day) (sure, perhaps bool) {
	moves := slices.Contains(events, "move")
	var first inventory.ID
	for at := p.From; at <= on; at++ {
		if a.Left != nil && at >= a.Left.On {
			away := moves && (a.Left.How == inventory.Transferred || a.Left.How == inventory.Lent)
			sure = sure || away || slices.Contains(events, string(a.Left.How))
			continue
		}
		if at < a.Arrived || !moves || p.AnyPlace {
			continue
		}
		site, recorded := inventory.ID{}, false
		for _, s := range a.Stays {
			if s.From <= at {
				site, recorded = cages[s.Enclosure], true
			}
		}
		switch {
		case !recorded:
			perhaps = true
		case len(p.Sites) > 0:
			sure = sure || !slices.Contains(p.Sites, site)
		case first == inventory.ID{}:
			first = site
		default:
			perhaps = perhaps || site != first
		}
	}
	return sure, perhaps
}

func TestEndsWithAgreesWithItsOracle(t *testing.T) {
	ended := 0
	rapid.Check(t, func(t *rapid.T) {
		h := newHouse(discard{}).lists()
		other := h.site
		other.ID, other.Title = inventory.NewID(), "Other"
		h.put(Record(other))
		cages := make(map[inventory.ID]inventory.ID)
		var ids []inventory.ID
		for i, site := range []inventory.ID{h.site.ID, other.ID} {
			e := inventory.Enclosure{ID: inventory.NewID(), Site: site, Code: fmt.Sprint("E", i)}
			cages[e.ID] = site
			ids = append(ids, e.ID)
			h.put(Record(e))
		}
		a := inventory.Animal{ID: inventory.NewID(), Accession: "A", Species: h.species("Naja kaouthia", "Elapidae").ID, Arrived: anyDay(t, "arrived")}
		at := a.Arrived
		for range rapid.IntRange(0, 3).Draw(t, "stays") {
			a.Stays = append(a.Stays, inventory.Stay{Enclosure: rapid.SampledFrom(ids).Draw(t, "cage"), From: at})
			at = at.Add(rapid.IntRange(1, 9).Draw(t, "for"))
		}
		if rapid.Bool().Draw(t, "left?") {
			a.Left = &inventory.Disposition{On: at, How: rapid.SampledFrom([]inventory.Departure{inventory.Died, inventory.Escaped, inventory.Released, inventory.Transferred, inventory.Lent}).Draw(t, "how")}
		}
		events := rapid.SliceOfDistinct(rapid.SampledFrom(paperEvents), rapid.ID[string]).Draw(t, "events")
		p := h.permit("P", day.Until(base.Add(stretch+10)))
		p.From, p.Issued, p.Animals = anyDay(t, "from"), 0, []inventory.ID{a.ID}
		switch rapid.IntRange(0, 3).Draw(t, "places") {
		case 0:
			p.Sites = nil
		case 1:
			p.Sites, p.AnyPlace = nil, true
		case 2:
			p.Sites = []inventory.ID{h.site.ID, other.ID}
		}
		h.put(Record(a), Record(p))
		s, err := h.batch.Apply(&Snapshot{})
		if err != nil {
			t.Skip(err)
		}
		params := "{class: keep, match: [taxon], ends_with: [" + strings.Join(events, ", ") + "]}"
		b := books(discard{}, pack("a", "house", "", rule("a.r", "paper", "permit", "permit", params)))
		j := Evaluate(b, s, Ask{Now: noon}).Of(Key{Requirement: "paper", Subject: p.Ref()})
		for on := base - 3; on <= base.Add(stretch+20); on++ {
			want := InOrder
			sure, perhaps := naiveEnded(p, a, cages, events, on)
			switch {
			case on < p.From:
				want = NotApplicable
			case sure || on > p.Expires.On:
				want = OutOfOrder
			case perhaps:
				want = CannotTell
			}
			if sure && on <= p.Expires.On {
				ended++
			}
			if got := j.Policy.At(on); got.Standing != want {
				t.Fatalf("%s: %s (%s), the oracle says %s\n%+v\n%+v\n%v", on, got.Standing, got.State, want, p, a, events)
			}
		}
	})
	if ended == 0 {
		t.Error("no paper ended with an event: nothing is proved")
	}
}

// TestCertificatesEndWithEvents are the vectors of Reg. (EC) 865/2006 Art. 11.
func TestCertificatesEndWithEvents(t *testing.T) {
	const source = "Reg. (EC) 865/2006 Art. 11 (R, as adopted); cases of this project's reference, law.md 3.5"
	h := newHouse(t).lists()
	a, twin := h.animal(h.species("Naja kaouthia", "Elapidae")), h.animal(h.species("Naja naja", "Elapidae"))
	a.Left = &inventory.Disposition{How: inventory.Died, On: d("2026-09-02")}
	p := h.permit("C", day.Until(d("2027-06-30")))
	p.Animals = []inventory.ID{a.ID, twin.ID}
	spare := h.permit("D", day.Until(d("2026-10-31")))
	spare.Animals = []inventory.ID{twin.ID}
	h.put(Record(a), Record(p), Record(spare))
	params := "{class: keep, ends_with: [death, escape, release, move]}"
	r := Evaluate(book(t, "law", "us", rule("a.r", "paper", "permit", "permit", params)+rule("a.s", "animal", "animal", "permit", params)), h.snapshot(), Ask{Now: noon})
	own := r.Of(Key{Requirement: "paper", Subject: p.Ref()})
	for on, want := range map[string]Code{"2026-09-01": InForce, "2026-09-02": EndedWithEvent, "2027-06-30": EndedWithEvent} {
		if got := own.Law.At(d(on)).State; got != want {
			t.Errorf("%s: %s, want %s (%s)", on, got, want, source)
		}
	}
	// One paper for two animals, and two for one: any that is good is enough.
	line := r.Of(Key{Requirement: "animal", Subject: twin.Ref()}).Law
	for on, want := range map[string]Standing{"2026-09-01": InOrder, "2026-09-02": InOrder, "2026-10-31": InOrder, "2026-11-01": OutOfOrder} {
		if got := line.At(d(on)).Standing; got != want {
			t.Errorf("the other animal on %s: %s, want %s (one paper must be enough alone)", on, got, want)
		}
	}
}
