package compliance

import (
	"time"

	"antidotary/inventory"
)

// Snapshot is everything that the watch knows at one position of the
// journal. It is immutable; a Change makes another.
type Snapshot struct {
	inventory.Records
	People      inventory.Table[Person]
	Authorities inventory.Table[Authority]
	Permits     inventory.Table[Permit]
	Activities  inventory.Table[Activity]
	Feeds       inventory.Table[Feed]
	NotWatched  inventory.Table[NotWatched]
	Decisions   inventory.Table[Decision]
	Pulse       Pulse
}

// Pulse is what is known of the watch itself. Zero instants mean never.
type Pulse struct {
	Swept       time.Time // end of the last sweep that was stored
	OldestMail  time.Time // when the oldest unsent mail was queued
	MailAccepts time.Time // when a mail server last took a mail
	Since       time.Time // when the watch began
	// Ran says when each scheduled job last ended well, by its name.
	Ran map[string]time.Time
}

// Site finds a site, or a nameless one in UTC where the record is missing.
func (s *Snapshot) Site(id inventory.ID) *inventory.Site {
	if site, ok := s.Sites.Get(id); ok {
		return site
	}
	return &inventory.Site{ID: id, Title: "(site not recorded)", Zone: "UTC"}
}

func personRef(id inventory.ID) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPerson, ID: id}
}
