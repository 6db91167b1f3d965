package scale

import (
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// deeds is what was done: drills and inspections at sites, monthly counts of
// fridges, training and certificates of people.
func (m *maker) deeds() {
	var out []*compliance.Activity
	add := func(what string, subject inventory.Ref, on day.Day, until day.End) *compliance.Activity {
		a := &compliance.Activity{ID: m.id(), What: what, Subject: subject, On: on, Passed: inventory.Yes, Until: until}
		out = append(out, a)
		return a
	}
	for i, site := range m.sites {
		for _, what := range []string{"drill.bite", "drill.escape", "drill.fire", "inspection.locks"} {
			if !m.oneIn(30) {
				add(what, inventory.Ref{Kind: inventory.KindSite, ID: site}, m.ago(5, 170), day.End{})
			}
		}
		if !m.oneIn(30) {
			year, _, _ := m.today.Date()
			for ago := range 2 {
				add("report.yearly", inventory.Ref{Kind: inventory.KindSite, ID: site}, day.Of(year-ago, time.March, 1), day.End{}).Year = year - ago - 1
			}
		}
		for month := range min(24, 1+m.Animals/10) {
			add("count.antivenom", inventory.Ref{Kind: inventory.KindPlace, ID: m.places[i]}, m.ago(1+30*month, 20+30*month), day.End{})
		}
	}
	for _, id := range m.people {
		person := inventory.Ref{Kind: inventory.KindPerson, ID: id}
		for quarter := range 8 {
			add("training.handling", person, m.ago(1+90*quarter, 80+90*quarter), day.End{})
		}
		for _, what := range []string{"certificate.first-aid", "certificate.medical"} {
			add(what, person, m.ago(5, 170), day.Until(m.today.Add(m.rng.IntN(700)-10)))
		}
	}
	m.out.Activities = tableOf(out)
}

// feeds: who keeps which list of each site, nearly all confirmed of late.
func (m *maker) feeds() {
	var out []*compliance.Feed
	for _, topic := range compliance.Topics {
		for _, site := range m.sites {
			out = append(out, &compliance.Feed{ID: m.id(), Topic: topic, Site: site, Keeper: compliance.Administrator, Complete: m.today.Add(-4000),
				Confirmed: []day.Day{m.ago(0, 36)}, MaxAge: 35})
		}
	}
	m.out.Feeds = tableOf(out)
}
