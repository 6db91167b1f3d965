package demo

import (
	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

const (
	wildlife = "Federal wildlife permit office"
	council  = "Vale District Council"
	insurer  = "Fictional Mutual Insurance"
)

// paper begins a permit of the house; the rest is set by whoever calls.
func (b *builder) paper(number, class, authority, site string, expires day.End) compliance.Permit {
	return compliance.Permit{ID: permitID(number), Number: number, Class: class, Authority: id(inventory.KindAuthority, authority),
		Holder: inventory.Ref{Kind: inventory.KindOrganisation, ID: b.org}, Sites: []inventory.ID{siteID(site)},
		Issued: b.in(-700), From: b.in(-700), Expires: expires, Renewable: inventory.Yes}
}

func grants(max int, species ...string) (out []compliance.Grant) {
	for _, s := range species {
		out = append(out, compliance.Grant{Rank: compliance.RankSpecies, Taxon: s, Max: max})
	}
	return out
}

// received is a renewal that was posted, and received three days later.
func (b *builder) received(posted int) []compliance.Application {
	return []compliance.Application{{Prepared: b.in(posted - 5), Posted: b.in(posted), Received: b.in(posted + 3), Receipt: "R-0417"}}
}

func (b *builder) permits() {
	b.wildlifePermits()
	b.tradeDocuments()
	b.councilLicences()
	b.otherPapers()
}

func (b *builder) wildlifePermits() {
	over := b.paper("WP-101", "wildlife-permit", wildlife, larkspur, b.until(420))
	over.Grants = grants(5, "Naja kaouthia") // six are held
	put(b, over)

	weekend := b.paper("WP-102", "wildlife-permit", wildlife, larkspur, day.End{})
	weekend.Expires = day.Until(b.beforeLongWeekend("US-FED", 20).Add(30)) // 30 days before is that Sunday
	weekend.Grants = grants(0, "Bitis gabonica")
	put(b, weekend)

	continued := b.paper("WP-103", "wildlife-permit", wildlife, larkspur, b.until(-20))
	continued.Grants = grants(0, "Dendroaspis polylepis")
	continued.Applications = b.received(-62)
	put(b, continued)

	late := b.paper("WP-104", "wildlife-permit", wildlife, larkspur, b.until(-15))
	late.Grants = grants(0, "Naja nivea")
	late.Applications = b.received(-24)
	put(b, late)

	lapsed := b.paper("WP-105", "wildlife-permit", wildlife, larkspur, b.until(-10))
	lapsed.Grants = grants(0, "Ophiophagus hannah")
	put(b, lapsed)

	fine := b.paper("WP-106", "wildlife-permit", wildlife, larkspur, b.until(610))
	fine.Grants = grants(0, "Thelotornis capensis", "Calloselasma rhodostoma", "Dispholidus typus")
	put(b, fine)
}

func (b *builder) tradeDocuments() {
	void := b.paper("CD-201", "cites-document", wildlife, larkspur, b.until(-8))
	void.Grants = grants(0, "Ophiophagus hannah")
	void.Applications = b.received(-30)
	put(b, void)
	next := b.paper("CD-202", "cites-document", wildlife, larkspur, b.until(300))
	next.Grants = grants(0, "Naja kaouthia")
	put(b, next)
}

func (b *builder) councilLicences() {
	main := b.paper("DWA-301", "dwa-licence", council, wren, b.until(540))
	main.Grants = append(grants(0, "Vipera berus", "Naja naja"), grants(2, "Naja kaouthia")...)
	put(b, main)
	ending := b.paper("DWA-302", "dwa-licence", council, wren, b.until(48))
	ending.Grants = grants(3, "Daboia russelii")
	put(b, ending)
	put(b, compliance.Decision{ID: id(inventory.KindDecision, "DWA-302"), Ruling: compliance.WillNotRenew, Subject: ending.Ref(), By: personID(marlow),
		On: b.in(-30), Why: "the three vipers go to a partner house", Consequence: "they must have left before the licence ends"})
}

// otherPapers are asked for by no rule; those that end are watched all the
// same.
func (b *builder) otherPapers() {
	for _, p := range []struct {
		number, class, authority, site string
		days                           int
	}{
		{"IN-401", "liability-insurance", insurer, larkspur, 200},
		{"IN-402", "liability-insurance", insurer, wren, 95}, // to be renewed soon, for its own sake
		{"IN-403", "liability-insurance", insurer, tamarind, 310},
		{"FC-411", "fire-certificate", council, wren, 500},
		{"FC-412", "fire-certificate", insurer, larkspur, 450},
		{"AI-421", "antivenom-import", wildlife, larkspur, 380},
		{"AI-422", "antivenom-import", council, wren, 520},
		{"TR-431", "transport-permit", wildlife, larkspur, 260},
		{"TR-432", "transport-permit", council, wren, 330},
		{"WD-441", "waste-permit", wildlife, larkspur, 800},
		{"WD-442", "waste-permit", council, wren, 700},
	} {
		put(b, b.paper(p.number, p.class, p.authority, p.site, b.until(p.days)))
	}
	for i, who := range []string{sable, juno, bram, tansy} {
		card := b.paper([]string{"HC-501", "HC-502", "HC-503", "HC-504"}[i], "handler-card", insurer, larkspur, b.until(400+30*i))
		card.Holder, card.Sites, card.AnyPlace = personRef(who), nil, true
		put(b, card)
	}
}
