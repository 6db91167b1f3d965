package words

import (
	"strings"

	"antidotary/compliance"
)

// reasons are sentences with {argument} in them.
var reasons = map[compliance.Code]string{
	"attribute-missing": "Not recorded: {attribute}. Whether the rule applies hangs on it.",

	"paper-days":          "Paper {paper}: first day {start}; last day {end}.",
	"paper-lead":          "The renewal of paper {paper} is due {lead} before {end}, that is by {legal}. Last day to hand it in at an open office: {handed}; to post it: {post}. With the margin of the house, act by {safe}.",
	"requires-filing":     "No application is taken without a paper of the class {class} in force. On {safe}, if nobody does anything: {lacks}.",
	"requires-lead":       "No application is taken unless a paper of the class {class} has been in force for {lead}: for one on {safe}, since {day}. On {safe}, if nobody does anything: {lacks}.",
	"requires-throughout": "The paper is worth nothing on days without a paper of the class {class} in force, by {citation}.",
	"requires-none":       "No paper of the class {class} is recorded for the same holder and place.",
	"paper-applied":       "A renewal of {paper} was posted: {posted}; received: {received}.",
	"paper-decided":       "The authority decided on {day}: {outcome}.",
	"paper-deficient":     "The authority said on {day} that the renewal is not sufficient; until that is mended it protects nothing.",
	"paper-suspended":     "The paper is suspended from {from}; lifted: {lifted}.",
	"paper-ended-with":    "Paper {paper} ended on {day} with what happened to an animal that it names: it died, left, or is not where the paper says.",
	"paper-perhaps-ended": "Paper {paper} may have ended on {day}: where an animal that it names was is not recorded, or the paper names no place.",
	"paper-not-for-this":  "None of the papers of the class asked for ({papers}) is for this holder, place and species.",
	"paper-doubtful":      "Whether paper {paper} is for this cannot be told: {lacks}.",
	"paper-number":        "The paper allows {max} of {taxon}; {held} are held.",
	"no-paper-of-class":   "No paper of the class asked for ({class}) is recorded for this.",
	"pending-continues":   "Only a renewal that was filed in time lets the old paper continue, by {citation}.",
	"pending-not-covered": "What a pending renewal is worth: nothing after the last day; the rule cites {citation}.",
	"pending-void":        "What a pending renewal is worth: nothing, the paper is void on expiry, by {citation}.",
	"holidays-unknown":    "{day} is provisional: the holidays of that year, or of that office, are not in the data.",
	"decided":             "Decided by {by} on {day}: {ruling}. Reason given: {why}. Consequence: {consequence}.",

	"activity-last":  "Last done: {activity} on {day}; passed: {passed}; last good day: {until}.",
	"activity-never": "There is no record of {activity}.",

	"limit-count":   "Counted: {held} {counted}; allowed: {allowed}; headroom: {headroom}.",
	"limit-paper":   "Counted under the paper: {held}; allowed of {taxon}: {allowed}; headroom: {headroom}.",
	"limit-doubt":   "Of these, {perhaps} may or may not count: {lacks}.",
	"limit-planned": "Planned and counted from its day on: {what} of {number} {species}, {day}.",
	"limit-breaks":  "The limit is or may be broken from {day} on, if nothing else changes.",
	"limit-during":  "The limit lasts {lasts}, beginning with the first day of paper {paper}: {start}.",

	"event":             "What happened: {activity}; when: {when}.",
	"notice-due":        "The rule leaves {within} to tell the authority; last in time: {when}.",
	"notice-given":      "Told by {activity}: {when}; it got through: {passed}.",
	"notice-none":       "There is no record of {activity} since.",
	"notice-of-another": "No such record is left for this event: each tells of one, the latest before it.",

	"order-no-arrival":      "It did not arrive under this rule: it was there when the rule began, or was born there.",
	"order-arrival":         "The day of arrival: {day}, at {site}. What must come first must be there on the day before.",
	"order-arrival-unknown": "When or where it arrived cannot be told: {lacks}.",
	"order-lead":            "To have what must come first takes {lead}.",
	"order-vials":           "{product}: {before} vials usable there on the day before, {then} on the day of arrival; a full course is planned with {full}, an initial dose with {initial}, says {source}. The clinician decides.",

	"exemption-none":         "The rule names no exemption.",
	"exemption-holds":        "The exemption of {citation} holds.",
	"exemption-not-for-this": "The exemption of {citation} is not for this animal, species and site.",
	"exemption-doubtful":     "Whether the exemption of {citation} is for this cannot be told.",
	"exemption-lacks":        "Not recorded: {attribute}. Whether the exemption is for this hangs on it.",
	"exemption-paper":        "The exemption of {citation} asks for a paper of the class {class}.",

	"record-spot":      "What happened: {activity} on {day}; passed: {passed}. It counts until {until}.",
	"record-no-spot":   "Nothing that must not have happened is recorded within {within}.",
	"record-too-short": "The list of activities begins on {day}; what was before may count until {until}.",

	"experience-part":   "{part}{of}: {have} of {need}; enough: {met}.",
	"hand-may":          "{person} may open it; last day: {until}.",
	"hand-may-not":      "{person} was signed off for it and may not open it now.",
	"hand-nobody":       "Nobody is signed off for it; {people} are asked for.",
	"lapsed":            "{species}: {refused}.",
	"lapses":            "{species}: last day {until}; then: {refused}.",
	"session-signature": "{species}, watched by {mentor}: {signed}.",

	"keep-ground": "Ground: {ground}, {when}. To be kept for {within} after it; last day: {until}.",
	"destroyed":   "Said to be destroyed: {activity} on {day}; that is so: {passed}.",

	"wording-asked":      "It must carry, by all rules together: {fields}.",
	"wording-read":       "Last read: {activity} on {day}; it carries {fields}; passed: {passed}.",
	"wording-lacks":      "Missing: {fields}.",
	"wording-not-listed": "Last read: {activity} on {day}; what it carries is not recorded; passed: {passed}.",
	"wording-moved":      "The animal was put into another enclosure on {day}.",

	"no-antivenom":     "No effective antivenom exists for {species}, says {source} ({certainty}).",
	"no-coverage-row":  "No row says which antivenom is for {species}; it is never inferred from the genus.",
	"coverage-refused": "{product} does not count, because the rule does not accept its ground: {basis}; source: {source}.",
	"course":           "{product}, taken to work because {basis}: {sure} vials usable here, at most {maybe}; a full course is planned with {full}, an initial dose with {initial}, says {source} ({certainty}). The clinician decides.",
	"sources-differ":   "The sources for {product} differ or add up: it is planned with the larger figures, {full} for a full course and {initial} for an initial dose.",
	"promised":         "Of lot {lot}, {vials} vials are promised to {to} (promise {number}): they are not counted.",
	"lent":             "Of lot {lot}, {vials} vials are lent to {to} (loan {number}), due back: {day}. They are not counted.",
	"unchecked":        "Of lot {lot}, {vials} vials arrived and nobody has looked at them: they are not counted on until somebody has.",
	"approval-missing": "Not recorded of {product}: whether it may be used here without a paper, or under which class of paper.",
	"approval-paper":   "{product} may be used here only under a paper of the class {class}; one is in force: {stands}.",
	"agreement":        "Agreement {number} with {partner}: {sure} vials counted on, at most {maybe}; minutes away: {minutes}.",
	"order-coming":     "Order {order} of {vials} vials is {stage}, expected: {day}. It counts for nothing until it is checked in.",
	"order-overdue":    "Order {order} of {vials} vials is {stage} and overdue, expected: {day}. Nothing counts on it.",
	"clash":            "Bitten at once: {victims}. As well as the antivenom can be given, {people} would be without a full course and {vials} vials would be missing.",
	"no-clash":         "Whoever else is bitten, {victims} victims in all, whoever this species bites can have a full course.",
	"no-clash-at-site": "Of all that have a full course for one victim, any {victims} who are bitten at once can have one.",
	"closing":          "The fewest vials with which all of them could be treated, whoever is bitten: {products}.",
	"course-of":        "{species}: a full course of {product} is planned with {full}, says {source}; usable here: {sure} vials, at most {maybe}. The clinician decides.",
	"left-to-one":      "Not among them, because even for one victim there is no full course for sure: {species}. Another rule asks for that.",
	"lot":              "Lot {lot}: {vials} vials here, {usable} of them usable; last good day: {end}.",

	"list-not-kept":     "Nobody keeps a list of {topic} for {site}, so that a missing record proves nothing.",
	"list-stale-since":  "The list of {topic} is out of date; last good day: {day}. The {keeper} has yet to confirm it.",
	"list-begins-later": "The list of {topic} is complete only from {day}.",
	"list-confirmed":    "The list of {topic} was last confirmed: {day}; last good day: {until}.",

	"sweep-at":   "Last sweep: {instant}; longest allowed: {limit}.",
	"job-at":     "The job {job} last ended well: {instant}; longest allowed: {limit}.",
	"mail-held":  "No mail leaves: {why}.",
	"mail-since": "Oldest mail not yet taken: {instant}; longest allowed: {limit}.",

	"pack-read":            "Pack {pack}, edition: {edition}; read on {day}; to be read again by {end}.",
	"pack-lacks":           "The pack does not say: {lacking}.",
	"preempts":             "Rule {rule} ({title}) says that it cancels rule {other} ({what}), by {citation} ({certainty}).",
	"lift-doubtful":        "Whether rule {rule} lifts this one cannot be told; it would by {exemption}, {citation} ({certainty}).",
	"jurisdiction-is":      "The site stands under the law of {jurisdiction}.",
	"jurisdiction-unknown": "Under which law the site stands is not recorded.",
	"enclosure-unknown":    "No enclosure is recorded for the animal.",
}

// Reason gives the sentence for a reason. Days among its arguments are
// written out, and words of the trade take the place of codes.
func Reason(r compliance.Reason) string {
	text, ok := reasons[r.Code]
	if !ok {
		return bare(r)
	}
	for _, a := range r.Args {
		text = strings.ReplaceAll(text, "{"+a.Name+"}", argument(a.Name, a.Value))
	}
	if i := strings.Index(text, "; last good day: {"); i >= 0 { // a yearly activity has no end of its own
		text = text[:i] + "."
	}
	return text
}

// bare tells a reason for which there are no words yet, as a newer version
// may make one: its facts, whatever they prove.
func bare(r compliance.Reason) string {
	text := "Fact without words: " + spaced(string(r.Code))
	for _, a := range r.Args {
		text += "; " + spaced(a.Name) + ": " + a.Value
	}
	return text + "."
}

// spaced puts spaces for the joints of a word.
func spaced(word string) string {
	return strings.NewReplacer("-", " ", "_", " ", ".", " ").Replace(word)
}
