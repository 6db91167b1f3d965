package demo

import (
	"fmt"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func (b *builder) deeds() {
	b.drills()
	b.lists()
	b.reports()
	put(b, compliance.Decision{ID: id(inventory.KindDecision, "Thelotornis"), Ruling: compliance.HoldWithout,
		Subject: inventory.Holding(speciesID("Thelotornis capensis"), siteID(larkspur)), By: personID(marlow), On: b.in(-180),
		Why: "hands-off husbandry and a hospital that has agreed to receive", Consequence: "level 1 tasks only; written on the door"})
	put(b, compliance.Decision{ID: id(inventory.KindDecision, "Thelotornis at Tamarind"), Ruling: compliance.HoldWithout,
		Subject: inventory.Holding(speciesID("Thelotornis capensis"), siteID(tamarind)), By: personID(marlow), On: b.in(-90),
		Why: "on loan for a study", Consequence: "nobody opens the enclosure without the head"})
	put(b, inventory.Planned{ID: id(inventory.KindPlanned, "cobra for Wren"), Kind: inventory.PlanArrival, On: b.in(75), Site: siteID(wren),
		Species: speciesID("Naja kaouthia"), Count: 1, Note: "one too many for the licence"})
	put(b, inventory.Planned{ID: id(inventory.KindPlanned, "Bram leaves"), Kind: inventory.PlanPerson, On: b.in(120), Subject: personRef(bram)})
	put(b, compliance.NotWatched{ID: id(inventory.KindNotWatched, "AI-422"), Subject: inventory.Ref{Kind: inventory.KindPermit, ID: permitID("AI-422")},
		By: personID(petra), Why: "the paper is with the council for a correction", From: b.in(-12), Last: b.in(30)})
}

func (b *builder) drills() {
	for _, d := range []struct {
		site, what string
		days       int
	}{
		{larkspur, "drill.bite", -60}, {larkspur, "drill.escape", -200},
		{wren, "drill.bite", -260}, {wren, "drill.escape", -100}, // the bite drill is overdue
		{tamarind, "drill.bite", -30}, {tamarind, "drill.escape", -90},
	} {
		put(b, compliance.Activity{ID: id(inventory.KindActivity, d.site+d.what), What: d.what, Subject: siteRef(d.site), On: b.in(d.days),
			By: personID(caspar), Passed: inventory.Yes})
	}
	for place, days := range map[string]int{larkspurFridge: -12, wrenFridge: -20} {
		put(b, compliance.Activity{ID: id(inventory.KindActivity, "count "+place), What: "count.antivenom",
			Subject: inventory.Ref{Kind: inventory.KindPlace, ID: placeID(place)}, On: b.in(days), By: personID(odo), Passed: inventory.Yes})
	}
}

// lists: who keeps what, and when it was last confirmed. Nobody has confirmed
// the stock of Wren Cottage for seven weeks.
func (b *builder) lists() {
	for _, l := range []struct {
		topic  compliance.Topic
		site   string
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
	} {
		f := compliance.Feed{ID: id(inventory.KindFeed, string(l.topic)+l.site), Topic: l.topic, Keeper: l.keeper, Complete: b.in(-1500),
			Confirmed: []day.Day{b.in(l.days - 30), b.in(l.days)}, MaxAge: 35}
		if l.site != "" {
			f.Site = siteID(l.site)
		}
		put(b, f)
	}
}

// reports are in for every year but the one that is due next.
func (b *builder) reports() {
	year, month, _ := b.today.Date()
	for back := 4; back >= 1; back-- {
		sent := day.Of(year-back+1, time.February, 20)
		if sent > b.today || back == 1 && month < time.March {
			continue
		}
		put(b, compliance.Activity{ID: id(inventory.KindActivity, fmt.Sprintf("report %d", year-back)), What: "report.wildlife-permit",
			Subject: siteRef(larkspur), On: sent, By: personID(petra), Passed: inventory.Yes, Year: year - back})
	}
}
