package words

import (
	"fmt"
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

// Few lists the first names, and says how many more there are.
func Few(names []string, most int) string {
	if more := len(names) - most; more > 0 {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", more)
	}
	return strings.Join(names, ", ")
}
