package demo

import (
	"fmt"

	"antidotary/inventory"
)

// held is how many of each species each site holds. Wild: taken from the
// wild, so that the example's federal rule asks for a permit.
var held = []struct {
	site, prefix, species string
	count                 int
	bred                  inventory.Tri
}{
	{larkspur, "LH", "Crotalus atrox", 4, inventory.Yes},
	{larkspur, "LH", "Crotalus adamanteus", 3, inventory.No},
	{larkspur, "LH", "Agkistrodon piscivorus", 3, inventory.Yes},
	{larkspur, "LH", "Micrurus fulvius", 3, inventory.No},
	{larkspur, "LH", "Bitis arietans", 1, inventory.Unknown}, // LH-014: no paper says where it was born
	{larkspur, "LH", "Bitis arietans", 2, inventory.Yes},
	{larkspur, "LH", "Micruroides euryxanthus", 2, inventory.No},
	{larkspur, "LH", "Bitis gabonica", 2, inventory.No},
	{larkspur, "LH", "Dendroaspis polylepis", 2, inventory.No},
	{larkspur, "LH", "Naja nivea", 3, inventory.No},
	{larkspur, "LH", "Dispholidus typus", 3, inventory.Yes},
	{larkspur, "LH", "Thelotornis capensis", 2, inventory.No},
	{larkspur, "LH", "Calloselasma rhodostoma", 3, inventory.Yes},
	{larkspur, "LH", "Naja kaouthia", 6, inventory.No},
	{larkspur, "LH", "Ophiophagus hannah", 2, inventory.No},
	{wren, "WC", "Vipera berus", 5, inventory.Yes},
	{wren, "WC", "Naja naja", 4, inventory.Yes},
	{wren, "WC", "Daboia russelii", 3, inventory.Yes},
	{wren, "WC", "Naja kaouthia", 2, inventory.Yes},
	{tamarind, "TS", "Atractaspis bibronii", 2, inventory.No},
	{tamarind, "TS", "Bitis arietans", 1, inventory.Yes},
	{tamarind, "TS", "Thelotornis capensis", 2, inventory.Yes},
}

func (b *builder) animals() {
	number := map[string]int{}
	for _, h := range held {
		for range h.count {
			number[h.prefix]++
			b.animal(h.site, fmt.Sprintf("%s-%03d", h.prefix, number[h.prefix]), h.species, h.bred, -200-13*number[h.prefix])
		}
	}
}

// animal records an accession in an enclosure of its own.
func (b *builder) animal(site, accession, species string, bred inventory.Tri, arrived int) {
	enclosure := put(b, inventory.Enclosure{ID: id(inventory.KindEnclosure, site+" "+accession), Site: siteID(site), Code: "E-" + accession[len(accession)-3:],
		Room: "venomous room", State: inventory.InService})
	put(b, inventory.Animal{ID: id(inventory.KindAnimal, accession), Accession: accession, Species: speciesID(species), Owner: "the house",
		Custodian: inventory.Ref{Kind: inventory.KindOrganisation, ID: b.org}, Origin: inventory.Origin{Bred: bred}, Arrived: b.in(arrived),
		Stays: []inventory.Stay{{Enclosure: enclosure, From: b.in(arrived)}}})
}
