package opabench

import (
	"math/rand/v2"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// doubtful makes the records of a network worse than any house's, so that each
// way in which a paper, a list or an attribute can be lacking is compared. It
// gives the same each time.
func doubtful(s *compliance.Snapshot) *compliance.Snapshot {
	d := &doubter{rand.New(rand.NewPCG(7, 7))}
	out := *s
	out.Sites = alter(s.Sites, d.site)
	out.Species = alter(s.Species, d.species)
	out.Animals = alter(s.Animals, d.animal)
	out.People = alter(s.People, d.person)
	out.Permits = alter(s.Permits, d.permit)
	out.Activities = alter(s.Activities, d.activity)
	out.Feeds = alter(s.Feeds, d.feed)
	return &out
}

func alter[T inventory.Record](t inventory.Table[T], one func(*T)) inventory.Table[T] {
	var all []*T
	for rec := range t.All() {
		other := *rec
		one(&other)
		all = append(all, &other)
	}
	return inventory.NewTable(all)
}

type doubter struct{ rng *rand.Rand }

// one gives a number below n; most of the numbers stand for no change.
func (d *doubter) one(n int) int { return d.rng.IntN(n) }

func (d *doubter) about(days int) day.Day { return today.Add(d.rng.IntN(2*days+1) - days) }

func (d *doubter) site(s *inventory.Site) {
	if d.one(8) == 0 {
		s.Use = ""
	}
}

func (d *doubter) species(s *inventory.Species) {
	switch d.one(12) {
	case 0:
		s.Family = ""
	case 1:
		s.Venomous = inventory.Unknown
	case 2:
		s.Venomous = inventory.No
	case 3:
		s.RangeKnown = inventory.Unknown
	case 4:
		s.NativeTo = []string{"us/fl/quill", "gb"}
	}
}

func (d *doubter) animal(a *inventory.Animal) {
	switch d.one(10) {
	case 0:
		a.Origin.Bred = inventory.Unknown
	case 1:
		a.Stays = append(a.Stays[:1:1], inventory.Stay{Enclosure: a.Stays[0].Enclosure, From: d.about(100)})
	case 2:
		a.Left = &inventory.Disposition{How: inventory.Died, On: max(a.Arrived, d.about(200))}
	}
}

func (d *doubter) person(p *compliance.Person) {
	switch d.one(6) {
	case 0:
		p.Leaves = d.about(200)
	case 1:
		p.Offices[0].Last = d.about(100)
	case 2:
		p.Offices = append(p.Offices, compliance.Office{Role: compliance.Curator, From: d.about(100)})
	}
}

func (d *doubter) activity(a *compliance.Activity) {
	switch d.one(6) {
	case 0:
		a.Passed = inventory.Unknown
	case 1:
		a.Passed = inventory.No
	case 2:
		a.Until = day.End{}
	case 3:
		a.Until = day.Forever()
	}
}

func (d *doubter) feed(f *compliance.Feed) {
	switch d.one(8) {
	case 0:
		f.Confirmed = nil
	case 1:
		f.Complete = d.about(250)
	case 2:
		f.Topic = "nothing" // so that nobody keeps that list
	case 3:
		f.Site = inventory.ID{}
	}
}

func (d *doubter) permit(p *compliance.Permit) {
	switch d.one(20) {
	case 0:
		p.Revoked = d.about(200)
	case 1:
		p.Surrendered = d.about(200)
	case 2:
		p.Suspensions = []compliance.Suspension{{From: d.about(200)}}
	case 3:
		from := d.about(200)
		p.Suspensions = []compliance.Suspension{{From: from, Lifted: from.Add(d.one(100))}}
	case 4:
		p.Expires = day.End{}
	case 5:
		p.Expires = day.Forever()
	case 6:
		p.Issued, p.From = 0, 0
	case 7:
		p.Holder = inventory.Ref{}
	case 8:
		p.Grants = nil
	case 9, 10, 11, 12:
		d.applied(p)
	}
	for i := range p.Grants {
		p.Grants = append(p.Grants[:i:i], append([]compliance.Grant{d.grant(p.Grants[i])}, p.Grants[i+1:]...)...)
	}
}

// applied: the paper ends about now, and somebody applied to renew it.
func (d *doubter) applied(p *compliance.Permit) {
	last := max(p.Start(), d.about(100))
	p.Expires = day.Until(last)
	a := compliance.Application{Posted: last.Add(-d.one(120))}
	if d.one(4) > 0 {
		a.Received = a.Posted.Add(d.one(10))
	}
	switch d.one(6) {
	case 0:
		a.Deficient = a.Posted.Add(15)
	case 1:
		a.Decided, a.Outcome = a.Posted.Add(20), compliance.Refused
	case 2:
		a.Decided, a.Outcome = a.Posted.Add(20), compliance.Granted
	}
	p.Renewable = inventory.Tri(d.one(3))
	p.Applications = []compliance.Application{a}
}

func (d *doubter) grant(g compliance.Grant) compliance.Grant {
	switch d.one(10) {
	case 0:
		return compliance.Grant{Rank: compliance.RankAny, Max: 1 + d.one(60)}
	case 1:
		return compliance.Grant{Rank: compliance.RankGenus, Taxon: "Genusa", Max: d.one(30)}
	case 2:
		return compliance.Grant{Rank: compliance.RankSpecies, Taxon: "Genusa speciesca"}
	case 3:
		g.Max = 1 + d.one(20)
	}
	return g
}
