package ladder

import (
	"testing"

	"antidotary/inventory/day"
)

// TestTheDefinitionsSayTheSame: on random histories a judgement says what the
// slow evaluator says: of each session, of each act, of each stage, and who
// may open what on each day, in both worlds.
func TestTheDefinitionsSayTheSame(t *testing.T) {
	houses := uint64(2000)
	if testing.Short() {
		houses = 100
	}
	for part := range uint64(4) {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			for seed := 1000 + part; seed < 1000+houses; seed += 4 {
				h := randomHouse(t, seed, seed%3 != 0)
				if agree(t, h, Judge(h.records)); t.Failed() {
					t.Fatalf("in house %d", seed)
				}
			}
		})
	}
}

// agree compares a judgement with the definitions.
func agree(t *testing.T, h *house, s *Standings) {
	t.Helper()
	oracles := [2]*oracle{newOracle(h.records, Worst), newOracle(h.records, Best)}
	for i := range h.people {
		p := &h.people[i]
		agreeOnWork(t, oracles, s, p)
		for d := h.first - day.Day(h.rng.IntN(4)); d < h.first.Add(h.length+40) && !t.Failed(); d += 3 {
			agreeOnDay(t, h, oracles, s, p, d)
		}
		agreeOnLines(t, h, oracles, s, p)
	}
}

func agreeOnWork(t *testing.T, oracles [2]*oracle, s *Standings, p *Person) {
	t.Helper()
	for _, x := range s.Sessions(p.ID) {
		if worst, best := oracles[Worst].status(x.Session), oracles[Best].status(x.Session); x.Worst != worst || x.Best != best {
			t.Errorf("session %v of %s: judged %d and %d; by definition %d and %d", x.ID, x.On, x.Worst, x.Best, worst, best)
		}
		if from := oracles[Worst].countsFrom(x.Session); x.From != from {
			t.Errorf("session %v counts from %s; by definition from %s", x.ID, x.From, from)
		}
	}
	for _, x := range s.Acts(p.ID) {
		oracles[Worst].after(p, x.On)
		oracles[Best].after(p, x.On)
		if worst, best := oracles[Worst].acted[x.Authorisation], oracles[Best].acted[x.Authorisation]; x.Worst != worst || x.Best != best {
			t.Errorf("act %v, %s: judged %d and %d; by definition %d and %d", x.ID, x.Name(), x.Worst, x.Best, worst, best)
		}
	}
}

// agreeOnDay asks for another task on each day, and now and then about an
// animal that is placed higher than its species.
func agreeOnDay(t *testing.T, h *house, oracles [2]*oracle, s *Standings, p *Person, d day.Day) {
	t.Helper()
	worst, best := oracles[Worst].after(p, d), oracles[Best].after(p, d)
	if got, want := s.Stages(p.ID, d), (Place{worst.stage(), best.stage()}); got != want {
		t.Errorf("stages of %v on %s: %v; by definition %v", p.ID, d, got, want)
	}
	for i := range h.species {
		sp := &h.species[i]
		level, raise := Level(int(d)%4), max(0, int(d)%9-5)
		got := s.May(p.ID, sp.ID, level, d, raise)
		for w, st := range []*state{worst, best} {
			o := oracles[w]
			at := sp.Place.At(d)
			want := o.mayAt(st, sp, Place{max(at.Least, raise), max(at.Most, raise)}, level, taken{stage: TopStage})
			if no := [2]No{got.Worst, got.Best}[w]; no != want {
				t.Errorf("world %d: %v, %s, %s on %s, raised to %d: %d; by definition %d", w, p.ID, sp.Name, level, d, raise, no, want)
			}
		}
	}
}

func agreeOnLines(t *testing.T, h *house, oracles [2]*oracle, s *Standings, p *Person) {
	t.Helper()
	for i := range h.species {
		sp := &h.species[i]
		line := s.Line(p.ID, sp.ID, Hook)
		for d := h.first - 3; d < h.first.Add(h.length+40) && !t.Failed(); d++ {
			var no [2]No
			for w, o := range oracles {
				no[w] = o.mayAt(o.after(p, d), sp, sp.Place.At(d), Hook, taken{stage: TopStage})
			}
			if want := answer(no[Worst], no[Best], Place{}).May; line.At(d) != want {
				t.Errorf("line of %v, %s on %s: %v; by definition %v", p.ID, sp.Name, d, line.At(d), want)
			}
		}
	}
}
