package form

var keep = Kind{Name: "keep",
	Says:     "The record of a paper, an animal or a lot is kept until the last day that any of the grounds gives; every day until then is in order while nothing says that it was destroyed.",
	Subjects: []string{"permit", "animal", "lot"},
	Keys: []Key{
		{Name: "grounds", Type: Mappings, Need: true, Says: "What it is kept after, and for how long; the latest day counts.", Keys: []Key{
			{Name: "after", Type: Choice, Need: true, Words: []string{"expiry", "activity", "departure", "paper", "emptied"},
				Says: "expiry: the last day of the paper or lot itself; departure: of the animal; paper: the last day of every paper of a class that was for the animal; emptied: the day on which the last vial went; activity: each one of that word about the subject, such as a sale."},
			{Name: "for", Type: Span, Need: true, Says: "How long after that day."},
			{Name: "class", Type: Word, Otherwise: "none; after: paper needs it", Says: "The class of paper."},
			{Name: "activity", Type: Word, Otherwise: "none; after: activity needs it", Says: "The word of the activity."},
		}},
		{Name: "destroyed", Type: Word, Need: true, Says: "The activity that says that the record was destroyed or erased, such as record.destroyed."},
	},
}
