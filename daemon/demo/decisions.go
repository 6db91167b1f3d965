package demo

import (
	"antidotary/compliance"
	"antidotary/inventory"
)

// decisions are what the head ruled, what is planned, and what is not watched
// yet.
func (b *builder) decisions() {
	b.decided(compliance.HoldWithout, inventory.Holding(speciesID("Thelotornis capensis"), siteID(larkspur)), -180,
		"hands-off husbandry and a hospital that has agreed to receive", "level 1 tasks only; written on the door")
	b.decided(compliance.HoldWithout, inventory.Holding(speciesID("Thelotornis capensis"), siteID(tamarind)), -90,
		"on loan for a study", "nobody opens the enclosure without the head")
	b.decided(compliance.WillNotRenew, permitRef("DWA-302"), -30,
		"the three vipers go to a partner house", "they must have left before the licence ends")

	put(b, inventory.Planned{ID: id(inventory.KindPlanned, "cobra for Wren"), Kind: inventory.PlanArrival, On: b.in(75), Site: siteID(wren),
		Species: speciesID("Naja kaouthia"), Count: 1, Note: "one too many for the licence"})
	put(b, inventory.Planned{ID: id(inventory.KindPlanned, "Bram leaves"), Kind: inventory.PlanPerson, On: b.in(120), Subject: personRef(bram)})

	put(b, compliance.NotWatched{ID: id(inventory.KindNotWatched, "AI-422"), Subject: permitRef("AI-422"),
		By: personID(petra), Why: "the paper is with the council for a correction", From: b.in(-12), Last: b.in(30)})
}

func (b *builder) decided(ruling compliance.Ruling, subject inventory.Ref, days int, why, consequence string) {
	put(b, compliance.Decision{ID: id(inventory.KindDecision, string(ruling)+" "+subject.String()), Ruling: ruling, Subject: subject,
		By: personID(marlow), On: b.in(days), Why: why, Consequence: consequence})
}
