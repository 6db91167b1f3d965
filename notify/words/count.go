package words

import (
	"strconv"
	"strings"
)

// Count gives a number with its noun: "1 vial", "14 vials", "2 duties".
func Count(n int, noun string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(noun, "y") && !strings.HasSuffix(noun, "ay"):
		noun = strings.TrimSuffix(noun, "y") + "ies"
	default:
		noun += "s"
	}
	return strconv.Itoa(n) + " " + noun
}
