package scale

import (
	"math/rand/v2"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Crowd is a network whose people handle: 3,000 people, 400 species, 300 sites
// and a million sessions over four years, each person signed off for fifteen
// species by founding grants that are renewed each year.
var Crowd = Size{"crowd", 300, 400, 3000, 100, 10, 10, 2}

// Handling makes a network of a size with so many sessions.
func Handling(size Size, sessions int, today day.Day) *compliance.Snapshot {
	s := Network(size, today)
	h := &handling{m: &maker{next: 1 << 40, today: today, rng: rand.New(rand.NewPCG(2, uint64(sessions)))}, out: s}
	for sp := range s.Species.All() {
		one := *sp
		one.Hazards = inventory.Hazards{Venom: 1 + len(h.species)%5, Yield: 1, Speed: 1, Reach: 1, Spitting: inventory.No, Arboreal: inventory.No}
		h.species = append(h.species, &one)
	}
	s.Species = inventory.NewTable(h.species)
	for p := range s.People.All() {
		h.people = append(h.people, p)
	}
	h.certificates()
	h.grants()
	h.sessions(sessions)
	return s
}

type handling struct {
	m       *maker
	out     *compliance.Snapshot
	species []*inventory.Species
	people  []*compliance.Person
	known   [][]*inventory.Species // by person
}

// certificates gives each person what the shipped ladder asks for.
func (h *handling) certificates() {
	var all []*compliance.Activity
	for a := range h.out.Activities.All() {
		all = append(all, a)
	}
	for _, p := range h.people {
		for _, what := range []string{"certificate.first-aid", "certificate.cpr"} {
			all = append(all, &compliance.Activity{ID: h.m.id(), What: what, Subject: p.Ref(), On: h.m.today.Add(-5 * 365), Passed: inventory.Yes, Until: day.Until(h.m.today.Add(h.m.rng.IntN(300)))})
		}
		for year := range 6 {
			all = append(all, &compliance.Activity{ID: h.m.id(), What: "drill.bite", Subject: p.Ref(), On: h.m.today.Add(-100 - 360*year), Passed: inventory.Yes})
		}
	}
	h.out.Activities = inventory.NewTable(all)
}

func (h *handling) grants() {
	var all []*ladder.Authorisation
	for i, p := range h.people {
		var known []*inventory.Species
		for n := range 15 {
			known = append(known, h.species[(i+7*n)%len(h.species)])
		}
		h.known = append(h.known, known)
		signer := []inventory.ID{h.people[(i+1)%len(h.people)].ID}
		for year := range 5 {
			on := h.m.today.Add(-365*year - 90 - i%200)
			add := func(a ladder.Authorisation) {
				a.ID, a.Person, a.On, a.Founding, a.Signers = h.m.id(), p.ID, on, "before the ladder", signer
				all = append(all, &a)
			}
			add(ladder.Authorisation{What: ladder.StageGrant, Stage: 7})
			if i%10 == 0 {
				add(ladder.Authorisation{What: ladder.MentorGrant, Stage: 7})
			}
			for _, s := range known {
				add(ladder.Authorisation{What: ladder.SpeciesGrant, Species: s.ID, Level: ladder.Restrain})
			}
		}
	}
	h.out.Authorisations = inventory.NewTable(all)
}

func (h *handling) sessions(n int) {
	all := make([]*ladder.Session, 0, n)
	for i := range n {
		who := h.m.rng.IntN(len(h.people))
		on := h.m.today.Add(-4*365 + i*4*365/n)
		begun := day.StartOf(on, time.UTC).Add(time.Duration(12*60+h.m.rng.IntN(8*60)) * time.Minute)
		p := h.people[who]
		s := &ladder.Session{ID: h.m.id(), Trainee: p.ID, Site: p.Site, Species: h.known[who][h.m.rng.IntN(15)].ID, Level: ladder.Hook, Results: "cccpc"[:1+h.m.rng.IntN(5)],
			On: on, Begun: begun, Ended: begun.Add(40 * time.Minute), Watched: inventory.No}
		if who%10 != 0 && !h.m.oneIn(3) {
			s.Mentor, s.Watched, s.Signed = h.people[who/10*10].ID, inventory.Yes, s.Ended.AddDate(0, 0, h.m.rng.IntN(16))
		}
		all = append(all, s)
	}
	h.out.Sessions = inventory.NewTable(all)
}
