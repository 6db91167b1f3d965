package compliance

import (
	"fmt"

	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"antidotary/inventory"
)

// readLadder reads a pack's ladder. Law asks for experience and papers; how a
// house brings its people on is the house's own, or common practice.
func readLadder(m *strict.Map, p *Pack) *ladder.Ladder {
	lm, ok := m.OptMap("ladder")
	if !ok {
		return nil
	}
	if p.Layer == Law {
		m.Fail("ladder", "is not law; a pack of layer house or guidance may have one, and a rule of kind experience says what the law asks for")
	}
	roles := make([]string, len(Roles))
	for i, r := range Roles {
		roles[i] = string(r)
	}
	return ladder.Read(lm, p.Edition, roles)
}

// twoLadders refuses two ladders between which nothing decides.
func (b *Rulebook) twoLadders() (mistakes []error) {
	type at struct {
		layer Layer
		area  string
	}
	first := make(map[at]*Pack)
	for _, p := range b.Packs {
		if p.Ladder == nil {
			continue
		}
		if other, taken := first[at{p.Layer, p.Area}]; taken {
			mistakes = append(mistakes, fmt.Errorf("the packs %q and %q both have a ladder of layer %s for %s: leave one out, or give one a jurisdiction", other.Name, p.Name, p.Layer, areaWords(p.Area)))
		}
		first[at{p.Layer, p.Area}] = p
	}
	return mistakes
}

func areaWords(area string) string {
	if area == "" {
		return "everywhere"
	}
	return area
}

// LadderAt gives the ladder by which people are brought on under a
// jurisdiction, and its pack: the house's own before guidance, and of each the
// one for the smallest area. nil: there is none.
func (b *Rulebook) LadderAt(path string) (best *Pack) {
	for _, p := range b.Packs {
		if p.Ladder == nil || p.Area != "" && (path == "" || !inventory.Within(path, p.Area)) {
			continue
		}
		if best == nil || p.Layer != best.Layer && p.Layer == House || p.Layer == best.Layer && len(p.Area) > len(best.Area) {
			best = p
		}
	}
	return best
}
