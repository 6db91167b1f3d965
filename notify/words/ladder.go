package words

import (
	"fmt"
	"strings"

	"antidotary/compliance/ladder"
)

var refusals = map[ladder.No]string{
	ladder.MayOpen:       "may open",
	ladder.NotHere:       "is not at work, or away",
	ladder.Suspended:     "is suspended",
	ladder.BelowStage:    "does not hold the stage",
	ladder.NotSignedOff:  "is not signed off for the species",
	ladder.SignOffEnded:  "the sign-off has run out",
	ladder.TaskAbove:     "is not signed off for this task",
	ladder.StageLapsed:   "has not handled on the stage for too long",
	ladder.SpeciesLapsed: "has not handled the species for too long",
	ladder.NotInForce:    "a certificate or a drill that the stage asks for is not in force",
}

// Refusal says why somebody may not open, with the person as its subject.
func Refusal(no ladder.No) string { return refusals[no] }

func refusalOf(code string) string {
	for no, text := range refusals {
		if no.String() == code {
			return text
		}
	}
	return code
}

var statuses = map[ladder.Status]string{
	ladder.NotJudged:        "not judged",
	ladder.Counts:           "counts",
	ladder.CountsAlone:      "counts as handling, nobody watched",
	ladder.Unsigned:         "not signed by the mentor",
	ladder.SignedLate:       "signed too late",
	ladder.MentorUnknown:    "who watched is not recorded",
	ladder.TraineeAway:      "the trainee was not at work",
	ladder.MentorAway:       "the mentor was not at work",
	ladder.TraineeSuspended: "the trainee was suspended",
	ladder.TraineeBelow:     "the trainee did not hold the stage of the animal",
	ladder.TraineeBusy:      "the trainee was in two sessions at once, or may have been",
	ladder.MentorBusy:       "the mentor was in two sessions at once, or may have been",
	ladder.MentorNotOne:     "the mentor could not teach this stage then",
	ladder.MentorBarred:     "the mentor could not open this species then",
	ladder.AloneNotOpen:     "nobody watched, and the person could not open it then",
}

// SessionStatus says what became of a session.
func SessionStatus(s ladder.Status) string { return statuses[s] }

var grants = map[ladder.Grant]string{
	ladder.NotAsked:         "not judged",
	ladder.Holds:            "holds",
	ladder.FoundingUnsigned: "nobody else has signed for it",
	ladder.NoSuchStage:      "the ladder has no such stage",
	ladder.PersonSuspended:  "the person was suspended then",
	ladder.StageNotHeld:     "the person did not hold the stage that it rests on",
	ladder.TaskTooHigh:      "the stage does not allow the task",
	ladder.MentorNotAble:    "whoever taught could not teach this stage then",
	ladder.SignerMissing:    "a signature is missing of somebody who could sign then",
	ladder.ConditionsUnmet:  "the conditions of the ladder were not met then",
}

// Granted says what became of an act.
func Granted(g ladder.Grant) string { return grants[g] }

var measures = map[string]string{
	"hours": "hours", "repetitions": "repetitions", "clean": "clean repetitions", "clean-run": "clean repetitions in a row", "days": "different days",
	"sessions": "sessions", "individuals": "different animals", "species": "different species", "mentors": "different mentors",
	"span": "days since the first", "held": "days with the stage", "age": "years of age", "in-force": "in force",
	"did": "times done", "none": "events that must not have been", "paper": "days with the paper",
}

// Measure says what a part of a condition counts.
func Measure(what string) string {
	if text, ok := measures[what]; ok {
		return text
	}
	return what
}

// Gap says what a condition's part needs and what there is of it.
func Gap(g ladder.Gap) string {
	var b strings.Builder
	switch g.What {
	case "in-force":
		if g.Met {
			return Activity(g.Of) + ": in force"
		}
		return Activity(g.Of) + ": not in force"
	case "held":
		fmt.Fprintf(&b, "stage %s held: %d of %d days", g.Of, g.Have, g.Need)
	case "age":
		if g.On.IsZero() {
			return fmt.Sprintf("%d years of age: the day of birth is not recorded", g.Need)
		}
		fmt.Fprintf(&b, "%d years of age", g.Need)
	case "did":
		fmt.Fprintf(&b, "%s: done %d of %d times", Activity(g.Of), g.Have, g.Need)
	case "paper":
		fmt.Fprintf(&b, "paper of the class %s: %d of %d days", g.Of, g.Have, g.Need)
	case "none":
		fmt.Fprintf(&b, "none of: %s", g.Of)
	default:
		fmt.Fprintf(&b, "%s: %d of %d", Measure(g.What), g.Have, g.Need)
		if g.Of != "" {
			fmt.Fprintf(&b, " (%s)", g.Of)
		}
	}
	if !g.Met && !g.On.IsZero() {
		fmt.Fprintf(&b, "; by time alone on %s", Day(g.On))
	}
	return b.String()
}
