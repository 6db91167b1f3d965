package form

var wording = Kind{Name: "wording",
	Says:     "A label or a document carries certain fields, going by the latest reading of it that lists what it carries. Each rule asks for its own; the label that satisfies all carries the union.",
	Subjects: []string{"animal", "holding", "site", "place", "permit", "organisation"},
	Keys: []Key{
		{Name: "checked", Type: Word, Need: true, Says: "The activity by which somebody reads it, such as label.checked; its fields list what it carries."},
		{Name: "fields", Type: Texts, Need: true, Says: "What it must carry, in words such as scientific-name."},
		{Name: "every", Type: Span, Otherwise: "until the next reading", Says: "How long a reading is good for."},
	},
}
