package words

import (
	"strconv"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// argument gives an argument of a reason as people read it. What it is
// follows from its name, never from what it looks like: a lot may be numbered
// 2026-01-02 and is no day.
func argument(name, value string) string {
	if read, ok := readings[name]; ok {
		return read(value)
	}
	return value
}

// readings are the ways in which arguments are read, by name. An argument
// that has none is text already.
var readings = map[string]func(string) string{
	"day": dayOf, "start": dayOf, "legal": dayOf, "safe": dayOf, "handed": dayOf, "post": dayOf, "from": dayOf, "lifted": dayOf, "posted": dayOf, "received": dayOf,
	"end": endOf, "until": endOf,
	"instant": instantOf, "when": momentOf, "limit": durationOf,
	"full": vialsOf, "initial": vialsOf,
	"passed":      func(s string) string { return instead(s, "unknown", "not recorded") },
	"taxon":       func(s string) string { return instead(s, "", "animals of whatever kind") },
	"by":          func(s string) string { return strings.TrimPrefix(s, inventory.KindPerson.String()+" ") },
	"why":         clause,
	"consequence": clause,
	"citation":    clause,
	"source":      clause,
	"lacks":       func(s string) string { return State(compliance.Code(s)) },
	"keeper":      func(s string) string { return Role(compliance.Role(s)) },
	"ruling":      func(s string) string { return Ruling(compliance.Ruling(s)) },
	"basis":       func(s string) string { return Basis(inventory.Basis(s)) },
	"activity":    Activity,
	"part":        Measure,
	"refused":     refusalOf,
	"of":          func(s string) string { return within(s, " (", ")") },
	"attribute":   attribute,
}

func instead(s, of, other string) string {
	if s == of {
		return other
	}
	return s
}

// clause drops the full stop of what somebody wrote, for a sentence to go on.
func clause(s string) string { return strings.TrimRight(strings.TrimSpace(s), ".") }

func dayOf(s string) string {
	if d, err := day.Parse(s); err == nil {
		return Day(d)
	}
	return instead(s, "", "not recorded")
}

func endOf(s string) string {
	switch s {
	case "never":
		return "none, it does not end"
	case "unknown":
		return "not recorded"
	}
	return dayOf(s)
}

// instantForm is how judging writes an instant.
const instantForm = "2006-01-02 15:04 MST"

func instantOf(s string) string {
	t, err := time.Parse(instantForm, s)
	if err != nil {
		return s
	}
	return Moment(t)
}

// momentOf reads a day or an instant, whichever is known.
func momentOf(s string) string {
	if d := dayOf(s); d != s {
		return d
	}
	return instead(instantOf(s), "unknown", "not recorded")
}

// durationOf writes 26h0m0s as 26 hours.
func durationOf(s string) string {
	d, err := time.ParseDuration(s)
	switch {
	case err != nil:
		return s
	case d%(24*time.Hour) == 0:
		return Count(int(d/(24*time.Hour)), "day")
	case d%time.Hour == 0:
		return Count(int(d/time.Hour), "hour")
	default:
		return Count(int(d/time.Minute), "minute")
	}
}

func vialsOf(s string) string {
	n, err := strconv.Atoi(s)
	if err != nil {
		return "a number of vials that is not recorded"
	}
	return Count(n, "vial")
}

// attribute gives what an attribute of a scope means, in the words in which
// rules are told of it.
func attribute(name string) string {
	for kind := inventory.KindOrganisation; kind <= inventory.KindHolding; kind++ {
		for _, v := range compliance.ScopeVars(kind) {
			if v.Name == name {
				return v.Doc
			}
		}
	}
	return spaced(name)
}

var rulings = map[compliance.Ruling]string{
	compliance.WillNotRenew: "the paper is not renewed",
	compliance.RunDown:      "the antivenom is not reordered",
	compliance.HoldWithout:  "the species is held without antivenom",
	compliance.WorksAlone:   "one person works there alone",
}

// Ruling gives the words for what the house decided.
func Ruling(r compliance.Ruling) string {
	if words, ok := rulings[r]; ok {
		return words
	}
	return spaced(string(r))
}

var bases = map[inventory.Basis]string{
	inventory.Indicated:    "it is named on the label",
	inventory.Immunogen:    "its venom was used to make it",
	inventory.Paraspecific: "an effect beyond the label is published",
	inventory.Excluded:     "it is stated not to work",
}

// Basis gives the words for the ground on which a product is taken to work.
func Basis(b inventory.Basis) string {
	if words, ok := bases[b]; ok {
		return words
	}
	return "its ground is not recorded"
}

// Activity gives the words for a kind of activity: drill.escape is an escape
// drill, count.antivenom an antivenom count.
func Activity(what string) string {
	kind, of, ok := strings.Cut(what, ".")
	if !ok {
		return spaced(what)
	}
	return spaced(of) + " " + spaced(kind)
}

// within puts a text between two others; nothing stays nothing.
func within(s, before, after string) string {
	if s == "" {
		return ""
	}
	return before + s + after
}
