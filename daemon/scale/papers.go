package scale

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// papers: two licences a site that list families, the rest name single
// animals.
func (m *maker) papers() {
	var out []*compliance.Permit
	for i := range m.Permits {
		p := m.paper(i)
		if n := 2 * len(m.sites); i < n {
			p.Class = []string{"keep-licence", "exhibit-licence"}[i%2]
			p.Sites = []inventory.ID{m.sites[i/2%len(m.sites)]}
			for _, family := range []string{"Elapidae", "Viperidae", "Colubridae", "Atractaspididae"} {
				p.Grants = append(p.Grants, compliance.Grant{Rank: compliance.RankFamily, Taxon: family})
			}
		} else {
			p.Class, p.AnyPlace = "animal-certificate", true
			p.Animals = []inventory.ID{m.animals[i%len(m.animals)]}
		}
		out = append(out, p)
	}
	m.out.Permits = tableOf(out)
}

func (m *maker) paper(i int) *compliance.Permit {
	issued := m.ago(10, 1000)
	p := &compliance.Permit{ID: m.id(), Number: fmt.Sprintf("P-%06d", i), Authority: m.authority, Holder: inventory.Ref{Kind: inventory.KindOrganisation, ID: m.org},
		Issued: issued, From: issued, Expires: day.Until(m.today.Add(30 + m.rng.IntN(1200))), Renewable: inventory.Yes}
	switch {
	case m.oneIn(120):
		p.Expires = day.Until(max(issued, m.today.Add(-m.rng.IntN(60))))
	case m.oneIn(120):
		last := max(issued, m.today.Add(-m.rng.IntN(30)))
		p.Expires = day.Until(last)
		p.Applications = []compliance.Application{{Posted: last.Add(-50), Received: last.Add(-45)}}
	case m.oneIn(200):
		p.Expires = day.End{}
	case m.oneIn(200):
		p.Suspensions = []compliance.Suspension{{From: m.ago(1, 60)}}
	}
	return p
}

// lists: what was done, and who keeps which list.
func (m *maker) lists() {
	var acts []*compliance.Activity
	add := func(what string, subject inventory.Ref, until day.End) {
		acts = append(acts, &compliance.Activity{ID: m.id(), What: what, Subject: subject, On: m.ago(5, 170), Passed: inventory.Yes, Until: until})
	}
	for i, site := range m.sites {
		ref := inventory.Ref{Kind: inventory.KindSite, ID: site}
		for _, what := range []string{"drill.bite", "drill.escape", "drill.fire", "inspection.locks"} {
			if !m.oneIn(30) {
				add(what, ref, day.End{})
			}
		}
		for range min(12, m.Animals/10) {
			add("count.antivenom", inventory.Ref{Kind: inventory.KindPlace, ID: m.places[i]}, day.End{})
		}
	}
	for _, person := range m.people {
		ref := inventory.Ref{Kind: inventory.KindPerson, ID: person}
		for _, what := range []string{"certificate.first-aid", "certificate.medical"} {
			add(what, ref, day.Until(m.today.Add(m.rng.IntN(700)-10)))
		}
	}
	var feeds []*compliance.Feed
	for _, topic := range compliance.Topics {
		for _, site := range m.sites {
			feeds = append(feeds, &compliance.Feed{ID: m.id(), Topic: topic, Site: site, Keeper: compliance.Administrator, Complete: m.today.Add(-4000),
				Confirmed: []day.Day{m.ago(0, 36)}, MaxAge: 35})
		}
	}
	m.out.Activities, m.out.Feeds = tableOf(acts), tableOf(feeds)
}
