package demo

import (
	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

func (b *builder) permits() {
	b.wildlifePermits()
	b.tradeDocuments()
	b.statePapers()
	b.councilLicences()
	b.otherPapers()
}

// paper begins a permit of the house; the rest is set by whoever calls.
func (b *builder) paper(number, class, authority, site string, expires day.End) compliance.Permit {
	return compliance.Permit{ID: permitID(number), Number: number, Class: class, Authority: id(inventory.KindAuthority, authority),
		Holder: inventory.Ref{Kind: inventory.KindOrganisation, ID: b.org}, Sites: []inventory.ID{siteID(site)},
		Issued: b.in(-700), From: b.in(-700), Expires: expires, Renewable: inventory.Yes}
}

// grants lists species on a paper; max 0: the paper sets no number.
func grants(max int, species ...string) (out []compliance.Grant) {
	for _, s := range species {
		out = append(out, compliance.Grant{Rank: compliance.RankSpecies, Taxon: s, Max: max})
	}
	return out
}

// received is a renewal that was posted some days from today, and received
// three days later.
func (b *builder) received(posted int) []compliance.Application {
	return []compliance.Application{{Prepared: b.in(posted - 5), Posted: b.in(posted), Received: b.in(posted + 3), Receipt: "R-0417"}}
}

// wildlifePermits are under 50 CFR part 13: to be renewed 30 days before they
// end, and continued while a renewal is pending that was in time.
func (b *builder) wildlifePermits() {
	weekend := b.longWeekend(federalDays, 20)
	for _, p := range []struct {
		number  string
		ends    int // days from today
		species []string
		max     int
		posted  int // days from today; 0: no renewal yet
	}{
		{"WP-101", 420, []string{"Naja kaouthia"}, 5, 0}, // six are held
		{"WP-102", weekend.Add(30).Sub(b.today), []string{"Bitis gabonica"}, 0, 0},
		{"WP-103", -20, []string{"Dendroaspis polylepis"}, 0, -62}, // in time
		{"WP-104", -15, []string{"Naja nivea"}, 0, -24},            // too late
		{"WP-105", -10, []string{"Ophiophagus hannah"}, 0, 0},      // forgotten
		{"WP-106", 610, []string{"Thelotornis capensis", "Calloselasma rhodostoma", "Dispholidus typus"}, 0, 0},
	} {
		permit := b.paper(p.number, "wildlife-permit", wildlife, larkspur, b.until(p.ends))
		permit.Grants = grants(p.max, p.species...)
		if p.posted != 0 {
			permit.Applications = b.received(p.posted)
		}
		put(b, permit)
	}
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

// statePapers grant whole families, and the bond of an exhibitor.
func (b *builder) statePapers() {
	permit := b.paper("VR-211", "venomous-permit", stateOffice, larkspur, b.until(400))
	for _, family := range []string{"Viperidae", "Elapidae", "Colubridae"} {
		permit.Grants = append(permit.Grants, compliance.Grant{Rank: compliance.RankFamily, Taxon: family})
	}
	put(b, permit)
	put(b, b.paper("EB-212", "exhibit-bond", stateOffice, larkspur, b.until(350)))
}

func (b *builder) councilLicences() {
	main := b.paper("DWA-301", "dwa-licence", council, wren, b.until(540))
	main.Grants = append(grants(0, "Vipera berus", "Naja naja"), grants(2, "Naja kaouthia")...)
	put(b, main)
	ending := b.paper("DWA-302", "dwa-licence", council, wren, b.until(48)) // not to be renewed, by decision
	ending.Grants = grants(3, "Daboia russelii")
	put(b, ending)
}

// others are asked for by no rule; those that end are watched all the same.
var others = []struct {
	number, class, authority, site string
	days                           int
}{
	{"IN-402", "liability-insurance", insurer, wren, 260},
	{"IN-403", "liability-insurance", insurer, tamarind, 310},
	{"FC-411", "fire-certificate", council, wren, 500},
	{"FC-412", "fire-certificate", stateOffice, larkspur, 450},
	{"AI-421", "antivenom-import", wildlife, larkspur, 380},
	{"AI-422", "antivenom-import", council, wren, 520}, // not watched yet
	{"TR-432", "transport-permit", council, wren, 330},
	{"WD-441", "waste-permit", stateOffice, larkspur, 800},
	{"WD-442", "waste-permit", council, wren, 700},
}

var cards = []struct {
	number, holder string
	days           int
}{
	{"HC-501", sable, 400},
	{"HC-502", juno, 430},
	{"HC-503", bram, 460},
	{"HC-504", tansy, 490},
}

func (b *builder) otherPapers() {
	for _, p := range others {
		put(b, b.paper(p.number, p.class, p.authority, p.site, b.until(p.days)))
	}
	for _, c := range cards {
		card := b.paper(c.number, "handler-card", insurer, larkspur, b.until(c.days))
		card.Holder, card.Sites, card.AnyPlace = personRef(c.holder), nil, true
		put(b, card)
	}
}
