package store

import (
	"github.com/uptrace/bun"

	"antidotary/inventory"
)

type organisationRow struct {
	bun.BaseModel `bun:"table:organisation"`
	ID            key    `bun:"id,pk"`
	Name          string `bun:"name"`
	Mailed        bool   `bun:"mailed"`
	Victims       int    `bun:"victims"`
}

func rowOfOrganisation(o inventory.Organisation) organisationRow {
	return organisationRow{ID: key(o.ID), Name: o.Title, Mailed: o.Mailed, Victims: o.Victims}
}

func (r *organisationRow) record() inventory.Organisation {
	return inventory.Organisation{ID: inventory.ID(r.ID), Title: r.Name, Mailed: r.Mailed, Victims: r.Victims}
}

type siteRow struct {
	bun.BaseModel `bun:"table:site"`
	ID            key                                       `bun:"id,pk"`
	Organisation  key                                       `bun:"organisation"`
	Name          string                                    `bun:"name"`
	Zone          string                                    `bun:"zone"`
	Use           string                                    `bun:"site_use"`
	Jurisdiction  list[inventory.Dated[string]]             `bun:"jurisdiction,type:text"`
	Contacts      list[inventory.Contact]                   `bun:"contacts,type:text"`
	Antivenom     list[inventory.Dated[inventory.Stocking]] `bun:"antivenom,type:text"`
}

func rowOfSite(s inventory.Site) siteRow {
	return siteRow{ID: key(s.ID), Organisation: key(s.Organisation), Name: s.Title, Zone: s.Zone, Use: string(s.Use),
		Jurisdiction: list[inventory.Dated[string]]{s.Jurisdiction}, Contacts: list[inventory.Contact]{s.Contacts},
		Antivenom: list[inventory.Dated[inventory.Stocking]]{s.Antivenom}}
}

func (r *siteRow) record() inventory.Site {
	return inventory.Site{ID: inventory.ID(r.ID), Organisation: inventory.ID(r.Organisation), Title: r.Name, Zone: r.Zone,
		Use: inventory.SiteUse(r.Use), Jurisdiction: r.Jurisdiction.of, Contacts: r.Contacts.of, Antivenom: r.Antivenom.of}
}

type enclosureRow struct {
	bun.BaseModel `bun:"table:enclosure"`
	ID            key    `bun:"id,pk"`
	Site          key    `bun:"site"`
	Code          string `bun:"code"`
	Room          string `bun:"room"`
	State         string `bun:"state"`
}

func rowOfEnclosure(e inventory.Enclosure) enclosureRow {
	return enclosureRow{ID: key(e.ID), Site: key(e.Site), Code: e.Code, Room: e.Room, State: string(e.State)}
}

func (r *enclosureRow) record() inventory.Enclosure {
	return inventory.Enclosure{ID: inventory.ID(r.ID), Site: inventory.ID(r.Site), Code: r.Code, Room: r.Room, State: inventory.EnclosureState(r.State)}
}

type placeRow struct {
	bun.BaseModel `bun:"table:place"`
	ID            key                   `bun:"id,pk"`
	Site          key                   `bun:"site"`
	Name          string                `bun:"name"`
	Min           int                   `bun:"min_mc"`
	Max           int                   `bun:"max_mc"`
	Reach         list[inventory.Reach] `bun:"reach,type:text"`
	Seals         list[inventory.Seal]  `bun:"seals,type:text"`
}

func rowOfPlace(p inventory.Place) placeRow {
	return placeRow{ID: key(p.ID), Site: key(p.Site), Name: p.Title, Min: p.Min, Max: p.Max, Reach: list[inventory.Reach]{p.Reach}, Seals: list[inventory.Seal]{p.Seals}}
}

func (r *placeRow) record() inventory.Place {
	return inventory.Place{ID: inventory.ID(r.ID), Site: inventory.ID(r.Site), Title: r.Name, Min: r.Min, Max: r.Max, Reach: r.Reach.of, Seals: r.Seals.of}
}
