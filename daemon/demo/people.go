package demo

import (
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
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
)

func (b *builder) people() {
	for _, p := range []struct {
		name, site string
		roles      []compliance.Role
		everywhere bool
	}{
		{marlow, larkspur, []compliance.Role{compliance.Head}, true},
		{petra, larkspur, []compliance.Role{compliance.Administrator}, true},
		{odo, larkspur, []compliance.Role{compliance.Curator}, true},
		{sable, larkspur, []compliance.Role{compliance.LeadKeeper}, true},
		{juno, larkspur, []compliance.Role{compliance.Keeper}, false},
		{bram, larkspur, []compliance.Role{compliance.Keeper}, false},
		{tansy, wren, []compliance.Role{compliance.Keeper}, false},
		{caspar, wren, []compliance.Role{compliance.SafetyOfficer}, true},
		{willa, wren, []compliance.Role{compliance.Operations}, true},
	} {
		rec := compliance.Person{ID: personID(p.name), Called: p.name, Site: siteID(p.site), Joined: b.in(-1500),
			Email: strings.ToLower(strings.Fields(p.name)[0]) + "@larkspur.example"}
		for _, role := range p.roles {
			office := compliance.Office{Role: role, From: b.in(-1500)}
			if !p.everywhere {
				office.Site = siteID(p.site)
			}
			rec.Offices = append(rec.Offices, office)
		}
		put(b, rec)
	}
	for i, name := range []string{sable, juno, bram, tansy} {
		days := []int{420, 380, 27, 600}[i] // one runs out soon
		put(b, compliance.Activity{ID: id(inventory.KindActivity, "first aid "+name), What: "certificate.first-aid", Subject: personRef(name),
			On: b.in(-300), Passed: inventory.Yes, Until: b.until(days)})
	}
}
