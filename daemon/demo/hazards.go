package demo

import "antidotary/inventory"

// hazards place the species on the ladder: action of the venom, potency times
// yield, speed and temper, size and reach; 1 least to 5. They are from memory
// and common practice, without a source: a house sets its own.
var hazards = map[string]inventory.Hazards{
	"Crotalus atrox":          score(3, 3, 3, 3),
	"Crotalus adamanteus":     score(4, 4, 3, 4),
	"Agkistrodon piscivorus":  score(2, 2, 2, 2),
	"Micrurus fulvius":        score(4, 2, 3, 1),
	"Micruroides euryxanthus": score(3, 1, 3, 1),
	"Bitis arietans":          score(3, 4, 4, 3),
	"Bitis gabonica":          score(4, 5, 3, 4),
	"Dendroaspis polylepis":   score(5, 4, 5, 5),
	"Naja nivea":              score(5, 4, 4, 3),
	"Dispholidus typus":       inTrees(score(4, 3, 3, 3)),
	"Thelotornis capensis":    inTrees(score(4, 3, 3, 3)),
	"Atractaspis bibronii":    score(3, 2, 3, 2),
	"Vipera berus":            score(2, 2, 2, 1),
	"Naja naja":               score(4, 4, 4, 3),
	"Daboia russelii":         score(4, 4, 4, 3),
	"Calloselasma rhodostoma": score(3, 3, 3, 2),
	"Naja kaouthia":           score(4, 4, 4, 3),
	"Ophiophagus hannah":      score(4, 5, 4, 5),
}

// score is of a species that neither spits nor lives in trees.
func score(venom, yield, speed, reach int) inventory.Hazards {
	return inventory.Hazards{Venom: venom, Yield: yield, Speed: speed, Reach: reach, Spitting: inventory.No, Arboreal: inventory.No}
}

func inTrees(h inventory.Hazards) inventory.Hazards {
	h.Arboreal = inventory.Yes
	return h
}
