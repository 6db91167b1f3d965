package store

import (
	"github.com/uptrace/bun"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

type productRow struct {
	bun.BaseModel `bun:"table:product"`
	ID            key          `bun:"id,pk"`
	Type          string       `bun:"type"`
	Form          string       `bun:"form"`
	StoreMin      int          `bun:"store_min_mc"`
	StoreMax      int          `bun:"store_max_mc"`
	PackSize      int          `bun:"pack_size"`
	LeadDays      int          `bun:"lead_days"`
	GTINs         list[string] `bun:"gtins,type:text"`
	Approval      string       `bun:"approval"`
	Source        string       `bun:"source"`
	Certainty     string       `bun:"certainty"`
}

func rowOfProduct(p inventory.Product) productRow {
	return productRow{ID: key(p.ID), Type: p.Type, Form: p.Form, StoreMin: p.StoreMin, StoreMax: p.StoreMax, PackSize: p.PackSize,
		LeadDays: p.LeadDays, GTINs: list[string]{p.GTINs}, Approval: p.Approval, Source: p.Source, Certainty: string(p.Certainty)}
}

func (r *productRow) record() inventory.Product {
	return inventory.Product{ID: inventory.ID(r.ID), Type: r.Type, Form: r.Form, StoreMin: r.StoreMin, StoreMax: r.StoreMax, PackSize: r.PackSize,
		LeadDays: r.LeadDays, GTINs: r.GTINs.of, Approval: r.Approval, Source: r.Source, Certainty: inventory.Certainty(r.Certainty)}
}

type coverageRow struct {
	bun.BaseModel `bun:"table:coverage"`
	ID            key                                    `bun:"id,pk"`
	Product       key                                    `bun:"product"`
	Species       key                                    `bun:"species"`
	Locality      string                                 `bun:"locality"`
	Basis         string                                 `bun:"basis"`
	Vials         list[inventory.Dated[inventory.Vials]] `bun:"vials,type:text"`
	Source        string                                 `bun:"source"`
	Certainty     string                                 `bun:"certainty"`
}

func rowOfCoverage(c inventory.Coverage) coverageRow {
	return coverageRow{ID: key(c.ID), Product: key(c.Product), Species: key(c.Species), Locality: c.Locality, Basis: string(c.Basis),
		Vials: list[inventory.Dated[inventory.Vials]]{c.Vials}, Source: c.Source, Certainty: string(c.Certainty)}
}

func (r *coverageRow) record() inventory.Coverage {
	return inventory.Coverage{ID: inventory.ID(r.ID), Product: inventory.ID(r.Product), Species: inventory.ID(r.Species), Locality: r.Locality, Basis: inventory.Basis(r.Basis),
		Vials: r.Vials.of, Source: r.Source, Certainty: inventory.Certainty(r.Certainty)}
}

type lotRow struct {
	bun.BaseModel `bun:"table:lot"`
	ID            key                       `bun:"id,pk"`
	Product       key                       `bun:"product"`
	Number        string                    `bun:"number"`
	Labelled      day.End                   `bun:"labelled,type:text"`
	MonthOnly     bool                      `bun:"month_only"`
	Extensions    list[inventory.Extension] `bun:"extensions,type:text"`
	Holds         list[inventory.Hold]      `bun:"holds,type:text"`
	Promises      list[inventory.Promise]   `bun:"promises,type:text"`
	Loans         list[inventory.Loan]      `bun:"loans,type:text"`
	Movements     list[inventory.Movement]  `bun:"movements,type:text"`
}

func rowOfLot(l inventory.Lot) lotRow {
	return lotRow{ID: key(l.ID), Product: key(l.Product), Number: l.Number, Labelled: l.Labelled, MonthOnly: l.MonthOnly,
		Extensions: list[inventory.Extension]{l.Extensions}, Holds: list[inventory.Hold]{l.Holds},
		Promises: list[inventory.Promise]{l.Promises}, Loans: list[inventory.Loan]{l.Loans}, Movements: list[inventory.Movement]{l.Movements}}
}

func (r *lotRow) record() inventory.Lot {
	return inventory.Lot{ID: inventory.ID(r.ID), Product: inventory.ID(r.Product), Number: r.Number, Labelled: r.Labelled, MonthOnly: r.MonthOnly,
		Extensions: r.Extensions.of, Holds: r.Holds.of, Promises: r.Promises.of, Loans: r.Loans.of, Movements: r.Movements.of}
}
