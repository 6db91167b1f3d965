package intake

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"antidotary/compliance/strict"
)

// suggestions are at most as many as one reads.
const suggestions = 3

// near gives the known names that somebody may have meant by one that is not
// known, the nearest first: the same but for case, abbreviated, or mistyped.
func near(name string, known []string) []string {
	type candidate struct {
		name string
		away int
	}
	var found []candidate
	for _, k := range known {
		if away, ok := away(name, k); ok && k != name {
			found = append(found, candidate{k, away})
		}
	}
	slices.SortFunc(found, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.away, b.away), cmp.Compare(a.name, b.name))
	})
	found = slices.CompactFunc(found, func(a, b candidate) bool { return a.name == b.name })
	var out []string
	for _, c := range found[:min(suggestions, len(found))] {
		out = append(out, c.name)
	}
	return out
}

// away says how far a written name is from a known one, and whether that is
// near enough to ask: as many edits as a quarter of the letters, at most three.
// (Design of this project, no source.)
func away(written, known string) (edits int, near bool) {
	w, k := strings.ToLower(tidy(written)), strings.ToLower(known)
	if w == k {
		return 0, true
	}
	if abbreviates(w, k) {
		return 1, true
	}
	most := min(3, max(1, utf8.RuneCountInString(k)/4))
	if d := len(w) - len(k); d > 4*most || -d > 4*most { // not within most edits: a letter has at most four bytes
		return 0, false
	}
	edits = strict.Distance([]rune(w), []rune(k))
	return edits, edits <= most
}

// abbreviates says whether each word of a name begins the same word of another
// one, the last word whole or mistyped by one letter: "n. kaouthia", "naja
// kaou.".
func abbreviates(short, long string) bool {
	s, l := strings.Fields(short), strings.Fields(long)
	if len(s) == 1 && strings.Contains(short, ".") { // "n.kaouthia"
		s = strings.Fields(strings.ReplaceAll(short, ".", ". "))
	}
	if len(s) < 2 || len(s) != len(l) {
		return false
	}
	for i, word := range s {
		begins := strings.TrimSuffix(word, ".")
		whole := strict.Distance([]rune(begins), []rune(l[i])) <= 1
		if !whole && (begins == "" || !strings.HasPrefix(l[i], begins)) {
			return false
		}
	}
	return true
}
