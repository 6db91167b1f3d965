package store

import (
	"github.com/uptrace/bun"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

type speciesRow struct {
	bun.BaseModel   `bun:"table:species"`
	ID              key                    `bun:"id,pk"`
	Accepted        string                 `bun:"accepted_name"`
	Family          string                 `bun:"family"`
	Common          string                 `bun:"common_name"`
	Synonyms        list[string]           `bun:"synonyms,type:text"`
	Venomous        int                    `bun:"venomous"`
	Hazards         one[inventory.Hazards] `bun:"hazards,type:text"`
	NativeTo        list[string]           `bun:"native_to,type:text"`
	RangeKnown      int                    `bun:"range_known"`
	PressureBandage int                    `bun:"pressure_bandage"`
	NoAntivenom     string                 `bun:"no_antivenom"`
	Certainty       string                 `bun:"certainty"`
}

func rowOfSpecies(s inventory.Species) speciesRow {
	return speciesRow{ID: key(s.ID), Accepted: s.Accepted, Family: s.Family, Common: s.Common, Synonyms: list[string]{s.Synonyms},
		Venomous: int(s.Venomous), Hazards: one[inventory.Hazards]{&s.Hazards}, NativeTo: list[string]{s.NativeTo}, RangeKnown: int(s.RangeKnown),
		PressureBandage: int(s.PressureBandage), NoAntivenom: s.NoAntivenom, Certainty: string(s.Certainty)}
}

func (r *speciesRow) record() inventory.Species {
	s := inventory.Species{ID: inventory.ID(r.ID), Accepted: r.Accepted, Family: r.Family, Common: r.Common, Synonyms: r.Synonyms.of,
		Venomous: inventory.Tri(r.Venomous), NativeTo: r.NativeTo.of, RangeKnown: inventory.Tri(r.RangeKnown),
		PressureBandage: inventory.Tri(r.PressureBandage), NoAntivenom: r.NoAntivenom, Certainty: inventory.Certainty(r.Certainty)}
	if r.Hazards.of != nil {
		s.Hazards = *r.Hazards.of
	}
	return s
}

type animalRow struct {
	bun.BaseModel `bun:"table:animal"`
	ID            key                  `bun:"id,pk"`
	Accession     string               `bun:"accession"`
	Species       key                  `bun:"species"`
	ReceivedAs    string               `bun:"received_as"`
	Owner         string               `bun:"owner"`
	Custodian     refText              `bun:"custodian,type:text"`
	Bred          int                  `bun:"bred"`
	Country       string               `bun:"country"`
	Region        string               `bun:"region"`
	Born          day.Day              `bun:"born,type:text"`
	Arrived       day.Day              `bun:"arrived,type:text"`
	From          string               `bun:"received_from"`
	LeftHow       string               `bun:"left_how"`
	LeftOn        day.Day              `bun:"left_on,type:text"`
	LeftTo        string               `bun:"left_to"`
	Stays         list[inventory.Stay] `bun:"stays,type:text"`
}

func rowOfAnimal(a inventory.Animal) animalRow {
	r := animalRow{ID: key(a.ID), Accession: a.Accession, Species: key(a.Species), ReceivedAs: a.ReceivedAs, Owner: a.Owner,
		Custodian: refText{a.Custodian}, Bred: int(a.Origin.Bred), Country: a.Origin.Country, Region: a.Origin.Region, Born: a.Born, Arrived: a.Arrived,
		From: a.From, Stays: list[inventory.Stay]{a.Stays}}
	if a.Left != nil {
		r.LeftHow, r.LeftOn, r.LeftTo = string(a.Left.How), a.Left.On, a.Left.To
	}
	return r
}

func (r *animalRow) record() inventory.Animal {
	a := inventory.Animal{ID: inventory.ID(r.ID), Accession: r.Accession, Species: inventory.ID(r.Species), ReceivedAs: r.ReceivedAs, Owner: r.Owner,
		Custodian: r.Custodian.Ref, Origin: inventory.Origin{Bred: inventory.Tri(r.Bred), Country: r.Country, Region: r.Region}, Born: r.Born, Arrived: r.Arrived,
		From: r.From, Stays: r.Stays.of}
	if r.LeftHow != "" {
		a.Left = &inventory.Disposition{How: inventory.Departure(r.LeftHow), On: r.LeftOn, To: r.LeftTo}
	}
	return a
}

type plannedRow struct {
	bun.BaseModel `bun:"table:planned"`
	ID            key     `bun:"id,pk"`
	Kind          string  `bun:"kind"`
	On            day.Day `bun:"expected,type:text"`
	Site          key     `bun:"site"`
	Species       key     `bun:"species"`
	Product       key     `bun:"product"`
	Subject       refText `bun:"subject,type:text"`
	Count         int     `bun:"count"`
	Until         day.End `bun:"good_until,type:text"`
	Note          string  `bun:"note"`
	Cancelled     day.Day `bun:"cancelled,type:text"`
}

func rowOfPlanned(p inventory.Planned) plannedRow {
	return plannedRow{ID: key(p.ID), Kind: string(p.Kind), On: p.On, Site: key(p.Site), Species: key(p.Species), Product: key(p.Product),
		Subject: refText{p.Subject}, Count: p.Count, Until: p.Until, Note: p.Note, Cancelled: p.Cancelled}
}

func (r *plannedRow) record() inventory.Planned {
	return inventory.Planned{ID: inventory.ID(r.ID), Kind: inventory.PlanKind(r.Kind), On: r.On, Site: inventory.ID(r.Site), Species: inventory.ID(r.Species),
		Product: inventory.ID(r.Product), Subject: r.Subject.Ref, Count: r.Count, Until: r.Until, Note: r.Note, Cancelled: r.Cancelled}
}
