package ladder

import (
	"slices"
	"testing"

	"antidotary/compliance/strict"
)

// roles are those that a ladder of these tests may name.
var roles = []string{"head", "lead-keeper", "safety-officer", "keeper"}

// parsed reads a ladder.
func parsed(t testing.TB, text string) *Ladder {
	t.Helper()
	doc, err := strict.Parse("ladder.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	l := Read(doc.Root().Map("ladder"), "1", roles)
	if err := doc.Err(); err != nil {
		t.Fatal(err)
	}
	return l
}

// same says whether two judgements agree on everything that is asked.
func same(t *testing.T, h *house, a, b *Standings) {
	t.Helper()
	for _, p := range h.people {
		as, bs := a.Sessions(p.ID), b.Sessions(p.ID)
		if len(as) != len(bs) {
			t.Fatalf("%d and %d sessions", len(as), len(bs))
		}
		for i := range as {
			if as[i] != bs[i] {
				t.Fatalf("session %v: %+v and %+v", as[i].ID, as[i], bs[i])
			}
		}
		ax, bx := a.Acts(p.ID), b.Acts(p.ID)
		for i := range ax {
			if ax[i] != bx[i] {
				t.Fatalf("act %v %s: %+v and %+v", ax[i].ID, ax[i].Name(), ax[i], bx[i])
			}
		}
		for _, s := range h.species {
			if x, y := a.Line(p.ID, s.ID, Hook), b.Line(p.ID, s.ID, Hook); !x.Equal(y) {
				t.Fatalf("lines of %v: %v and %v", s.Name, x, y)
			}
		}
	}
}

// TestAfterIsAJudgementOfEverything: what is judged again after changes, one
// upon the other, is what a judgement of everything says, and what stood
// before is left alone.
func TestAfterIsAJudgementOfEverything(t *testing.T) {
	for seed := range uint64(250) {
		h := randomHouse(t, seed, seed%2 == 1)
		whole := h.records
		h.records.Sessions = slices.Clone(whole.Sessions[:60])
		h.records.Authorisations = slices.Clone(whole.Authorisations[:len(whole.Authorisations)-5])
		first := h.records
		first.Sessions, first.Authorisations = slices.Clone(first.Sessions), slices.Clone(first.Authorisations)
		before := Judge(first)
		standing := before
		for round := range 3 {
			var c Change
			for _, s := range whole.Sessions[60+3*round : 63+3*round] {
				c.Sessions = append(c.Sessions, SessionChange{Is: s})
				h.records.Sessions = append(h.records.Sessions, s)
			}
			a := whole.Authorisations[len(whole.Authorisations)-5+round]
			c.Acts = append(c.Acts, ActChange{Is: a})
			h.records.Authorisations = append(h.records.Authorisations, a)
			h.correct(&c)
			standing = standing.After(c)
			same(t, h, standing, Judge(h.records))
		}
		if seed%10 == 0 {
			agree(t, h, standing)
		}
		same(t, h, before, Judge(first))
		if t.Failed() {
			t.Fatalf("in house %d", seed)
		}
	}
}

// TestHistoriesGoUpAndDown: the random histories do what they are for.
func TestHistoriesGoUpAndDown(t *testing.T) {
	statuses, grants, nos := make(map[Status]int), make(map[Grant]int), make(map[No]int)
	risen := 0
	for seed := range uint64(300) {
		h := randomHouse(t, seed, seed%2 == 1)
		s := Judge(h.records)
		for _, p := range h.people {
			for _, x := range s.Sessions(p.ID) {
				statuses[x.Worst]++
			}
			for _, x := range s.Acts(p.ID) {
				if grants[x.Worst]++; x.Worst == Holds && x.What.Grants() && x.Founding == "" {
					risen++
				}
			}
			for _, sp := range h.species {
				for n := range 10 {
					nos[s.May(p.ID, sp.ID, Level(n%4), h.first.Add(h.length*n/10), 0).Worst]++
				}
			}
		}
	}
	for st := Counts; st <= AloneNotOpen; st++ {
		if statuses[st] == 0 {
			t.Errorf("no session has the status %d: %v", st, statuses)
		}
	}
	for g := Holds; g <= ConditionsUnmet; g++ {
		if grants[g] == 0 {
			t.Errorf("no act has the word %d: %v", g, grants)
		}
	}
	for no := MayOpen; no <= NotInForce; no++ {
		if nos[no] == 0 {
			t.Errorf("nobody is refused for %d: %v", no, nos)
		}
	}
	if risen < 300 {
		t.Errorf("only %d grants were earned", risen)
	}
	t.Log(statuses, grants, nos, risen)
}
