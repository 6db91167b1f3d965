package demo

import (
	"slices"

	"antidotary/inventory"
)

// kinds are real species; families, ranges and certainty as in the sources
// that coverage and noAntivenom cite. native lists where a species is native;
// it is kept coarse on purpose.
var kinds = []struct {
	name, family, common string
	native               []string
	bandage              inventory.Tri // pressure bandage: unknown prints "ask the poison centre"
}{
	{"Crotalus atrox", "Viperidae", "western diamondback rattlesnake", []string{"us"}, inventory.No},
	{"Crotalus adamanteus", "Viperidae", "eastern diamondback rattlesnake", []string{"us"}, inventory.No},
	{"Agkistrodon piscivorus", "Viperidae", "cottonmouth", []string{"us"}, inventory.No},
	{"Micrurus fulvius", "Elapidae", "eastern coral snake", []string{"us"}, inventory.Unknown},
	{"Micruroides euryxanthus", "Elapidae", "Sonoran coral snake", []string{"us"}, inventory.Unknown},
	{"Bitis arietans", "Viperidae", "puff adder", []string{"za"}, inventory.Unknown},
	{"Bitis gabonica", "Viperidae", "Gaboon adder", []string{"za"}, inventory.Unknown},
	{"Dendroaspis polylepis", "Elapidae", "black mamba", []string{"za"}, inventory.Unknown},
	{"Naja nivea", "Elapidae", "Cape cobra", []string{"za"}, inventory.Unknown},
	{"Dispholidus typus", "Colubridae", "boomslang", []string{"za"}, inventory.Unknown},
	{"Thelotornis capensis", "Colubridae", "southern vine snake", []string{"za"}, inventory.Unknown},
	{"Atractaspis bibronii", "Atractaspididae", "southern stiletto snake", []string{"za"}, inventory.Unknown},
	{"Vipera berus", "Viperidae", "adder", []string{"gb"}, inventory.Unknown},
	{"Naja naja", "Elapidae", "Indian cobra", []string{"in"}, inventory.Unknown},
	{"Daboia russelii", "Viperidae", "Russell's viper", []string{"in"}, inventory.Unknown},
	{"Calloselasma rhodostoma", "Viperidae", "Malayan pit viper", []string{"th"}, inventory.Unknown},
	{"Naja kaouthia", "Elapidae", "monocled cobra", []string{"th"}, inventory.Unknown},
	{"Ophiophagus hannah", "Elapidae", "king cobra", []string{"th"}, inventory.Unknown},
}

// noAntivenom cites who says that no antivenom exists, or none that works.
var noAntivenom = map[string]string{
	"Thelotornis capensis": "Toxicon 2023, doi 10.1016/j.toxicon.2023.107347 (boomslang product not effective)",
	"Atractaspis bibronii": "South African package insert and treatment guideline",
}

// species records the kinds of the given names; without names, all.
func (b *builder) species(names ...string) {
	for _, k := range kinds {
		if len(names) > 0 && !slices.Contains(names, k.name) {
			continue
		}
		s := inventory.Species{ID: speciesID(k.name), Accepted: k.name, Family: k.family, Common: k.common, Venomous: inventory.Yes,
			Hazards: hazards[k.name], NativeTo: k.native, RangeKnown: inventory.Yes, PressureBandage: k.bandage}
		if source := noAntivenom[k.name]; source != "" {
			s.NoAntivenom, s.Certainty = source, inventory.Read
		}
		put(b, s)
	}
}
