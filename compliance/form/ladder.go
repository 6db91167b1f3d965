package form

import (
	"antidotary/compliance/ladder"
)

// Ladder lists the keys of a ladder.
var Ladder = []Key{
	{Name: "name", Type: Text, Need: true, Says: "What signatures call it, together with the pack's edition."},
	{Name: "title", Type: Text, Need: true, Says: "What it is, for people."},
	{Name: "citation", Type: Mapping, Otherwise: "no source", Says: "Where its figures come from.", Keys: []Key{
		{Name: "text", Type: Text, Need: true, Says: "The text, or: common practice, no source."},
		{Name: "certainty", Type: Choice, Need: true, Words: []string{"R", "R2", "D", "M"}, Says: "As in the citation of a rule: how well it was checked."},
	}},
	{Name: "sign_within_days", Type: Whole, Need: true, Least: 0, Most: 365, Says: "How many days after a session its mentor may sign for it. What is signed later does not count."},
	{Name: "hours_per_day", Type: Whole, Need: true, Least: 1, Most: 24, Says: "How many hours of one day count at most."},
	{Name: "handling_from", Type: Choice, Words: ladder.LevelNames(), Otherwise: "hook", Says: "The lowest task that keeps somebody current."},
	{Name: "harmless_at_once", Type: Whole, Least: 1, Most: 20, Otherwise: "1", Says: "How many trainees one mentor may watch at once where all animals are harmless. With venomous ones it is one."},
	{Name: "untimed", Type: Choice, Words: []string{"doubtful", "trusted"}, Otherwise: "doubtful", Says: "What two sessions of one person on one day are worth where their times are not recorded: doubtful, they may have been at once, and nobody can tell; trusted, they were not."},
	{Name: "review", Type: Span, Otherwise: "until something ends it", Says: "How long a grant lasts that names no end of its own."},
	{Name: "founding_review", Type: Span, Otherwise: "until something ends it", Says: "The same of founding grants, which rest on evidence of before."},
	{Name: "holding", Type: Texts, Words: roles(), Otherwise: "nobody must", Says: "The roles of which whoever signs must hold the stage himself."},
	{Name: "clear", Type: Texts, Words: roles(), Otherwise: "whoever records it", Says: "The roles that must sign for the end of a suspension, each another person."},
	{Name: "credit", Type: Mapping, Otherwise: "work done elsewhere does not count", Says: "What work done elsewhere is worth here.", Keys: []Key{
		{Name: "percent", Type: Whole, Need: true, Least: 0, Most: 100, Says: "How much of it counts at most."},
		{Name: "probation", Type: Whole, Least: 0, Most: 1000, Otherwise: "0", Says: "After how many clean repetitions under a mentor of this house it counts at all."},
	}},
	{Name: "opening", Type: Mapping, Need: true, Says: "What it takes to open an enclosure beside whoever handles.", Keys: []Key{
		{Name: "back_up", Type: Whole, Least: 0, Most: ladder.TopStage, Otherwise: "0", Says: "The lowest stage of the back-up."},
		{Name: "below", Type: Whole, Least: 0, Most: ladder.TopStage, Otherwise: "0", Says: "How far below the animal's stage the back-up may be, where below_from applies."},
		{Name: "below_from", Type: Whole, Least: 0, Most: ladder.TopStage, Otherwise: "0, which is never", Says: "From which stage of the animal on that is asked."},
		{Name: "alone_to", Type: Choice, Words: ladder.LevelNames(), Otherwise: "look", Says: "Up to which task nobody else is needed."},
		{Name: "third", Type: Texts, Words: ladder.LevelNames(), Otherwise: "none", Says: "The tasks that need a third person."},
		{Name: "third_from", Type: Whole, Least: 0, Most: ladder.TopStage, Otherwise: "0, which is never", Says: "From which stage of the animal on restraint and what is above it needs a third person too."},
		{Name: "one_person", Type: Flag, Otherwise: "false", Says: "A house of one person: nobody else is asked for. Only where law allows it, with somebody outside who is checked in with."},
		{Name: "never_refuse", Type: Texts, Words: ladder.LevelNames(), Otherwise: "none", Says: "The tasks that paperwork never blocks, such as looking and recapture."},
	}},
	{Name: "placing", Type: Mapping, Need: true, Says: "On which stage a species is: by the highest of its hazards, then by floors.", Keys: []Key{
		{Name: "harmless", Type: Whole, Need: true, Least: 0, Most: ladder.TopStage, Says: "The stage of harmless animals."},
		{Name: "by_score", Type: Mapping, Need: true, Keys: scores(), Says: "The stage for the highest hazard, scored 1 (lowest) to 5 (highest). A hazard that is not recorded may be any."},
		{Name: "floors", Type: Mappings, Says: "Lowest stages for what has an attribute.", Keys: []Key{
			{Name: "stage", Type: Whole, Need: true, Least: 0, Most: ladder.TopStage, Says: "The lowest stage."},
			{Name: "when", Type: Choice, Words: ladder.FloorWords, Otherwise: "names are given instead", Says: "The attribute."},
			{Name: "names", Type: Texts, Otherwise: "when is given instead", Says: "Species, genera or families."},
		}},
	}},
	{Name: "mentor", Type: Mapping, Otherwise: "nobody can be made a mentor but by founding", Says: "What it takes to teach.", Keys: []Key{
		{Name: "entry", Type: Conditions, Otherwise: "nothing but the signatures", Says: "What must be there, all of it."},
		signs,
		{Name: "review", Type: Span, Otherwise: "until something ends it", Says: "How long it lasts."},
	}},
	{Name: "stages", Type: Mappings, Need: true, Keys: stage, Says: "The stages, from 0 up without a gap. A stage says what somebody may be trained on; a sign-off of a species, what he may open."},
}

