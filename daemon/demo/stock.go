package demo

import (
	"slices"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Antivenom by nonproprietary type.
const (
	ovineFab     = "Crotalidae polyvalent immune Fab (ovine), freeze-dried"
	coral        = "North American coral snake antivenin (equine), freeze-dried"
	southAfrican = "South African polyvalent antivenom (equine F(ab')2), liquid"
	boomslang    = "Boomslang monovalent antivenom (equine), liquid"
	viperFab     = "European viper immune Fab (ovine)"
	indian       = "Indian polyvalent antivenom (equine), freeze-dried"
	malayan      = "Malayan pit viper antivenin (equine), freeze-dried"
	thaiNeuro    = "Thai neurotoxic polyvalent antivenin (equine), freeze-dried"
)

// products; leads are invented. A storage range of 0 to 0 is one that the
// source does not give firmly enough.
var products = []struct {
	name       string
	min, max   int // milli-degrees Celsius
	pack, lead int // vials; days from order to arrival
	source     string
	certainty  inventory.Certainty
}{
	{ovineFab, 0, 0, 2, 30, "drug monograph Crotalidae Polyvalent Immune Fab (Ovine), 2020", inventory.Read},
	{coral, 2000, 8000, 1, 90, "prescribing information sections 2.1 and 12.2; USP monograph", inventory.Read},
	{southAfrican, 0, 0, 1, 240, "package insert, South Africa", inventory.Read},
	{boomslang, 0, 0, 1, 240, "Toxicon 2023, doi 10.1016/j.toxicon.2023.107347", inventory.Read},
	{viperFab, 0, 0, 1, 60, "Clinical Toxicology 2017, PMID 28092984", inventory.Read},
	{indian, 0, 0, 1, 240, "package inserts; national Standard Treatment Guideline, India", inventory.Read},
	{malayan, 0, 25000, 1, 240, "Thai Pharmacopoeia antivenin monographs", inventory.Secondary},
	{thaiNeuro, 0, 25000, 1, 240, "US joint military guideline Global Snake Envenomation Management (CPG 81, 2020)", inventory.Secondary},
}

// covers says what is for what, with planning figures: the treating clinician
// and the label decide.
var covers = []struct {
	product, species string
	basis            inventory.Basis
	initial, full    int
	source           string
	certainty        inventory.Certainty
}{
	{ovineFab, "Crotalus atrox", inventory.Indicated, 6, 18, "consensus guidelines for stocking antidotes, Ann Emerg Med 2018;71:314: 18 vials for 24 h", inventory.Secondary},
	{ovineFab, "Crotalus adamanteus", inventory.Indicated, 6, 18, "consensus guidelines for stocking antidotes, Ann Emerg Med 2018;71:314: 18 vials for 24 h", inventory.Secondary},
	{ovineFab, "Agkistrodon piscivorus", inventory.Indicated, 6, 18, "consensus guidelines for stocking antidotes, Ann Emerg Med 2018;71:314: 18 vials for 24 h", inventory.Secondary},
	{coral, "Micrurus fulvius", inventory.Indicated, 3, 5, "prescribing information section 2.1: 3 to 5, some patients 10 or more", inventory.Read},
	{coral, "Micruroides euryxanthus", inventory.Excluded, 0, 0, "label of the product: not covered", inventory.Read},
	{southAfrican, "Bitis arietans", inventory.Immunogen, 6, 12, "South African explainer: 6 to 12 typical", inventory.Secondary},
	{southAfrican, "Bitis gabonica", inventory.Immunogen, 10, 12, "university protocol: at least 10; 12 as the upper typical figure", inventory.Secondary},
	{southAfrican, "Dendroaspis polylepis", inventory.Immunogen, 10, 20, "university protocol: 10 to 20", inventory.Read},
	{southAfrican, "Naja nivea", inventory.Immunogen, 6, 12, "South African explainer: 6 to 12 typical", inventory.Secondary},
	{boomslang, "Dispholidus typus", inventory.Indicated, 2, 3, "Toxicon 2023, doi 10.1016/j.toxicon.2023.107347: 2 usual, 3 in one case", inventory.Read},
	{boomslang, "Thelotornis capensis", inventory.Excluded, 0, 0, "Toxicon 2023, doi 10.1016/j.toxicon.2023.107347: not effective", inventory.Read},
	{viperFab, "Vipera berus", inventory.Indicated, 2, 2, "Clinical Toxicology 2017, PMID 28092984: 8 mL, 2 vials", inventory.Read},
	{indian, "Naja naja", inventory.Immunogen, 10, 20, "national Standard Treatment Guideline, India: 10, total to 20", inventory.Read},
	{indian, "Daboia russelii", inventory.Immunogen, 10, 20, "national Standard Treatment Guideline, India: 10, total 15 to 20", inventory.Read},
	{malayan, "Calloselasma rhodostoma", inventory.Indicated, 3, 6, "Thai Pharmacopoeia: 30 mL, repeated once", inventory.Read},
	{thaiNeuro, "Naja kaouthia", inventory.Indicated, 5, 10, "US joint military guideline CPG 81 for the species; 5 to 10 vials from memory", inventory.Memory},
	{thaiNeuro, "Ophiophagus hannah", inventory.Indicated, 5, 10, "US joint military guideline CPG 81 for the species; 5 to 10 vials from memory", inventory.Memory},
}

// label is how a lot's end is printed on it.
type label int

const (
	month  label = iota // month and year: the last day of that month (USP <7>)
	full                // day, month and year
	smudge              // nobody can read it
)

// lots: ends in days from today. At Larkspur House they are enough for any two
// victims, at Wren Cottage for one.
var lots = []struct {
	product, number, place string
	vials, ends            int
	label                  label
	held                   string // why it is on hold
}{
	{ovineFab, "DEMO-F1", larkspurFridge, 8, 700, month, ""},
	{ovineFab, "DEMO-F2", larkspurFridge, 8, 900, month, ""},
	{ovineFab, "DEMO-F3", larkspurFridge, 6, 1100, month, ""},
	{ovineFab, "DEMO-F4", larkspurFridge, 14, 1300, month, ""},
	{ovineFab, "DEMO-F0", larkspurFridge, 4, -40, full, ""}, // expired, kept: never counts
	{coral, "DEMO-C1", larkspurFridge, 3, 800, month, ""},
	{coral, "DEMO-C2", larkspurFridge, 3, 1200, month, ""},
	{coral, "DEMO-C3", larkspurFridge, 4, 1400, month, ""},
	{southAfrican, "DEMO-S1", larkspurFridge, 10, 720, month, ""},
	{southAfrican, "DEMO-S2", larkspurFridge, 10, 840, month, ""},
	{southAfrican, "DEMO-S3", larkspurFridge, 14, 1000, month, ""},
	{southAfrican, "DEMO-S4", larkspurFridge, 6, 1000, month, ""},
	{southAfrican, "DEMO-S5", larkspurFridge, 4, 0, smudge, ""},
	{boomslang, "DEMO-B1", larkspurFridge, 2, 760, month, ""},
	{boomslang, "DEMO-B2", larkspurFridge, 2, 900, month, ""},
	{boomslang, "DEMO-B3", larkspurFridge, 2, 1100, month, ""},
	{malayan, "DEMO-M1", larkspurFridge, 7, 330, full, ""}, // its end leaves 5 of 6
	{malayan, "DEMO-M2", larkspurFridge, 3, 950, month, ""},
	{malayan, "DEMO-M3", larkspurFridge, 2, 1100, month, ""},
	{thaiNeuro, "DEMO-T1", larkspurFridge, 14, 330, full, ""}, // its end leaves 6 of 10; what is ordered comes before
	{thaiNeuro, "DEMO-T2", larkspurFridge, 6, 980, month, ""},
	{viperFab, "DEMO-V1", wrenFridge, 2, 640, month, ""},
	{viperFab, "DEMO-V2", wrenFridge, 2, 900, month, ""},
	{viperFab, "DEMO-V3", wrenFridge, 2, 1000, month, ""},
	{indian, "DEMO-I1", wrenFridge, 10, 700, month, ""},
	{indian, "DEMO-I2", wrenFridge, 10, 900, month, ""},
	{indian, "DEMO-I3", wrenFridge, 10, 1100, month, ""},
	{thaiNeuro, "DEMO-T3", wrenFridge, 6, 800, month, ""},
	{thaiNeuro, "DEMO-T4", wrenFridge, 6, 1000, month, ""},
	{thaiNeuro, "DEMO-T5", wrenFridge, 2, 1000, month, "the fridge stood at 14 degrees for nine hours; the manufacturer has been asked"},
}

func (b *builder) stock() {
	b.products()
	for _, l := range lots {
		lot := b.lot(l.product, l.number, l.place, l.vials, l.ends, l.label)
		if l.held != "" {
			lot.Holds = []inventory.Hold{{From: b.in(-9), Why: l.held}}
		}
		put(b, lot)
	}
}

// products records the products of the given types, and what they are for
// among the species already recorded; without types, all.
func (b *builder) products(types ...string) {
	for _, p := range products {
		if len(types) > 0 && !slices.Contains(types, p.name) {
			continue
		}
		put(b, inventory.Product{ID: productID(p.name), Type: p.name, StoreMin: p.min, StoreMax: p.max, PackSize: p.pack, LeadDays: p.lead,
			Source: p.source, Certainty: p.certainty})
		for _, c := range covers {
			if c.product == p.name && b.recorded(speciesID(c.species)) {
				put(b, inventory.Coverage{ID: id(inventory.KindCoverage, c.product+" "+c.species), Product: productID(c.product), Species: speciesID(c.species),
					Basis: c.basis, Vials: inventory.Always(inventory.Vials{Initial: c.initial, Full: c.full}), Source: c.source, Certainty: c.certainty})
			}
		}
	}
}

func (b *builder) recorded(species inventory.ID) bool {
	ref := inventory.Ref{Kind: inventory.KindSpecies, ID: species}
	return slices.ContainsFunc(b.batch, func(c compliance.Change) bool { return slices.Contains(c.Touches(), ref) })
}

func (b *builder) lot(product, number, place string, vials, ends int, printed label) inventory.Lot {
	lot := inventory.Lot{ID: id(inventory.KindLot, number), Product: productID(product), Number: number,
		Movements: []inventory.Movement{{On: b.in(-400), Place: placeID(place), Vials: vials, Reason: inventory.Received, Condition: inventory.Checked}}}
	switch printed {
	case full:
		lot.Labelled = b.until(ends)
	case month:
		lot.Labelled, lot.MonthOnly = day.Until(b.in(ends).EndOfMonth()), true
	}
	return lot
}
