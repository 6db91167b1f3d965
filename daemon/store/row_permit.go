package store

import (
	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

type authorityRow struct {
	bun.BaseModel `bun:"table:authority"`
	ID            key    `bun:"id,pk"`
	Name          string `bun:"name"`
	Zone          string `bun:"zone"`
	Calendar      string `bun:"calendar"`
	PostDays      int    `bun:"post_days"`
}

func rowOfAuthority(a compliance.Authority) authorityRow {
	return authorityRow{ID: key(a.ID), Name: a.Title, Zone: a.Zone, Calendar: a.Calendar, PostDays: a.PostDays}
}

func (r *authorityRow) record() compliance.Authority {
	return compliance.Authority{ID: inventory.ID(r.ID), Title: r.Name, Zone: r.Zone, Calendar: r.Calendar, PostDays: r.PostDays}
}

type permitRow struct {
	bun.BaseModel `bun:"table:permit"`
	ID            key                          `bun:"id,pk"`
	Number        string                       `bun:"number"`
	Class         string                       `bun:"class"`
	Authority     key                          `bun:"authority"`
	Holder        refText                      `bun:"holder,type:text"`
	Sites         list[inventory.ID]           `bun:"sites,type:text"`
	AnyPlace      bool                         `bun:"any_place"`
	Animals       list[inventory.ID]           `bun:"animals,type:text"`
	Grants        list[compliance.Grant]       `bun:"grants,type:text"`
	Issued        day.Day                      `bun:"issued,type:text"`
	From          day.Day                      `bun:"valid_from,type:text"`
	Expires       day.End                      `bun:"expires,type:text"`
	Renewable     int                          `bun:"renewable"`
	Renews        key                          `bun:"renews"`
	Applications  list[compliance.Application] `bun:"applications,type:text"`
	Suspensions   list[compliance.Suspension]  `bun:"suspensions,type:text"`
	Revoked       day.Day                      `bun:"revoked,type:text"`
	Surrendered   day.Day                      `bun:"surrendered,type:text"`
}

func rowOfPermit(p compliance.Permit) permitRow {
	return permitRow{ID: key(p.ID), Number: p.Number, Class: p.Class, Authority: key(p.Authority), Holder: refText{p.Holder},
		Sites: ids(p.Sites), AnyPlace: p.AnyPlace, Animals: ids(p.Animals), Grants: list[compliance.Grant]{p.Grants},
		Issued: p.Issued, From: p.From, Expires: p.Expires, Renewable: int(p.Renewable), Renews: key(p.Renews),
		Applications: list[compliance.Application]{p.Applications}, Suspensions: list[compliance.Suspension]{p.Suspensions},
		Revoked: p.Revoked, Surrendered: p.Surrendered}
}

func (r *permitRow) record() compliance.Permit {
	return compliance.Permit{ID: inventory.ID(r.ID), Number: r.Number, Class: r.Class, Authority: inventory.ID(r.Authority), Holder: r.Holder.Ref,
		Sites: r.Sites.of, AnyPlace: r.AnyPlace, Animals: r.Animals.of, Grants: r.Grants.of,
		Issued: r.Issued, From: r.From, Expires: r.Expires, Renewable: inventory.Tri(r.Renewable), Renews: inventory.ID(r.Renews),
		Applications: r.Applications.of, Suspensions: r.Suspensions.of, Revoked: r.Revoked, Surrendered: r.Surrendered}
}
