package scale

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// perSite are the classes of paper that every site has one of.
var perSite = []string{"keep-licence", "exhibit-licence"}

// papers: licences of sites that list families, licences of people, and the
// rest papers of the trade that name animals.
func (m *maker) papers() {
	var out []*compliance.Permit
	for i := range min(m.Permits, len(perSite)*len(m.sites)) {
		out = append(out, m.licence(i))
	}
	for i := range min(m.Permits-len(out), len(m.people)) {
		p := m.paper("keeper-licence")
		p.AnyPlace, p.Holder = true, inventory.Ref{Kind: inventory.KindPerson, ID: m.people[i]}
		out = append(out, p)
	}
	out = append(out, m.certificates(m.Permits-len(out))...)
	m.out.Permits = tableOf(out)
}

func (m *maker) licence(i int) *compliance.Permit {
	p := m.paper(perSite[i%len(perSite)])
	p.Sites = []inventory.ID{m.sites[i/len(perSite)]}
	for _, family := range families {
		g := compliance.Grant{Rank: compliance.RankFamily, Taxon: family}
		if m.oneIn(3) {
			g.Max = 2 * (1 + m.Animals/len(m.sites))
		}
		p.Grants = append(p.Grants, g)
	}
	return p
}

// certificates name animals: each a few where there are fewer papers than
// animals. Once every animal has one, every other paper renews an earlier
// one, and the rest are of a class that no rule asks for.
func (m *maker) certificates(n int) (out []*compliance.Permit) {
	if n <= 0 {
		return nil
	}
	each := (len(m.animals) + n - 1) / n
	round := (len(m.animals) + each - 1) / each
	for i := range n {
		p := m.paper("animal-certificate")
		p.AnyPlace = true
		for j := range each {
			p.Animals = append(p.Animals, m.animals[(i%round*each+j)%len(m.animals)])
		}
		switch {
		case i < round:
		case i%2 == 0:
			p.Class = "trade-paper"
		default:
			m.renew(out[i-round], p)
		}
		out = append(out, p)
	}
	return out
}

// renew lets a paper follow another one without a gap.
func (m *maker) renew(old, p *compliance.Permit) {
	if old.Class != p.Class {
		return
	}
	p.From = p.Issued
	old.Expires = day.Until(p.From - 1)
	old.Issued = p.From.Add(-730)
	old.From = old.Issued
	old.Applications = []compliance.Application{{Posted: p.From.Add(-60), Received: p.From.Add(-55), Decided: p.From, Outcome: compliance.Granted}}
	p.Renews = old.ID
}

// paper is in order but once in about fifty times.
func (m *maker) paper(class string) *compliance.Permit {
	issued := m.ago(10, 1000)
	p := &compliance.Permit{ID: m.id(), Number: fmt.Sprintf("P-%06d", m.next), Class: class, Authority: m.authority,
		Holder: inventory.Ref{Kind: inventory.KindOrganisation, ID: m.org},
		Issued: issued, From: issued, Expires: day.Until(m.today.Add(30 + m.rng.IntN(1200))), Renewable: inventory.Yes}
	switch {
	case m.oneIn(150):
		p.Expires = day.Until(max(issued, m.ago(0, 60)))
	case m.oneIn(150):
		last := max(issued, m.ago(0, 30))
		p.Expires = day.Until(last)
		p.Applications = []compliance.Application{{Posted: last.Add(-50), Received: last.Add(-45)}}
	case m.oneIn(200):
		p.Expires = day.End{}
	case m.oneIn(300):
		p.Suspensions = []compliance.Suspension{{From: m.ago(1, 60)}}
	}
	return p
}
