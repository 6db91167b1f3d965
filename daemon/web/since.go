package web

import (
	"time"

	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Since is what changed since the start of yesterday.
type Since struct {
	From    time.Time // the start of yesterday
	Zone    string    // by whose clock
	Parts   []Changed
	Notices int // reminders that went into mails
	People  int // whom they are for
	Records []Recorded
	More    int       // actors that are not shown
	Began   time.Time // end of the first sweep ever; zero: not known
}

// Changed is findings that changed in one way.
type Changed struct {
	Title, Empty string
	Count        int // all of them
	Lines        []Line
	More         int // findings that are in no line here
}

// Line is findings of which the same can be said.
type Line struct {
	Names     []Name
	MoreNames int
	Says      string
}

// Recorded is what one actor did to records.
type Recorded struct {
	Who, What string
	Entries   int // of the journal
}

// All says that the watch itself is no older.
func (s *Since) All() bool { return !s.Began.Before(s.From) }

// Day gives the day whose start it is.
func (s *Since) Day() string {
	zone, err := time.LoadLocation(s.Zone)
	if err != nil {
		return s.From.UTC().Format(time.RFC3339)
	}
	return words.Day(day.In(s.From, zone))
}
