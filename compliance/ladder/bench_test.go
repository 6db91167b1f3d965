package ladder

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// large is a collection of collections: 3,000 people, 400 species and 1,000,000
// sessions over four years, under the ladder that is shipped.
var large = sync.OnceValue(func() Records { return crowd(3000, 400, 1_000_000) })

var largeToday = day.MustParse("2026-06-01")

// crowd makes records of which most hold: founders who teach, people who are
// signed off by them, sessions that are signed in time, some too late, some
// without times or mentor.
func crowd(people, kinds, sessions int) Records {
	rng := rand.New(rand.NewPCG(1, 2))
	var t testing.B
	r := Records{Ladder: shipped(&t), Zone: func(inventory.ID) *time.Location { return time.UTC }}
	number := func(kind byte, n int) (out inventory.ID) {
		out[0], out[13], out[14], out[15] = kind, byte(n>>16), byte(n>>8), byte(n)
		return out
	}
	first := largeToday.Add(-4 * 365)
	for i := range people {
		p := Person{ID: number('p', i), Here: day.Constant(true), KnownFrom: day.First, Born: on("1990-01-01"), Done: map[string][]Done{}, Roles: func(string, day.Day) bool { return i%10 == 0 }}
		for _, what := range []string{"certificate.first-aid", "certificate.cpr"} {
			p.Done[what] = []Done{{On: first.Add(-30), Passed: inventory.Yes, Until: day.Until(largeToday.Add(rng.IntN(300) - 20))}}
		}
		for y := range 5 {
			p.Done["drill.bite"] = append(p.Done["drill.bite"], Done{On: first.Add(360 * y), Passed: inventory.Yes})
		}
		r.People = append(r.People, p)
	}
	for i := range kinds {
		stage := 2 + i%6
		s := Species{ID: number('k', i), Name: fmt.Sprintf("Genus%d kind%d", i/5, i), Genus: fmt.Sprintf("Genus%d", i/5), Family: fmt.Sprintf("Family%didae", i/40), Harmless: inventory.Bool(stage == 2), Place: day.Constant(Place{stage, stage})}
		r.Species = append(r.Species, s)
	}
	act := func(a Authorisation) {
		a.ID = number('a', len(r.Authorisations))
		r.Authorisations = append(r.Authorisations, &a)
	}
	for i, p := range r.People {
		by := []inventory.ID{r.People[(i+10)/10*10%people].ID}
		for year := range 5 {
			d := first.Add(330*year - 10 + i%10)
			act(Authorisation{Person: p.ID, What: StageGrant, Stage: 7, On: d, Founding: "before", Signers: by})
			if i%10 == 0 {
				act(Authorisation{Person: p.ID, What: MentorGrant, Stage: 7, On: d, Founding: "before", Signers: by})
			}
		}
		for n := range 15 {
			act(Authorisation{Person: p.ID, What: SpeciesGrant, Species: r.Species[(i+7*n)%kinds].ID, Level: Restrain, On: first.Add(365*(n%4) + n), Mentor: r.People[(i/10*10+20)%people].ID, Founding: "before", Signers: by, Until: day.Until(largeToday.Add(200))})
		}
	}
	for i := range sessions {
		who := rng.IntN(people)
		d := first.Add(i * 4 * 365 / sessions)
		begun := day.StartOf(d, time.UTC).Add(time.Duration(6*60+rng.IntN(12*60)) * time.Minute)
		s := &Session{ID: number('s', i), Trainee: r.People[who].ID, Site: number('x', 0), Species: r.Species[(who+7*rng.IntN(15))%kinds].ID, Level: Hook, Results: "cccpc"[:1+rng.IntN(5)], On: d, Begun: begun, Ended: begun.Add(40 * time.Minute), Watched: inventory.No}
		if who%10 != 0 && rng.IntN(3) > 0 {
			s.Mentor, s.Watched, s.Signed = r.People[who/10*10].ID, inventory.Yes, s.Ended.AddDate(0, 0, rng.IntN(16))
		}
		if rng.IntN(50) == 0 {
			s.Begun, s.Ended = time.Time{}, time.Time{}
		}
		r.Sessions = append(r.Sessions, s)
	}
	return r
}

func BenchmarkNewHistory(b *testing.B) {
	r := large()
	b.ResetTimer()
	for b.Loop() {
		NewHistory(r)
	}
}

func BenchmarkJudge(b *testing.B) {
	r := large()
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	b.ResetTimer()
	var s *Standings
	for b.Loop() {
		s = Judge(r)
	}
	b.StopTimer()
	runtime.GC()
	runtime.ReadMemStats(&after)
	b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/float64(len(r.Sessions)), "live-B/session")
	runtime.KeepAlive(s)
}

// BenchmarkMatrix asks for everybody and every species on one day.
func BenchmarkMatrix(b *testing.B) {
	r := large()
	s := Judge(r)
	b.ResetTimer()
	for b.Loop() {
		s.read()
		s.on = 0
		var may [3]int
		for i := range r.People {
			for j := range r.Species {
				may[s.May(r.People[i].ID, r.Species[j].ID, Hook, largeToday, 0).May]++
			}
		}
		b.ReportMetric(float64(may[inventory.Yes]), "may")
	}
}

// BenchmarkAfter judges again with one session more.
func BenchmarkAfter(b *testing.B) {
	r := large()
	s := Judge(r)
	for _, ago := range []int{0, 60} {
		b.Run(fmt.Sprintf("%d days ago", ago), func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				who := i*7%len(r.People)/10*10 + 1
				one := &Session{ID: called(fmt.Sprint("new", i)), Trainee: r.People[who].ID, Mentor: r.People[who/10*10].ID, Watched: inventory.Yes, Site: called("x"), Species: r.Species[who%len(r.Species)].ID, Level: Hook, Results: "cc", On: largeToday.Add(-ago)}
				one.Begun, one.Ended = instant(one.On, 5, 0), instant(one.On, 6, 0)
				one.Signed = one.Ended
				s.After(Change{Sessions: []SessionChange{{Is: one}}})
			}
		})
	}
}

// BenchmarkAfterAnAct judges again with a suspension of a mentor of 60 days ago.
func BenchmarkAfterAnAct(b *testing.B) {
	r := large()
	s := Judge(r)
	b.ResetTimer()
	for i := 0; b.Loop(); i++ {
		one := &Authorisation{ID: called(fmt.Sprint("new", i)), Person: r.People[i*7%len(r.People)/10*10].ID, What: Suspension, On: largeToday.Add(-60), Reason: "bitten"}
		s.After(Change{Acts: []ActChange{{Is: one}}})
	}
}
