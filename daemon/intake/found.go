package intake

import (
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
)

// found finds the house and the site that the settings name, or makes them
// where that was asked for.
func (p *planner) found() error {
	for o := range p.was.Organisations.All() {
		p.house = o.ID
		if p.House != "" && p.House != o.Title {
			return fmt.Errorf("--house: the database has the house %q, not %q: one database holds one house", o.Title, p.House)
		}
	}
	if p.house == (inventory.ID{}) {
		if p.House == "" {
			return fmt.Errorf("no house is recorded yet: give --house NAME, and --site NAME with --zone ZONE for where it is")
		}
		house := inventory.Organisation{ID: inventory.NewID(), Title: p.House, Victims: max(1, p.Victims)}
		if err := house.Check(); err != nil {
			return fmt.Errorf("--house: %w", err)
		}
		p.house, p.founded = house.ID, append(p.founded, house)
	}
	if p.Site == "" {
		if p.Zone != "" || p.Law != "" {
			return fmt.Errorf("--site NAME is needed beside --zone and --law: they are a site's")
		}
		return nil
	}
	for s := range p.was.Sites.All() {
		if s.Title == p.Site {
			p.home = s.ID
			return p.asRecorded(s)
		}
	}
	return p.newSite()
}

// asRecorded refuses flags that say of a recorded site what the records do
// not: an import does not move a site.
func (p *planner) asRecorded(s *inventory.Site) error {
	if p.Zone != "" && p.Zone != s.Zone {
		return fmt.Errorf("--zone: the site %q is recorded in %s, not %s", s.Title, s.Zone, p.Zone)
	}
	law := ""
	if n := len(s.Jurisdiction); n > 0 {
		law = s.Jurisdiction[n-1].Value
	}
	if p.Law != "" && p.Law != law {
		return fmt.Errorf("--law: the site %q is recorded under %q, not %q", s.Title, law, p.Law)
	}
	return nil
}

func (p *planner) newSite() error {
	if p.Zone == "" {
		var all []string
		for s := range p.was.Sites.All() {
			all = append(all, s.Title)
		}
		if close := near(p.Site, all); len(close) > 0 {
			return fmt.Errorf("--site: %q is not a recorded site; did you mean %q? To make a new one, add --zone ZONE", p.Site, close[0])
		}
		return fmt.Errorf("--site: %q is not a recorded site; to make it, add --zone with the IANA time zone in which its days end, such as Europe/London", p.Site)
	}
	site := inventory.Site{ID: inventory.NewID(), Organisation: p.house, Title: p.Site, Zone: p.Zone}
	if p.Law != "" {
		site.Jurisdiction = inventory.Always(p.Law)
	}
	if err := site.Check(); err != nil {
		return fmt.Errorf("make the site %q: %w", p.Site, err)
	}
	p.home, p.founded = site.ID, append(p.founded, site)
	return nil
}

// indexRecords makes the look-ups by what people write.
func (p *planner) indexRecords() {
	p.indexNames()
	p.accessions, p.refused, p.called = make(map[string]*inventory.Animal), make(map[string]bool), make(map[inventory.ID]string)
	p.unlisted = make(map[string]string)
	p.spellings()
	for a := range p.was.Animals.All() {
		p.accessions[a.Accession], p.called[a.ID] = a, a.Accession
	}
	p.permits = make(map[string]*compliance.Permit)
	for x := range p.was.Permits.All() {
		p.permits[x.Number] = x
	}
	p.lots = make(map[inventory.NaturalKey]*inventory.Lot)
	for l := range p.was.Lots.All() {
		p.lots[inventory.NaturalKey{Within: l.Product, Name: l.Number}] = l
	}
	p.enclosures = make(map[inventory.NaturalKey]inventory.Record)
	p.at, p.doors = make(map[inventory.ID]inventory.ID), make(map[inventory.ID]string)
	for e := range p.was.Enclosures.All() {
		p.enclosures[inventory.NaturalKey{Within: e.Site, Name: e.Code}] = *e
		p.at[e.ID], p.doors[e.ID] = e.Site, e.Code
	}
	p.indexSessions()
	p.places = make(map[inventory.NaturalKey]inventory.Record)
	for x := range p.was.Places.All() {
		p.places[inventory.NaturalKey{Within: x.Site, Name: x.Title}] = *x
	}
}

func (p *planner) indexNames() {
	p.species = newNames("species", "record it first, or have species made with --new-species, everything else about them unknown")
	for s := range p.was.Species.All() {
		p.species.add(s.ID, append([]string{s.Accepted}, s.Synonyms...)...)
	}
	p.products = newNames("product", "record it first, or have products made with --new-products")
	for x := range p.was.Products.All() {
		p.products.add(x.ID, x.Type)
	}
	p.sites = newNames("site", "record it first; the one of --site is made if --zone is given")
	for s := range p.was.Sites.All() {
		p.sites.add(s.ID, s.Title)
	}
	p.authorities = newNames("authority", "record it first, or have authorities made with --new-authorities ZONE")
	for a := range p.was.Authorities.All() {
		p.authorities.add(a.ID, a.Title)
	}
	p.holders = newNames("house or person", "write the house's name or a recorded person's; blank if it is unknown")
	p.people = newNames("person", "record the person first: antidotary person joined NAME")
	for o := range p.was.Organisations.All() {
		p.holders.add(o.ID, o.Title)
	}
	for x := range p.was.People.All() {
		p.holders.add(x.ID, x.Called)
		p.people.add(x.ID, x.Called)
	}
	for _, rec := range p.founded {
		switch r := rec.(type) {
		case inventory.Organisation:
			p.holders.add(r.ID, r.Title)
		case inventory.Site:
			p.sites.add(r.ID, r.Title)
		}
	}
	p.makers()
}

// makers say how new records are made of a name alone. Whatever else there is
// to know about them stays unknown.
func (p *planner) makers() {
	if p.NewSpecies {
		p.species.make = func(name string) (inventory.Record, error) {
			s := inventory.Species{ID: inventory.NewID(), Accepted: name}
			return s, s.Check()
		}
	}
	if p.NewProducts {
		p.products.make = func(name string) (inventory.Record, error) {
			x := inventory.Product{ID: inventory.NewID(), Type: name}
			return x, x.Check()
		}
	}
	if p.NewAuthorities != "" {
		p.authorities.make = func(name string) (inventory.Record, error) {
			a := compliance.Authority{ID: inventory.NewID(), Title: name, Zone: p.NewAuthorities}
			return a, a.Check()
		}
	}
}

// assume says what was taken for granted, so that nobody has to find out.
func (p *planner) assume() {
	say := func(n int, format string, args ...any) {
		if n > 0 {
			p.plan.Assumed = append(p.plan.Assumed, fmt.Sprintf(format, args...))
		}
	}
	unplaced, uncounted := 0, 0
	for _, e := range p.plan.Entries {
		if e.unplaced && e.change != nil {
			unplaced++
		}
		if e.uncounted && e.change != nil {
			uncounted++
		}
	}
	p.absent(say)
	p.unaskedFor(say)
	say(unplaced, "%d animals have a site but no enclosure: each is in an enclosure called %q.", unplaced, noEnclosure)
	say(uncounted, "%d rows of vials name no day of a count: they count as counted on the day of the import.", uncounted)
	for _, rec := range p.founded {
		if o, ok := rec.(inventory.Organisation); ok {
			say(1, "The house plans for %d bitten at once; --victims says otherwise.", o.Victims)
		}
	}
}
