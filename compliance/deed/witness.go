package deed

import (
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Watched is who did a deed that needs a witness, and who watched it.
type Watched struct {
	By          inventory.ID // person; zero: not recorded
	Witness     inventory.ID // person; zero: nobody
	Unwitnessed string       // why nobody watched
}

// check refuses a deed that nobody watched, unless one person runs the site by
// a decision of the house, or whoever records it says why. Nobody witnesses
// himself.
func (w Watched) check(s *compliance.Snapshot, site inventory.ID, on day.Day) error {
	var none inventory.ID
	switch {
	case w.Witness != none && w.Unwitnessed != "":
		return errors.New("it has a witness, and a reason why it has none: leave out one of them")
	case w.Witness != none && w.By == none:
		return errors.New("say by --by who did it: nobody witnesses himself")
	case w.Witness != none && w.Witness == w.By:
		return fmt.Errorf("%s did it and cannot witness it: name somebody else by --witness, or say by --unwitnessed why nobody watched",
			s.NameOf(inventory.Ref{Kind: inventory.KindPerson, ID: w.By}))
	case w.Witness != none || w.Unwitnessed != "" || worksAlone(s, site, on):
		return nil
	}
	return errors.New("it needs a witness: name one by --witness, or say by --unwitnessed why nobody watched; " +
		"where one person runs the site, record that once: antidotary decision made works-alone SITE")
}

// worksAlone says whether one person runs a site on a day, by a decision.
func worksAlone(s *compliance.Snapshot, site inventory.ID, on day.Day) bool {
	for d := range s.Decisions.All() {
		if d.Ruling == compliance.WorksAlone && d.Subject.ID == site && d.Line().At(on) {
			return true
		}
	}
	return false
}

// siteOf gives the site of a place; zero where it is not recorded.
func siteOf(s *compliance.Snapshot, place inventory.ID) (site inventory.ID) {
	if p, ok := s.Places.Get(place); ok {
		site = p.Site
	}
	return site
}
