package form

import "slices"

// counted are the keys of a paper whose number alone is asked about: what it
// requires does not matter to that.
var counted = slices.DeleteFunc(slices.Clone(permit.Keys), func(k Key) bool { return k.Name == "requires" })

var limit = Kind{Name: "limit",
	Says:     "At most so many are held, with the arrivals and litters that are planned: at a site, of a species there, in a person's hands, in the house, or under a paper.",
	Subjects: []string{"site", "holding", "person", "organisation", "permit"},
	Keys: []Key{
		{Name: "most", Type: Whole, Least: 0, Most: 1<<31 - 1, Otherwise: "the number on the paper; the others need it", Says: "How many are allowed."},
		{Name: "count", Type: Choice, Words: []string{"animals", "species"}, Otherwise: "animals", Says: "What is counted: each animal, or each species once."},
		{Name: "of", Type: Text, Otherwise: "all of them", Says: "Which animals count: an expression over the attributes of a holding, such as family == \"Elapidae\"."},
		{Name: "without_antivenom", Type: Flag, Otherwise: "false", Says: "Whether only species count for which no antivenom exists."},
		{Name: "lead", Type: Span, Otherwise: "by the day before", Says: "How long it takes to have the limit raised: so long before it would be broken somebody must act."},
		{Name: "paper", Type: Mapping, Otherwise: "none; subject permit needs it", Keys: counted, Says: "Of papers alone: under which ones. The limit holds while such a paper is in force."},
		{Name: "number_on_paper", Type: Flag, Otherwise: "false", Says: "Of papers alone: whether the numbers are those that the paper itself sets. Use it in place of the number of a permit rule, to be told ahead."},
		{Name: "during", Type: Span, Otherwise: "as long as the paper", Says: "Of papers alone: for how long from the paper's first day the limit lasts."},
	},
	Needs: map[string]any{"oneOf": []any{
		map[string]any{"required": []string{"most"}},
		map[string]any{"required": []string{"number_on_paper"}, "properties": map[string]any{"number_on_paper": map[string]any{"const": true}}},
	}},
}
