package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"antidotary/inventory"
)

var (
	counted  = regexp.MustCompile(`^[0-9]{1,6}$`)
	estimate = regexp.MustCompile(`(?i)^(~|≈|about|approx|approximately|around|ca\b|c\.|circa|>|<|\+)|[?+~]$|^[0-9]+ ?(-|–|to|or) ?[0-9]+$`)
)

// parseCount reads a number of things that somebody counted.
func parseCount(text string) (int, string) {
	s := tidy(text)
	if counted.MatchString(s) {
		n, _ := strconv.Atoi(s) // at most six digits
		return n, ""
	}
	if estimate.MatchString(s) {
		return 0, fmt.Sprintf("%q is an estimate: a counted number is needed; leave the row out until somebody has counted", text)
	}
	return 0, fmt.Sprintf("%q is no count: a counted number is needed, in digits alone, such as 10", text)
}

// isUnknown says whether a cell that may be left blank says that nobody knows.
func isUnknown(text string) bool {
	return isDoubt(text) || slices.Contains([]string{"", "-", "–", "—", "n/a", "na"}, strings.ToLower(tidy(text)))
}

// isDoubt says whether a cell says in so many words that nobody knows, while a
// dash may only fill a blank.
func isDoubt(text string) bool {
	return slices.Contains([]string{"?", "??", "unknown", "not known", "unk"}, strings.ToLower(tidy(text)))
}

// spreadsheetError says whether a cell shows that its formula failed.
func spreadsheetError(text string) bool {
	return slices.Contains([]string{"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NULL!", "#NUM!", "#SPILL!", "#CALC!"}, strings.TrimSpace(text))
}

// parseTri reads yes, no or unknown, and the words that a list adds.
func parseTri(text string, yes, no []string) (inventory.Tri, string) {
	switch s := strings.ToLower(tidy(text)); {
	case slices.Contains(append(yes, "yes", "y", "true"), s):
		return inventory.Yes, ""
	case slices.Contains(append(no, "no", "n", "false"), s):
		return inventory.No, ""
	}
	allowed := slices.Concat([]string{"yes", "no"}, yes, no, []string{"or blank if it is unknown"})
	return inventory.Unknown, fmt.Sprintf("%q is not allowed; allowed: %s", text, strings.Join(allowed, ", "))
}

var (
	bredWords = []string{"cb", "captive bred", "bred in captivity"}
	wildWords = []string{"wc", "wild", "wild caught"}
)

var departures = map[string]inventory.Departure{
	"death": inventory.Died, "died": inventory.Died, "dead": inventory.Died,
	"transfer": inventory.Transferred, "transferred": inventory.Transferred,
	"loan": inventory.Lent, "on loan": inventory.Lent,
	"escape": inventory.Escaped, "escaped": inventory.Escaped,
	"release": inventory.Released, "released": inventory.Released,
}

func parseDeparture(text string) (inventory.Departure, string) {
	if how, ok := departures[strings.ToLower(tidy(text))]; ok {
		return how, ""
	}
	return "", fmt.Sprintf("%q is not allowed; allowed: death, transfer, loan, escape, release", text)
}

// split parts a cell that holds a list.
func split(text string) (items []string) {
	for item := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ';' || r == '\n' }) {
		if item = tidy(item); item != "" {
			items = append(items, item)
		}
	}
	return items
}
