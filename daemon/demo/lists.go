package demo

import (
	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// kept says who keeps each list and how many days ago it was last confirmed.
// Nobody has confirmed the stock of Wren Cottage for seven weeks.
var kept = []struct {
	topic  compliance.Topic
	site   string // empty: every site
	keeper compliance.Role
	days   int
}{
	{compliance.TopicPapers, "", compliance.Administrator, -6},
	{compliance.TopicPeople, "", compliance.Administrator, -6},
	{compliance.TopicAnimals, "", compliance.LeadKeeper, -2},
	{compliance.TopicActivities, "", compliance.SafetyOfficer, -4},
	{compliance.TopicStock, larkspur, compliance.Curator, -3},
	{compliance.TopicStock, wren, compliance.Curator, -49},
	{compliance.TopicStock, tamarind, compliance.Curator, -8},
	{compliance.TopicHandling, larkspur, compliance.LeadKeeper, -2},
	{compliance.TopicHandling, wren, compliance.LeadKeeper, -5},
	{compliance.TopicHandling, tamarind, compliance.LeadKeeper, -7},
}

func (b *builder) lists() {
	for _, l := range kept {
		b.list(l.topic, l.site, l.keeper, l.days)
	}
}

// list is confirmed every month, and for five weeks at most.
func (b *builder) list(topic compliance.Topic, site string, keeper compliance.Role, days int) {
	f := compliance.Feed{ID: id(inventory.KindFeed, string(topic)+" "+site), Topic: topic, Keeper: keeper, Complete: b.in(-1500),
		Confirmed: []day.Day{b.in(days - 30), b.in(days)}, MaxAge: 35}
	if site != "" {
		f.Site = siteID(site)
	}
	put(b, f)
}
