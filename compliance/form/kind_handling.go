package form

import "antidotary/compliance/ladder"

var task = Key{Name: "task", Type: Choice, Words: ladder.LevelNames(), Otherwise: "hook", Says: "For what task."}

var authorised = Kind{Name: "authorised",
	Says:     "For each species held at a site there are so many people who may open its enclosure, by the ladder that counts there.",
	Subjects: []string{"holding"},
	Keys: []Key{
		{Name: "people", Type: Whole, Need: true, Least: 1, Most: 50, Says: "How many."},
		task,
	}}

var current = Kind{Name: "current",
	Says:     "What somebody was signed off for does not lapse unseen: he handles often enough, and renews what it rests on. What a person decided, a suspension or a set-back, is not told.",
	Subjects: []string{"person"},
	Keys:     []Key{task}}

var signature = Kind{Name: "signature",
	Says:     "The mentor of a session signs for it within the ladder's time. Mentor and trainee are told, beside the owner, before it runs out. A duty is the sessions of one trainee on one day.",
	Subjects: []string{"person"},
	Keys: []Key{
		{Name: "told_days", Type: Whole, Least: 0, Most: 365, Otherwise: "14", Says: "For how many days after the time to sign it is still told that it was missed."},
	}}

var experience = Kind{Name: "experience",
	Says:     "Somebody has the experience that is asked for, in the words of the ladder's conditions. Only sessions count that count by the ladder where he works: watched by a mentor who was able to, and signed.",
	Subjects: []string{"person"},
	Keys: []Key{
		{Name: "all", Type: Conditions, Need: true, Says: "What must be there, all of it."},
		{Name: "species", Type: Text, Otherwise: "none; conditions with same need it", Says: "The species that same is about, by its scientific name."},
	}}
