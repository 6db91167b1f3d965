package founding

import (
	"fmt"
	"net/mail"
	"slices"
	"strconv"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/message"
)

// Answers is what is known of a house that begins.
type Answers struct {
	House   string
	Sites   []Site
	Victims int
	People  map[compliance.Role]Person // a role that nobody is named for is the head's
	Until   int                        // days for which the sites are not watched yet
	Mail    Mail
}

// Site is one place of the house.
type Site struct {
	Name, Zone string
	Use        inventory.SiteUse // empty: unknown
	Law        string            // jurisdiction path; empty: unknown
}

// Person is somebody with or without an address.
type Person struct{ Name, Email string }

// Mail is how mail leaves the house; no host: not at all.
type Mail struct {
	Host, Security, Username, From string
	Port                           int
}

// roles are those that somebody inside the house must hold, in the order of
// asking.
var roles = []compliance.Role{compliance.Head, compliance.Administrator, compliance.Curator, compliance.LeadKeeper, compliance.SafetyOfficer, compliance.Operations}

// ParsePerson reads NAME or NAME <ADDRESS>.
func ParsePerson(text string) (Person, error) {
	text = strings.TrimSpace(text)
	if !strings.ContainsAny(text, "<@") {
		return Person{Name: text}, nil
	}
	a, err := mail.ParseAddress(text)
	if err == nil {
		err = message.CheckAddress(a.Address)
	}
	if err != nil || a.Name == "" {
		return Person{}, fmt.Errorf("%q is not NAME or NAME <ADDRESS>, such as Ada Fern <ada@house.example>", text)
	}
	return Person{a.Name, a.Address}, nil
}

// zoned checks a site's zone.
func zoned(zone string) error { return plain(inventory.CheckZone("zone", zone)) }

// law checks a jurisdiction path; none is allowed.
func law(path string) error {
	if path == "" {
		return nil
	}
	return plain(inventory.CheckJurisdiction("law", path))
}

// plain takes the name of the field off: the question has named it.
func plain(err error) error {
	if err == nil {
		return nil
	}
	_, problem, _ := strings.Cut(err.Error(), ": ")
	if problem == "" {
		problem = err.Error()
	}
	return fmt.Errorf("%s", problem)
}

func whole(text string, least, most int) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < least || n > most {
		return 0, fmt.Errorf("%q is not a number from %d to %d", text, least, most)
	}
	return n, nil
}

// Records gives the house as records, as of an instant. No list is kept yet:
// that a record is missing proves nothing until somebody says otherwise.
func (a *Answers) Records(now time.Time) []inventory.Record {
	house := inventory.Organisation{ID: inventory.NewID(), Title: a.House, Victims: a.Victims, Mailed: a.Mail.Host != ""}
	out := []inventory.Record{house}
	var sites []inventory.Site
	for _, s := range a.Sites {
		site := inventory.Site{ID: inventory.NewID(), Organisation: house.ID, Title: s.Name, Zone: s.Zone, Use: s.Use}
		if s.Law != "" {
			site.Jurisdiction = inventory.Always(s.Law)
		}
		sites, out = append(sites, site), append(out, site)
	}
	people := a.people(sites[0].ID)
	for _, p := range people {
		out = append(out, p)
	}
	for _, site := range sites {
		from := dayAt(site, now)
		out = append(out, compliance.NotWatched{ID: inventory.NewID(), Subject: site.Ref(), By: people[0].ID,
			Why: "the house has just begun, and not everything is recorded yet", From: from, Last: from.Add(a.Until)})
	}
	return out
}

// people gives the head first. Whoever is named for several roles is one
// person.
func (a *Answers) people(site inventory.ID) (out []compliance.Person) {
	at := func(p Person) int {
		i := slices.IndexFunc(out, func(x compliance.Person) bool { return x.Called == p.Name })
		if i < 0 {
			out = append(out, compliance.Person{ID: inventory.NewID(), Called: p.Name, Email: p.Email, Site: site})
			i = len(out) - 1
		}
		if out[i].Email == "" {
			out[i].Email = p.Email
		}
		return i
	}
	for _, role := range append(slices.Clone(roles), compliance.SecondContact) {
		p, named := a.People[role]
		if !named && role == compliance.SecondContact {
			continue
		}
		if !named {
			p = a.People[compliance.Head]
		}
		i := at(p)
		out[i].Offices = append(out[i].Offices, compliance.Office{Role: role})
	}
	return out
}

func dayAt(s inventory.Site, now time.Time) day.Day {
	zone, err := time.LoadLocation(s.Zone)
	if err != nil { // checked when it was answered
		zone = time.UTC
	}
	return day.In(now, zone)
}

// Head gives the name of who heads the collection.
func (a *Answers) Head() string { return a.People[compliance.Head].Name }
