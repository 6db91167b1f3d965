package compliance

import (
	"time"

	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// Snapshot is everything that the watch knows at one position of the
// journal. It is immutable; a Change makes another.
type Snapshot struct {
	inventory.Records
	People         inventory.Table[Person]
	Authorities    inventory.Table[Authority]
	Permits        inventory.Table[Permit]
	Activities     inventory.Table[Activity]
	Feeds          inventory.Table[Feed]
	NotWatched     inventory.Table[NotWatched]
	Decisions      inventory.Table[Decision]
	Sessions       inventory.Table[ladder.Session]
	Authorisations inventory.Table[ladder.Authorisation]
	Credits        inventory.Table[ladder.Credit]
	Placements     inventory.Table[ladder.Placement]
	Pulse          Pulse
}

// The jobs whose runs are watched.
const (
	JobConfirm = "confirm"
	JobPrune   = "prune"
)

// Ran gives when a job last ended well.
func (p *Pulse) Ran(job string) time.Time {
	if job == JobConfirm {
		return p.Confirmed
	}
	return p.Pruned
}

// Pulse is what is known of the watch itself. Zero instants mean never.
type Pulse struct {
	Swept       time.Time // end of the last sweep that was stored
	OldestMail  time.Time // when the oldest unsent mail was queued
	MailAccepts time.Time // when a mail server last took a mail
	MailHeld    string    // why no mail leaves until somebody releases it; empty: it does
	Since       time.Time // when the watch began
	Confirmed   time.Time // when the watch last proved that it is alive and whole
	Pruned      time.Time // when what need not be kept was last removed
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
