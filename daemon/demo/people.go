package demo

import (
	"strings"

	"antidotary/compliance"
)

// Invented people, all of them.
const (
	marlow = "Marlow Quillfeather"
	petra  = "Petra Thistlewick"
	odo    = "Odo Fennimarsh"
	sable  = "Sable Rowanberry"
	juno   = "Juniper Valecrest"
	bram   = "Bram Hollowell-Gorse"
	tansy  = "Tansy Brookmoss"
	caspar = "Caspar Reedmace"
	willa  = "Willa Gorsebank"
	rook   = "Rook Ashenlea"
)

const domain = "@larkspur.example" // RFC 2606: reaches nobody

var staff = []struct {
	name, site string
	role       compliance.Role
	everywhere bool
}{
	{marlow, larkspur, compliance.Head, true},
	{petra, larkspur, compliance.Administrator, true},
	{odo, larkspur, compliance.Curator, true},
	{sable, larkspur, compliance.LeadKeeper, true},
	{juno, larkspur, compliance.Keeper, false},
	{bram, larkspur, compliance.Keeper, false},
	{tansy, wren, compliance.Keeper, false},
	{caspar, wren, compliance.SafetyOfficer, true},
	{willa, wren, compliance.Operations, true},
	{rook, wren, compliance.Trainee, false},
}

func (b *builder) people() {
	for _, p := range staff {
		office := compliance.Office{Role: p.role, From: b.in(-1500)}
		if !p.everywhere {
			office.Site = siteID(p.site)
		}
		offices := []compliance.Office{office}
		for _, site := range handlers[p.name] {
			offices = append(offices, compliance.Office{Role: p.role, Site: siteID(site), From: b.in(-1500)})
		}
		first, _, _ := strings.Cut(p.name, " ")
		put(b, compliance.Person{ID: personID(p.name), Called: p.name, Site: siteID(p.site), Joined: b.in(-1500), Born: b.in(-ages[p.name]),
			Email: strings.ToLower(first) + domain, Offices: offices})
	}
}
