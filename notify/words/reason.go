package words

import (
	"strings"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// reasons are sentences with {argument} in them.
var reasons = map[compliance.Code]string{
	"attribute-missing": "Not recorded: {attribute}. Whether the rule applies hangs on it.",

	"paper-days":          "Paper {paper} is good from {start} to the end of {end}.",
	"paper-lead":          "The renewal is due {lead} before {end}, that is by {legal}; to meet that with office hours, post and margin, act by {safe}.",
	"paper-applied":       "A renewal of {paper} was posted: {posted}; received: {received}.",
	"paper-decided":       "The authority decided on {day}: {outcome}.",
	"paper-deficient":     "The authority said on {day} that the renewal is not sufficient; until that is mended it protects nothing.",
	"paper-suspended":     "The paper is suspended from {from}; lifted: {lifted}.",
	"paper-not-for-this":  "Paper {paper} is of the class asked for, but not for this holder, place or species.",
	"paper-doubtful":      "Whether paper {paper} is for this cannot be told: {lacks}.",
	"paper-number":        "The paper allows {max} of {taxon}; {held} are held.",
	"no-paper-of-class":   "No paper of the class asked for ({class}) is recorded for this.",
	"pending-continues":   "What a pending renewal is worth: the old paper continues, by {citation}.",
	"pending-not-covered": "What a pending renewal is worth: nothing after the last day; the rule cites {citation}.",
	"pending-void":        "What a pending renewal is worth: nothing, the paper is void on expiry, by {citation}.",
	"holidays-unknown":    "{day} is provisional: the holidays of that year, or of that office, are not in the data.",
	"decided":             "Decided by {by} on {day}: {ruling}, because {why}. Consequence: {consequence}.",

	"activity-last":  "Last done: {activity} on {day}; passed: {passed}; good to the end of {until}.",
	"activity-never": "There is no record of {activity}.",

	"no-antivenom":     "No effective antivenom exists for {species}, says {source} ({certainty}).",
	"no-coverage-row":  "No row says which antivenom is for {species}; it is never inferred from the genus.",
	"coverage-refused": "{product} does not count: {basis}, says {source}.",
	"course":           "{product} ({basis}): {sure} vials usable here, at most {maybe}; a full course is planned with {full}, an initial dose with {initial}, says {source} ({certainty}). The clinician decides.",
	"lot":              "Lot {lot}: {vials} vials here, {usable} of them usable, good to the end of {end}.",

	"list-not-kept":     "Nobody keeps a list of {topic} for {site}, so that a missing record proves nothing.",
	"list-stale-since":  "The list of {topic} was good to {day}; the {keeper} has not confirmed it since.",
	"list-begins-later": "The list of {topic} is complete only from {day}.",
	"list-confirmed":    "The list of {topic} was last confirmed: {day}; good to {until}.",

	"sweep-at":   "Last sweep: {instant}; longest allowed: {limit}.",
	"mail-since": "Oldest mail not yet taken: {instant}; longest allowed: {limit}.",

	"jurisdiction-is":      "The site stands under {jurisdiction}; no loaded law pack is checked for anything else.",
	"jurisdiction-unknown": "Under which law the site stands is not recorded.",
	"enclosure-unknown":    "No enclosure is recorded for the animal.",
}

// Reason gives the sentence for a reason. Days among its arguments are
// written out, and words of the trade take the place of codes.
func Reason(r compliance.Reason) string {
	text, ok := reasons[r.Code]
	if !ok {
		text = string(r.Code)
	}
	for _, a := range r.Args {
		text = strings.ReplaceAll(text, "{"+a.Name+"}", argument(a.Name, a.Value))
	}
	if i := strings.Index(text, "; good to the end of {"); i >= 0 { // a yearly activity has no end of its own
		text = text[:i] + "."
	}
	return text
}

func argument(name, value string) string {
	if d, err := day.Parse(value); err == nil {
		return Day(d)
	}
	switch name {
	case "lacks":
		return State(compliance.Code(value))
	case "keeper":
		return Role(compliance.Role(value))
	case "activity":
		return Activity(value)
	case "end", "until":
		switch value {
		case "never":
			return "no day at all"
		case "unknown":
			return "a day that is not recorded"
		}
	case "passed":
		if value == "unknown" {
			return "not recorded"
		}
	}
	return value
}

// Activity gives the words for a kind of activity: drill.escape is an escape
// drill, count.antivenom an antivenom count.
func Activity(what string) string {
	kind, of, ok := strings.Cut(what, ".")
	if !ok {
		return strings.ReplaceAll(what, "-", " ")
	}
	return strings.ReplaceAll(of, "-", " ") + " " + strings.ReplaceAll(kind, "-", " ")
}
