package form

import "antidotary/compliance/ladder"

// Condition lists the keys of a condition, of which each has one. all and any
// hold other conditions.
var Condition = append([]Key{
	{Name: "all", Type: Conditions, Otherwise: anotherKey, Says: "Every one of these."},
	{Name: "any", Type: Conditions, Otherwise: anotherKey, Says: "At least one of these."},
	{Name: "held", Type: Mapping, Otherwise: anotherKey, Says: "A stage was held without a break.", Keys: []Key{
		{Name: "stage", Type: Whole, Need: true, Least: 0, Most: ladder.TopStage, Says: "This stage or a higher one."},
		{Name: "for", Type: Span, Otherwise: "held at all", Says: "For how long."},
	}},
	{Name: "age", Type: Mapping, Otherwise: anotherKey, Says: "An age in whole years.", Keys: []Key{
		{Name: "at_least", Type: Whole, Need: true, Least: 1, Most: 120, Says: "Years."},
	}},
	{Name: "in_force", Type: Mapping, Otherwise: anotherKey, Says: "A certificate is good on the day.", Keys: []Key{
		{Name: "what", Type: Word, Need: true, Says: "The word of the activity that gave it."},
	}},
	{Name: "did", Type: Mapping, Otherwise: anotherKey, Says: "Something was done, and passed.", Keys: []Key{
		{Name: "what", Type: Word, Need: true, Says: "The word of the activity, as it is recorded of the person."},
		{Name: "at_least", Type: Whole, Least: 1, Most: 10000, Otherwise: "1", Says: "How often."},
		within,
	}},
	{Name: "none", Type: Mapping, Otherwise: anotherKey, Says: "None of some events happened. That is known only inside a confirmed list of activities; the anniversary itself still counts.", Keys: []Key{
		{Name: "of", Type: Texts, Need: true, Says: "The words of the activities."},
		within,
	}},
	{Name: "paper", Type: Mapping, Otherwise: anotherKey, Says: "A paper of a class is held, in force without a break.", Keys: []Key{
		{Name: "class", Type: Word, Need: true, Says: "The class of the paper."},
		{Name: "for", Type: Span, Otherwise: "held at all", Says: "For how long."},
	}},
}, counts()...)

const anotherKey = "another key says what is asked"

var within = Key{Name: "within", Type: Span, Otherwise: "ever", Says: "No longer ago than this."}

// counts are the conditions that count something over sessions.
func counts() (keys []Key) {
	for _, c := range []struct{ name, says string }{
		{"hours", "Hours, of each day no more than the ladder says."},
		{"repetitions", "Repetitions of any result."},
		{"clean", "Clean repetitions."},
		{"clean_run", "The newest repetitions in a row that were all clean; what went wrong in any session ends the run."},
		{"days", "Different days."},
		{"sessions", "Sessions."},
		{"individuals", "Different animals."},
		{"species", "Different species."},
		{"mentors", "Different mentors."},
	} {
		keys = append(keys, Key{Name: c.name, Type: Mapping, Otherwise: anotherKey, Says: c.says, Keys: append([]Key{
			{Name: "at_least", Type: Whole, Need: true, Least: 1, Most: 1_000_000, Says: "How many."}}, filter...)})
	}
	return append(keys, Key{Name: "span", Type: Mapping, Otherwise: anotherKey, Says: "Time since the first of the sessions.", Keys: append([]Key{
		{Name: "at_least", Type: Span, Need: true, Says: "How long."}}, filter...)})
}

// filter says which sessions count.
var filter = []Key{
	{Name: "same", Type: Choice, Words: []string{"species", "genus", "family"}, Otherwise: "any", Says: "Of the same species, genus or family as the one that is asked about."},
	{Name: "names", Type: Texts, Otherwise: "any", Says: "Of these species, genera or families."},
	{Name: "animals", Type: Choice, Words: []string{"harmless", "venomous"}, Otherwise: "any", Says: "With harmless animals alone, or with venomous ones."},
	{Name: "stage_from", Type: Whole, Least: 0, Most: ladder.TopStage, Otherwise: "any", Says: "With animals of this stage or above."},
	{Name: "stage_to", Type: Whole, Least: 0, Most: ladder.TopStage, Otherwise: "any", Says: "With animals of this stage or below."},
	{Name: "task_from", Type: Choice, Words: ladder.LevelNames(), Otherwise: "any", Says: "At this task or above."},
	{Name: "task_to", Type: Choice, Words: ladder.LevelNames(), Otherwise: "any", Says: "At this task or below."},
	{Name: "alone", Type: Flag, Otherwise: "false", Says: "Whether sessions count as well that nobody watched, of somebody who may open."},
	within,
}
