package form

var clean = Kind{Name: "clean-record",
	Says:     "None of certain events happened to somebody within a time. That nothing happened is known only inside a confirmed list of activities.",
	Subjects: []string{"person", "organisation", "site"},
	Keys: []Key{
		{Name: "events", Type: Texts, Otherwise: "none; then failed is needed", Says: "Activities that spoil the record, such as conviction.wildlife, by the words they are recorded with."},
		{Name: "failed", Type: Texts, Otherwise: "none; then events are needed", Says: "Activities that spoil it where they were not passed, such as inspection.facility."},
		{Name: "within", Type: Span, Need: true, Says: "For how long an event counts, from its day on."},
		{Name: "anniversary", Type: Choice, Words: []string{"inside", "outside"}, Otherwise: "inside, the cautious side", Says: "Whether the anniversary itself still counts (inside) or is the first clean day (outside)."},
		{Name: "cleared", Type: Word, Otherwise: "only the list counts", Says: "The activity that says that there was nothing before it, such as check.background: it stands in for the time before the list begins, if it was done after that."},
	},
	Needs: map[string]any{"anyOf": []any{
		map[string]any{"required": []string{"events"}},
		map[string]any{"required": []string{"failed"}},
	}},
}
