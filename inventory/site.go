package inventory

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"antidotary/inventory/day"
)

// SiteUse says what a site is, which is what exemptions in law turn on.
type SiteUse string

// The uses of a site.
const (
	UseZoo      SiteUse = "zoo" // licensed, open to the public
	UsePrivate  SiteUse = "private"
	UseResearch SiteUse = "research"
	UseTrade    SiteUse = "trade"
)

// Stocking says whose antivenom a site relies on.
type Stocking string

// The ways of stocking. The empty one is unknown and reads as OwnStock: a site
// that may not hold antivenom itself has to say so.
const (
	OwnStock    Stocking = "own"          // it holds antivenom itself
	OutsideOnly Stocking = "outside-only" // it may not: all its cover comes by agreement
)

// Contact is somebody outside whom a site may have to call.
type Contact struct {
	Role  string `json:"role"` // poison centre, receiving hospital, ...
	Title string `json:"name"`
	Phone string `json:"phone,omitempty"`
}

// Site is one place of the organisation, under one law and one clock.
type Site struct {
	ID           ID     `json:"id"`
	Organisation ID     `json:"organisation"`
	Title        string `json:"name"`
	// Zone is the IANA time zone in which the site's days end.
	Zone string  `json:"zone"`
	Use  SiteUse `json:"use,omitempty"` // empty: unknown
	// Jurisdiction is the path of the law that the site stands under, from
	// the country down: "us/fl". Dated, because borders and premises move.
	Jurisdiction []Dated[string] `json:"jurisdiction,omitempty"`
	Contacts     []Contact       `json:"contacts,omitempty"`
	// Antivenom says, dated, whether the site holds antivenom itself.
	Antivenom []Dated[Stocking] `json:"antivenom,omitempty"`
}

// Ref points to the site.
func (s Site) Ref() Ref { return Ref{Kind: KindSite, ID: s.ID} }

// Name gives the site's name.
func (s Site) Name() string { return s.Title }

var jurisdictionPath = regexp.MustCompile(`^[a-z0-9-]+(/[a-z0-9-]+)*$`)

// CheckJurisdiction refuses a path that could never match a rule pack.
func CheckJurisdiction(field, path string) error {
	if jurisdictionPath.MatchString(path) {
		return nil
	}
	return &FieldError{Field: field, Problem: fmt.Sprintf(
		"%q is not allowed: write lower-case parts from the country down, such as us/fl", path)}
}

// Check says what is wrong with the record's own fields.
func (s Site) Check() error {
	if err := required("name", s.Title); err != nil {
		return err
	}
	if s.Organisation == (ID{}) {
		return &FieldError{Field: "organisation", Problem: "is not set: say whose site it is"}
	}
	if err := CheckZone("zone", s.Zone); err != nil {
		return err
	}
	for _, j := range s.Jurisdiction {
		if j.Value == "" { // from then on unknown
			continue
		}
		if err := CheckJurisdiction("jurisdiction", j.Value); err != nil {
			return err
		}
	}
	for _, a := range s.Antivenom {
		if err := oneOf("antivenom", a.Value, "", OwnStock, OutsideOnly); err != nil {
			return err
		}
	}
	return oneOf("use", s.Use, "", UseZoo, UsePrivate, UseResearch, UseTrade)
}

// OutsideOnly gives the days on which the site may not hold antivenom itself,
// so that all its cover comes by agreement.
func (s Site) OutsideOnly() day.Line[bool] {
	return day.Map(LineOf("", s.Antivenom), func(how Stocking) bool { return how == OutsideOnly })
}

// CheckZone refuses a name that is not an IANA time zone. "Local" and the
// empty name are refused too: they mean another zone on another machine.
func CheckZone(field, zone string) error {
	if zone == "" || zone == "Local" {
		return &FieldError{Field: field, Problem: "is not set: write an IANA time zone such as Europe/London"}
	}
	if _, err := time.LoadLocation(zone); err != nil {
		return &FieldError{Field: field, Problem: fmt.Sprintf("%q is not an IANA time zone such as Europe/London", zone)}
	}
	return nil
}

// Within says whether a jurisdiction path lies in an area: "us/fl" lies in
// "us" and in "us/fl", not in "us/f". The empty area holds every path.
func Within(path, area string) bool {
	return area == "" || path == area || strings.HasPrefix(path, area+"/")
}
