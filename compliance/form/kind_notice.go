package form

import "antidotary/compliance"

var notice = Kind{Name: "notice",
	Says:     "An authority is told of an event within a time: each event is a duty of its own, from its day on. Once somebody told, also late, it is in order: antidotary explain shows the last day and when it was told. Where only the day of an event is known, hours count from its first minute: 24 hours end with that day, and on the next it cannot be told.",
	Subjects: []string{"animal", "site", "person", "place", "permit", "organisation"},
	Keys: []Key{
		{Name: "events", Type: Texts, Otherwise: "none; then animal_events are needed", Says: "Activities about the subject that are events, such as event.bite, by the words they are recorded with."},
		{Name: "animal_events", Type: Texts, Words: compliance.AnimalEvents, Otherwise: "none; then events are needed",
			Says: "Of animals alone: events that the animal's own record tells; a move is one to another site. An activity of the same day is the same event, and may tell the hour."},
		{Name: "told", Type: Word, Need: true, Says: "The activity about the same subject by which the authority is told, such as notice.escape. Each tells of one event."},
		{Name: "within", Type: Text, Need: true, Says: "The time for it: immediately; 8 hours, by the clock; 1 business day; or a span such as 10 days, in which the day of the event is not counted."},
		{Name: "moves_to_working_day", Type: Flag, Otherwise: "false", Says: "Of a span alone: whether the text moves a last day off a weekend or holiday; it moves later."},
		{Name: "calendar", Type: Text, Otherwise: "weekends only", Says: "Whose working days: the name of a calendar such as US-FED."},
		{Name: "zone", Type: Text, Otherwise: "the site's own", Says: "The time zone in which the authority's days end, such as America/New_York."},
		{Name: "forgotten_after", Type: Span, Otherwise: "never", Says: "How long after its day an event is asked about no more."},
	},
	Needs: map[string]any{"anyOf": []any{
		map[string]any{"required": []string{"events"}},
		map[string]any{"required": []string{"animal_events"}},
	}},
}