var signs = Key{Name: "signs", Type: Texts, Words: append([]string{ladder.ByMentor}, roles()...), Otherwise: "nobody must",
	Says: "Who must sign, each another person: roles, and mentor for whoever taught."}

var stage = []Key{
	{Name: "stage", Type: Whole, Need: true, Least: 0, Most: ladder.TopStage, Says: "Its number."},
	{Name: "name", Type: Text, Need: true, Says: "What it is called."},
	{Name: "entry", Type: Conditions, Otherwise: "nothing but the stage below and the signatures", Says: "What must be there to be granted it, all of it, beside the stage below."},
	signs,
	{Name: "sign_off", Type: Mapping, Otherwise: "species of the stage need none", Says: "What it takes to be signed off for a species of the stage.", Keys: []Key{
		{Name: "task", Type: Choice, Words: ladder.LevelNames(), Otherwise: "recapture, the highest", Says: "The highest task that a sign-off may allow."},
		{Name: "entry", Type: Conditions, Otherwise: "nothing but the stage and the signatures", Says: "What must be there, all of it. same is about the species that is signed off."},
		signs,
	}},
	{Name: "currency", Type: Mapping, Otherwise: "nothing lapses", Says: "What keeps it.", Keys: []Key{
		{Name: "handled", Type: Span, Otherwise: "no matter when", Says: "Within what time one must have handled on the stage."},
		{Name: "species", Type: Span, Otherwise: "no matter when", Says: "Within what time one must have handled a species to open it."},
		{Name: "higher_counts", Type: Flag, Otherwise: "false", Says: "Whether handling on a higher stage counts as well; a lower one never does."},
		{Name: "refresher", Type: Whole, Least: 1, Most: 100, Otherwise: "1", Says: "How many clean repetitions under a mentor end a lapse."},
		{Name: "set_back_after", Type: Span, Otherwise: "never", Says: "After how long a lapse the stage is lost, and the one below is left."},
		{Name: "in_force", Type: Texts, Otherwise: "none", Says: "Certificates without which nobody opens on this stage, by the word of the activity that gave them."},
		{Name: "lately", Type: Mappings, Says: "What must have been done lately to open on this stage.", Keys: []Key{
			{Name: "what", Type: Word, Need: true, Says: "The word of the activity, as it is recorded of the person."},
			{Name: "within", Type: Span, Need: true, Says: "How long it is good for."},
		}},
	}},
}

func scores() (keys []Key) {
	for _, name := range []string{"lowest", "low", "middle", "high", "highest"} {
		keys = append(keys, Key{Name: name, Type: Whole, Need: true, Least: 0, Most: ladder.TopStage, Says: "The stage for this score."})
	}
	return keys
}
