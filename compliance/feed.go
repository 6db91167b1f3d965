package compliance

import (
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Topic names a list that somebody keeps.
type Topic string

// The topics.
const (
	TopicAnimals    Topic = "animals"
	TopicPeople     Topic = "people"
	TopicPapers     Topic = "papers"
	TopicStock      Topic = "stock"
	TopicActivities Topic = "activities"
	TopicHandling   Topic = "handling" // sessions, and what lets people handle
)

// Topics lists every topic.
var Topics = []Topic{TopicAnimals, TopicPeople, TopicPapers, TopicStock, TopicActivities, TopicHandling}

// Feed says who keeps a list, since when it is complete and when somebody
// last confirmed that it still is. Only inside what a feed covers is the
// absence of a record a fact.
type Feed struct {
	ID       inventory.ID `json:"id"`
	Topic    Topic        `json:"topic"`
	Site     inventory.ID `json:"site,omitzero"` // zero: all sites
	Keeper   Role         `json:"keeper"`
	Complete day.Day      `json:"complete_from"` // nothing is missing since
	// Confirmed are the days on which somebody said that the list is
	// complete to that day, ascending.
	Confirmed []day.Day `json:"confirmed,omitempty"`
	MaxAge    int       `json:"max_age_days"` // days that a confirmation lasts
}

// Ref points to the feed.
func (f Feed) Ref() inventory.Ref { return inventory.Ref{Kind: inventory.KindFeed, ID: f.ID} }

// Name says which list it is.
func (f Feed) Name() string { return "list of " + string(f.Topic) }

// Check says what is wrong with the record's own fields.
func (f Feed) Check() error {
	if err := inventory.OneOf("topic", f.Topic, Topics...); err != nil {
		return err
	}
	if err := f.Keeper.Check("keeper"); err != nil {
		return err
	}
	if f.Complete.IsZero() {
		return &inventory.FieldError{Field: "complete_from", Problem: "is not set: write the day since which nothing is missing"}
	}
	if f.MaxAge < 1 {
		return &inventory.FieldError{Field: "max_age_days", Problem: "must be at least 1"}
	}
	if !slices.IsSorted(f.Confirmed) {
		return &inventory.FieldError{Field: "confirmed", Problem: "must be days in ascending order"}
	}
	return nil
}

// Freshness is what a feed says of one day.
type Freshness uint8

// Outside: the list proves nothing. Stale: nobody has confirmed it lately.
const (
	Outside Freshness = iota
	Stale
	Fresh
)

// FreshUntil gives the last day on which the list is fresh; unset where it
// was never confirmed.
func (f *Feed) FreshUntil() day.Day {
	if len(f.Confirmed) == 0 {
		return 0
	}
	return f.Confirmed[len(f.Confirmed)-1].Add(f.MaxAge)
}

// Freshness gives the line of the feed. A confirmation on C says that the
// list was complete up to C, so a gap before it heals; after the last one the
// list stays fresh for MaxAge days. Under routine, what is fresh today stays
// so.
func (f *Feed) Freshness(today day.Day, routine bool) day.Line[Freshness] {
	b := day.NewBuilder(Outside)
	last := f.FreshUntil()
	if last.IsZero() || last < f.Complete {
		b.Add(f.Complete, Stale)
		return b.Line()
	}
	b.Add(f.Complete, Fresh)
	if !routine || last < today {
		b.Add(last+1, Stale)
	}
	return b.Line()
}

// confirm is the step that keeps the list fresh.
func (f *Feed) confirm(window int) Step {
	until := f.FreshUntil()
	return Step{Do: ConfirmList, Instance: f.Ref(), By: until, Legal: until, Window: window, Owner: f.Keeper}
}
