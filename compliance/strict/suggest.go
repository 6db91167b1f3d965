package strict

// Closest gives the allowed word that was most likely meant, or "" when none
// is near: at most one edit for a short word, two for a longer one, three
// from nine letters on, and never as many as the word has letters.
func Closest(word string, allowed []string) string {
	const longest = 64 // beyond it nobody mistyped a key, and the table would grow
	w := []rune(word)
	if len(w) > longest {
		return ""
	}
	best, bestAt := "", 1+min(3, max(1, len(w)/3))
	for _, a := range allowed {
		if d := Distance(w, []rune(a)); d < bestAt && d < len(w) {
			best, bestAt = a, d
		}
	}
	return best
}

// Distance counts the insertions, deletions, substitutions and swaps of
// neighbours that turn a into b (optimal string alignment).
func Distance(a, b []rune) int {
	before, above, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range above {
		above[j] = j
	}
	for i := range a {
		row[0] = i + 1
		for j := range b {
			change := 1
			if a[i] == b[j] {
				change = 0
			}
			row[j+1] = min(above[j]+change, above[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, above, row = above, row, before
	}
	return above[len(b)]
}
