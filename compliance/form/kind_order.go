package form

var order = Kind{Name: "order",
	Says:     "One thing is there before an animal arrives: antivenom in hand, a paper in force, or an inspection passed. Where both come on one day, which came first cannot be told.",
	Subjects: []string{"animal"},
	Keys: []Key{
		{Name: "before", Type: Choice, Need: true, Words: []string{"arrival"}, Says: "Before what it must be there."},
		{Name: "lead", Type: Span, Otherwise: "by the day before the arrival", Says: "How long it takes to have it: so long before somebody must act."},
		{Name: "antivenom", Type: Mapping, Otherwise: "not antivenom", Says: "Antivenom for the species, usable at the site. Vials are planning figures with a source.", Keys: []Key{
			{Name: "bases", Type: Texts, Need: true, Words: []string{"indicated", "immunogen", "paraspecific"}, Says: bases},
			{Name: "dose", Type: Choice, Words: []string{"full", "initial"}, Otherwise: "full", Says: "How much must be there: a full course, or an initial dose."},
		}},
		{Name: "paper", Type: Mapping, Otherwise: "not a paper", Keys: permit.Keys, Says: "A paper in force for the animal and the site."},
		{Name: "activity", Type: Mapping, Otherwise: "not an activity", Says: "An activity that was passed.", Keys: []Key{
			{Name: "what", Type: Word, Need: true, Says: "The word of the activity, as it is recorded."},
			{Name: "of", Type: Choice, Words: []string{"site", "enclosure"}, Otherwise: "site", Says: "Of what: the site, or the enclosure that the animal comes to."},
			{Name: "good_for", Type: Span, Otherwise: "for ever", Says: "How long it is good for."},
			{Name: "certificate", Type: Flag, Otherwise: "false", Says: "Whether the last good day of the certificate itself counts too."},
		}},
	},
	Needs: map[string]any{"oneOf": []any{
		map[string]any{"required": []string{"antivenom"}},
		map[string]any{"required": []string{"paper"}},
		map[string]any{"required": []string{"activity"}},
	}},
}
