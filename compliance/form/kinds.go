package form

// Kinds lists the kinds of rule, each in a file of its own, by name.
var Kinds = []Kind{authorised, clean, cover, current, experience, keep, limit, notice, order, permit, prohibit, recurring, signature, watch, wording}

var permit = Kind{Name: "permit",
	Says:     "The subject stands under a paper of a class: in force, with the right holder, for the place, the taxon and the number.",
	Subjects: []string{"animal", "site", "person", "permit"},
	Keys: []Key{
		{Name: "class", Type: Word, Need: true, Says: "The class of paper, as papers are recorded with."},
		{Name: "match", Type: Texts, Words: []string{"holder", "place", "taxon", "number"}, Otherwise: "all of them",
			Says: "What of the paper must fit: holder (the house, or whoever keeps the animal), place (it names the site), taxon (it lists the species), number (not more animals than it allows)."},
		{Name: "renewal", Type: Mapping, Otherwise: "no lead and no margin", Says: "When a renewal must be applied for.", Keys: []Key{
			{Name: "lead", Type: Span, Otherwise: "by the last day itself", Says: "How long before the last day, by the text."},
			{Name: "moves_to_working_day", Type: Flag, Otherwise: "false", Says: "Whether the text moves a day off a weekend or holiday; it moves earlier. The working days are those of the office that issued the paper."},
			{Name: "counts", Type: Choice, Words: []string{"receipt", "posting"}, Otherwise: "receipt", Says: "What must be in time: that the office has it, or that it was posted."},
			{Name: "margin_days", Type: Whole, Least: 0, Most: 365, Otherwise: "0", Says: "Calendar days that the house keeps beyond that."},
		}},
		{Name: "pending", Type: Mapping, Otherwise: "a renewal that is pending covers nothing", Says: "What an application in time is worth after the last day.", Keys: []Key{
			{Name: "means", Type: Choice, Need: true, Words: []string{"continues", "not-covered", "void"},
				Says: "continues: the old paper counts until the decision; not-covered: nothing says that it does; void: the text says that it does not."},
			{Name: "citation", Type: Text, Need: true, Says: "The text that says so: a text alone, without keys below it."},
		}},
		{Name: "ends_with", Type: Texts, Words: []string{"death", "escape", "release", "move"}, Otherwise: "only with its date",
			Says: "With what of an animal that it names a paper ends too: the animal dies, escapes, is released, or is no longer where the paper says."},
		{Name: "requires", Type: Mappings, Says: "Other papers that must be there, all of them, for the same holder and place: insurance before the licence.", Keys: []Key{
			{Name: "class", Type: Word, Need: true, Says: "The class of the other paper, as papers are recorded with."},
			{Name: "at", Type: Choice, Words: []string{"filing", "throughout"}, Otherwise: "filing",
				Says: "filing: the authority takes no application without it, so that it is told of before the day to file; throughout: the paper is worth nothing on days without it."},
			{Name: "lead", Type: Span, Otherwise: "on the day of filing", Says: "At filing: for how long it must have been in force by then."},
			{Name: "citation", Type: Text, Otherwise: "not said; throughout needs it", Says: "The text that asks for it."},
		}, Needs: map[string]any{
			"if":   map[string]any{"properties": map[string]any{"at": map[string]any{"const": "throughout"}}, "required": []string{"at"}},
			"then": map[string]any{"required": []string{"class", "citation"}, "properties": map[string]any{"lead": false}},
		}},
	}}

var recurring = Kind{Name: "recurring",
	Says:     "Something is done at least every so often, a certificate has not run out, or something is done by a fixed date each year.",
	Subjects: []string{"site", "person", "place", "organisation"},
	Keys: []Key{
		{Name: "activity", Type: Word, Need: true, Says: "The word of the activity, as it is recorded."},
		{Name: "every", Type: Span, Otherwise: "no period", Says: "How long it is good for."},
		{Name: "certificate", Type: Flag, Otherwise: "false", Says: "Whether the last good day of the certificate itself counts too."},
		{Name: "habitual", Type: Flag, Otherwise: "false", Says: "Whether it may be assumed to go on when looking ahead at routine."},
		{Name: "moves_to_working_day", Type: Flag, Otherwise: "false", Says: "Whether the last day to act moves earlier to a working day."},
		{Name: "calendar", Type: Text, Otherwise: "weekends only", Says: "Whose working days: the name of a calendar such as US-FED."},
		{Name: "yearly", Type: Mapping, Otherwise: "not by a date", Says: "By a fixed date each year.", Keys: []Key{
			{Name: "month", Type: Whole, Need: true, Least: 1, Most: 12, Says: "The month."},
			{Name: "day", Type: Whole, Need: true, Least: 1, Most: 31, Says: "The day of the month."},
			{Name: "for_previous_year", Type: Flag, Otherwise: "false", Says: "Whether it is for the year before that of the date."},
		}},
	},
	Needs: map[string]any{"oneOf": []any{
		map[string]any{"required": []string{"yearly"}},
		map[string]any{"anyOf": []any{
			map[string]any{"required": []string{"every"}},
			map[string]any{"required": []string{"certificate"}, "properties": map[string]any{"certificate": map[string]any{"const": true}}},
		}},
	}},
}

var watch = Kind{Name: "watch",
	Says:     "The watch itself is alive: lists are confirmed, sweeps and jobs run, mail moves.",
	Subjects: []string{"feed", "organisation"},
	Keys: []Key{
		{Name: "what", Type: Choice, Need: true, Words: []string{"list", "sweep", "mail", "job"}, Says: "What is watched."},
		{Name: "job", Type: Choice, Words: []string{"confirm", "prune"}, Otherwise: "none; a job needs it", Says: "Which job."},
		{Name: "max_age", Type: Duration, Otherwise: "none, of a list; the others need it", Says: "How old the last time may be."},
	},
	Needs: map[string]any{
		"if":   map[string]any{"properties": map[string]any{"what": map[string]any{"const": "list"}}},
		"then": map[string]any{"properties": map[string]any{"job": false, "max_age": false}},
		"else": map[string]any{"required": []string{"max_age"}, "if": map[string]any{"properties": map[string]any{"what": map[string]any{"const": "job"}}},
			"then": map[string]any{"required": []string{"job"}}, "else": map[string]any{"properties": map[string]any{"job": false}}},
	},
}
