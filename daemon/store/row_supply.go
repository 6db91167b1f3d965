package store

import (
	"github.com/uptrace/bun"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

type supplyRow struct {
	bun.BaseModel `bun:"table:supply"`
	ID            key     `bun:"id,pk"`
	Product       key     `bun:"product"`
	Supplier      string  `bun:"supplier"`
	PackSize      int     `bun:"pack_size"`
	MinPacks      int     `bun:"min_packs"`
	PackPrice     int     `bun:"pack_price"`
	OrderFee      int     `bun:"order_fee"`
	Currency      string  `bun:"currency"`
	LeadDays      int     `bun:"lead_days"`
	Paper         string  `bun:"paper"`
	PaperDays     int     `bun:"paper_days"`
	CustomsDays   int     `bun:"customs_days"`
	CheckDays     int     `bun:"check_days"`
	Life          int     `bun:"life_days"`
	From          day.Day `bun:"offered_from,type:text"`
	Until         day.End `bun:"offered_until,type:text"`
	Source        string  `bun:"source"`
	Certainty     string  `bun:"certainty"`
}

func rowOfSupply(s inventory.Supply) supplyRow {
	return supplyRow{ID: key(s.ID), Product: key(s.Product), Supplier: s.Supplier, PackSize: s.PackSize, MinPacks: s.MinPacks, PackPrice: s.PackPrice,
		OrderFee: s.OrderFee, Currency: s.Currency, LeadDays: s.LeadDays, Paper: s.Paper, PaperDays: s.PaperDays, CustomsDays: s.CustomsDays,
		CheckDays: s.CheckDays, Life: s.Life, From: s.From, Until: s.Until, Source: s.Source, Certainty: string(s.Certainty)}
}

func (r *supplyRow) record() inventory.Supply {
	return inventory.Supply{ID: inventory.ID(r.ID), Product: inventory.ID(r.Product), Supplier: r.Supplier, PackSize: r.PackSize, MinPacks: r.MinPacks, PackPrice: r.PackPrice,
		OrderFee: r.OrderFee, Currency: r.Currency, LeadDays: r.LeadDays, Paper: r.Paper, PaperDays: r.PaperDays, CustomsDays: r.CustomsDays,
		CheckDays: r.CheckDays, Life: r.Life, From: r.From, Until: r.Until, Source: r.Source, Certainty: inventory.Certainty(r.Certainty)}
}

type orderRow struct {
	bun.BaseModel `bun:"table:vial_order"` // order is a word of SQL
	ID            key                      `bun:"id,pk"`
	Number        string                   `bun:"number"`
	Product       key                      `bun:"product"`
	Place         key                      `bun:"place"`
	Supply        key                      `bun:"supply"`
	From          string                   `bun:"ordered_from"`
	Vials         int                      `bun:"vials"`
	Expected      day.Day                  `bun:"expected,type:text"`
	Labelled      day.End                  `bun:"labelled,type:text"`
	Life          int                      `bun:"life_days"`
	Note          string                   `bun:"note"`
	Stages        list[inventory.Stage]    `bun:"stages,type:text"`
}

func rowOfOrder(o inventory.Order) orderRow {
	return orderRow{ID: key(o.ID), Number: o.Number, Product: key(o.Product), Place: key(o.Place), Supply: key(o.Supply), From: o.From, Vials: o.Vials,
		Expected: o.Expected, Labelled: o.Labelled, Life: o.Life, Note: o.Note, Stages: list[inventory.Stage]{o.Stages}}
}

func (r *orderRow) record() inventory.Order {
	return inventory.Order{ID: inventory.ID(r.ID), Number: r.Number, Product: inventory.ID(r.Product), Place: inventory.ID(r.Place), Supply: inventory.ID(r.Supply), From: r.From,
		Vials: r.Vials, Expected: r.Expected, Labelled: r.Labelled, Life: r.Life, Note: r.Note, Stages: r.Stages.of}
}

type agreementRow struct {
	bun.BaseModel `bun:"table:agreement"`
	ID            key                          `bun:"id,pk"`
	Number        string                       `bun:"number"`
	Partner       string                       `bun:"partner"`
	Site          key                          `bun:"site"`
	Product       key                          `bun:"product"`
	Minutes       int                          `bun:"minutes"`
	Access        string                       `bun:"access"`
	Signed        day.Day                      `bun:"signed,type:text"`
	Until         day.End                      `bun:"good_until,type:text"`
	Ended         day.Day                      `bun:"ended,type:text"`
	FreshDays     int                          `bun:"fresh_days"`
	Confirmations list[inventory.Confirmation] `bun:"confirmations,type:text"`
	Note          string                       `bun:"note"`
}

func rowOfAgreement(a inventory.Agreement) agreementRow {
	return agreementRow{ID: key(a.ID), Number: a.Number, Partner: a.Partner, Site: key(a.Site), Product: key(a.Product), Minutes: a.Minutes, Access: a.Access,
		Signed: a.Signed, Until: a.Until, Ended: a.Ended, FreshDays: a.FreshDays, Confirmations: list[inventory.Confirmation]{a.Confirmations}, Note: a.Note}
}

func (r *agreementRow) record() inventory.Agreement {
	return inventory.Agreement{ID: inventory.ID(r.ID), Number: r.Number, Partner: r.Partner, Site: inventory.ID(r.Site), Product: inventory.ID(r.Product), Minutes: r.Minutes,
		Access: r.Access, Signed: r.Signed, Until: r.Until, Ended: r.Ended, FreshDays: r.FreshDays, Confirmations: r.Confirmations.of, Note: r.Note}
}
