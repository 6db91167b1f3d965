package compliance

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// TestNotWatchedWhileThere: a site that is not watched yet stands for what it
// holds, while it holds it.
func TestNotWatchedWhileThere(t *testing.T) {
	h := newHouse(t).lists()
	head := h.personCalled("Head")
	_, cage := h.otherSite("Other")
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	a.Stays = append(a.Stays, inventory.Stay{Enclosure: cage.ID, From: d("2026-06-10")})
	p := h.permit("P", day.Until(d("2027-12-31")))
	p.Sites, p.AnyPlace = nil, true
	h.put(Record(a), Record(p), Record(NotWatched{ID: inventory.NewID(), Subject: h.site.Ref(), By: head.ID, Why: "w", From: d("2026-06-01"), Last: d("2026-06-30")}))
	line := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), "paper", a.Ref())
	for on, want := range map[string]Code{"2026-05-31": InForce, "2026-06-01": NotWatchedYet, "2026-06-09": NotWatchedYet, "2026-06-10": InForce} {
		if got := line.At(d(on)).State; got != want {
			t.Errorf("%s: %s, want %s", on, got, want)
		}
	}
}

// TestTheLongestDeclarationCounts: of several declarations about one subject
// the one that lasts longest is told of, in whatever order they come, and
// what is out of order stays so.
func TestTheLongestDeclarationCounts(t *testing.T) {
	short := NotWatched{ID: inventory.ID{1}, Why: "w", From: d("2026-06-01"), Last: d("2026-06-20")}
	long := NotWatched{ID: inventory.ID{2}, Why: "w", From: d("2026-06-10"), Last: d("2026-06-30")}
	for _, order := range [][]NotWatched{{short, long}, {long, short}} {
		h := newHouse(t).lists()
		head := h.personCalled("Head")
		for _, n := range order {
			n.Subject, n.By = h.site.Ref(), head.ID
			h.put(Record(n))
		}
		h.put(Record(Activity{ID: inventory.NewID(), What: "drill.x", Subject: h.site.Ref(), On: d("2026-01-01"), Passed: inventory.Yes}))
		b := book(t, "law", "us", rule("test.x", "x", "site", "recurring", "{activity: drill.x, every: 12 months}")+
			rule("test.y", "y", "site", "recurring", "{activity: drill.y, every: 12 months}"))
		line := lineOf(t, b, h.snapshot(), "x", h.site.Ref())
		for on, want := range map[string]inventory.Ref{"2026-06-09": short.Ref(), "2026-06-10": long.Ref(), "2026-06-30": long.Ref(), "2026-07-01": {}} {
			if got := line.At(d(on)).Cause; got != want {
				t.Errorf("%s: because of %q, want %q", on, got, want)
			}
		}
		if got := lineOf(t, b, h.snapshot(), "y", h.site.Ref()).At(d("2026-06-15")).Standing; got != OutOfOrder {
			t.Errorf("what was never done is %s", got)
		}
	}
}
