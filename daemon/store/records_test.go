package store

import (
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// keys are the identifiers of one record of each kind, and of a second permit.
type keys struct {
	of     map[inventory.Kind]inventory.ID
	before inventory.ID // the permit that the other one renews, and the person who watches the other one
	third  inventory.ID // a person who teaches both
}

func newKeys() keys {
	k := keys{make(map[inventory.Kind]inventory.ID), inventory.NewID(), inventory.NewID()}
	for _, kind := range inventory.Kinds() {
		k.of[kind] = inventory.NewID()
	}
	return k
}

func (k keys) ref(kind inventory.Kind) inventory.Ref {
	return inventory.Ref{Kind: kind, ID: k.of[kind]}
}

// awkward is text that quoting, comments, placeholders and templates would
// break, and letters outside of ASCII.
const awkward = `Ma'am "said" \ ? ?0 $1 :a {{.}} ; DROP TABLE permit; -- /* ü ß 蛇 🐍 %s`

func on(s string) day.Day { return day.MustParse(s) }

// fullRecords gives one record of each kind, and no field is empty.
func fullRecords(k keys) []inventory.Record {
	site, person := k.of[inventory.KindSite], k.of[inventory.KindPerson]
	species, product, place := k.of[inventory.KindSpecies], k.of[inventory.KindProduct], k.of[inventory.KindPlace]
	return append([]inventory.Record{
		inventory.Organisation{ID: k.of[inventory.KindOrganisation], Title: awkward, Mailed: true, Victims: 9},
		inventory.Site{ID: site, Organisation: k.of[inventory.KindOrganisation], Title: awkward, Zone: "Pacific/Kiritimati", Use: inventory.UseResearch,
			Jurisdiction: []inventory.Dated[string]{{From: on("2001-01-01"), Value: "us/fl"}, {From: day.Last, Value: "gb"}},
			Contacts:     []inventory.Contact{{Role: "poison centre", Title: awkward, Phone: "+00 000"}},
			Antivenom:    []inventory.Dated[inventory.Stocking]{{From: on("2001-01-01"), Value: inventory.OutsideOnly}, {From: day.Last, Value: inventory.OwnStock}}},
		inventory.Enclosure{ID: k.of[inventory.KindEnclosure], Site: site, Code: awkward, Room: awkward, State: inventory.HandsOff},
		inventory.Species{ID: species, Accepted: "Naja kaouthia", Family: "Elapidae", Common: awkward, Synonyms: []string{"Naja siamensis", "Naja sputatrix"},
			Venomous: inventory.Yes, Hazards: inventory.Hazards{Venom: 5, Yield: 4, Speed: 3, Reach: 2, Spitting: inventory.No, Arboreal: inventory.Yes},
			NativeTo: []string{"th", "in/as"}, RangeKnown: inventory.Yes, PressureBandage: inventory.No, NoAntivenom: awkward, Certainty: inventory.Derived},
		compliance.Person{ID: person, Called: awkward, Email: "o'hara+x@house.example", Site: site, Joined: on("1918-03-31"), Leaves: day.Last, Born: day.First,
			Away:    []compliance.Absence{{From: on("2020-02-29"), Last: on("2020-03-01")}, {From: on("2024-02-29"), Last: on("2024-02-29")}},
			Offices: []compliance.Office{{Role: compliance.Keeper, Site: site, From: on("2020-02-29"), Last: on("2024-02-29")}}},
		compliance.Person{ID: k.before, Called: "a witness"},
		compliance.Person{ID: k.third, Called: "a mentor"},
		inventory.Animal{ID: k.of[inventory.KindAnimal], Accession: awkward, Species: species, ReceivedAs: awkward, Owner: awkward,
			Custodian: k.ref(inventory.KindPerson), Origin: inventory.Origin{Bred: inventory.Yes, Country: "th", Region: "th/10"}, Born: on("1999-12-31"), Arrived: on("2000-01-01"),
			From: awkward, Left: &inventory.Disposition{How: inventory.Died, On: on("2026-03-29"), To: awkward},
			Stays: []inventory.Stay{{Enclosure: k.of[inventory.KindEnclosure], From: on("2000-01-01")}, {Enclosure: k.of[inventory.KindEnclosure], From: on("2000-01-02")}}},
		inventory.Product{ID: product, Type: awkward, Form: awkward, StoreMin: -20_000, StoreMax: 8_000, PackSize: 5, LeadDays: 90, Approval: "x.y",
			GTINs: []string{"06291041500213", "16291041500210"}, Source: awkward, Certainty: inventory.Memory},
		inventory.Coverage{ID: k.of[inventory.KindCoverage], Product: product, Species: species, Locality: "th/10", Basis: inventory.Paraspecific,
			Vials: []inventory.Dated[inventory.Vials]{{From: on("2010-10-10"), Value: inventory.Vials{Initial: 1, Full: 2, Worst: 3}}}, Source: awkward, Certainty: inventory.Memory},
		inventory.Place{ID: place, Site: site, Title: awkward, Min: -1, Max: 8_001, Reach: []inventory.Reach{{Site: site, Minutes: 12}},
			Seals: []inventory.Seal{{Number: awkward, From: on("2025-01-01"), Broken: on("2025-06-30"), Why: awkward}}},

		inventory.Supply{ID: k.of[inventory.KindSupply], Product: product, Supplier: awkward, PackSize: 5, MinPacks: 2, PackPrice: 1 << 40, OrderFee: 2_500, Currency: "GBP",
			LeadDays: 90, Paper: "import-licence", PaperDays: 60, CustomsDays: 10, CheckDays: 2, Life: 365, From: on("2026-01-01"), Until: day.Until(on("2026-12-31")),
			Source: awkward, Certainty: inventory.Secondary},
		inventory.Order{ID: k.of[inventory.KindOrder], Number: awkward, Product: product, Place: place, Supply: k.of[inventory.KindSupply], From: awkward, Vials: 10,
			Expected: on("2026-12-01"), Labelled: day.Until(on("2028-02-29")), Life: 400, Note: awkward,
			Stages: []inventory.Stage{{What: inventory.StageOrdered, On: on("2026-02-28")}, {What: inventory.StageCustoms, On: on("2026-11-01")}}},
		inventory.Agreement{ID: k.of[inventory.KindAgreement], Number: awkward, Partner: awkward, Site: site, Product: product, Minutes: 45, Access: "mon-fri 08:00-18:00",
			Signed: on("2026-01-01"), Until: day.Until(on("2027-12-31")), Ended: on("2027-06-30"), FreshDays: 30,
			Confirmations: []inventory.Confirmation{{On: on("2026-02-01"), By: person, Vials: 12}}, Note: awkward},
		inventory.Lot{ID: k.of[inventory.KindLot], Product: product, Number: awkward, Labelled: day.Until(on("2027-02-28")), MonthOnly: true,
			Extensions: []inventory.Extension{{Noticed: on("2026-01-01"), Until: on("2028-02-29"), Reference: awkward}},
			Holds:      []inventory.Hold{{From: on("2026-01-01"), Released: on("2026-01-02"), Place: place, Why: awkward}},
			Promises:   []inventory.Promise{{Number: 1, From: on("2026-01-01"), Until: on("2026-03-01"), Ended: on("2026-02-01"), Place: place, Vials: 2, To: awkward, Why: awkward}},
			Loans:      []inventory.Loan{{Number: 1, Borrower: awkward, Approver: person, Physician: awkward, Purpose: awkward, Due: on("2026-09-01"), Terms: awkward}},
			Movements: []inventory.Movement{
				{On: on("2025-01-01"), Place: place, Vials: 12, Reason: inventory.Received, Condition: inventory.Checked, By: person, Witness: k.before, Unwitnessed: awkward, Note: "from the wholesaler"},
				{On: on("2025-01-03"), Place: place, Vials: -2, Reason: inventory.LentOut, Condition: inventory.Checked, Loan: 1, By: person, Witness: k.before, Unwitnessed: awkward, Note: "given"}}},
	}, append(fullPapers(k), fullHandling(k)...)...)
}

// fullHandling has two authorisations: what names a stage names no species.
func fullHandling(k keys) []inventory.Record {
	person, species, at := k.of[inventory.KindPerson], k.of[inventory.KindSpecies], time.Date(2026, 10, 25, 22, 30, 5, 0, time.UTC)
	return []inventory.Record{
		ladder.Session{ID: k.of[inventory.KindSession], Trainee: person, Mentor: k.before, Watched: inventory.Yes, Site: k.of[inventory.KindSite], Species: species,
			Animals: []inventory.ID{k.of[inventory.KindAnimal]}, Level: ladder.Hook, Results: "ccps", On: on("2026-10-25"), Begun: at, Ended: at.Add(time.Hour), Signed: at.Add(90 * time.Minute),
			Unsafe: inventory.No, Note: awkward},
		ladder.Authorisation{ID: k.before, Person: person, What: ladder.StageGrant, Stage: ladder.TopStage, On: on("2026-10-25"), Mentor: k.before},
		ladder.Authorisation{ID: k.of[inventory.KindAuthorisation], Person: k.before, What: ladder.SpeciesGrant, Species: species, Level: ladder.LastLevel, On: on("2026-10-25"), At: at,
			Mentor: k.third, Signers: []inventory.ID{person}, Criteria: awkward, Founding: awkward, Until: day.Until(on("2027-10-25")), Reason: awkward},
		ladder.Credit{ID: k.of[inventory.KindCredit], Person: person, Where: awkward, Proof: ladder.CertificateOfIt, Taxon: awkward, First: on("2020-02-29"), Last: on("2024-02-29"),
			Hours: 1_000, Repetitions: 200, Days: 100, Percent: 50, On: on("2026-10-25"), Signers: []inventory.ID{k.before}, Note: awkward},
		ladder.Placement{ID: k.of[inventory.KindPlacement], Subject: k.ref(inventory.KindAnimal), Stage: 7, On: on("2026-10-25"), Until: day.Until(on("2027-10-25")), By: person, Reason: awkward},
	}
}

func fullPapers(k keys) []inventory.Record {
	site, person := k.of[inventory.KindSite], k.of[inventory.KindPerson]
	return []inventory.Record{
		inventory.Planned{ID: k.of[inventory.KindPlanned], Kind: inventory.PlanVials, On: on("2027-01-01"), Site: site, Species: k.of[inventory.KindSpecies],
			Product: k.of[inventory.KindProduct], Subject: k.ref(inventory.KindAnimal), Count: 7, Until: day.Until(on("2029-01-31")), Note: awkward, Cancelled: on("2026-12-31")},
		compliance.Authority{ID: k.of[inventory.KindAuthority], Title: awkward, Zone: "America/New_York", Calendar: "us-federal", PostDays: 3},
		compliance.Permit{ID: k.before, Number: "SR-1", Class: "dwa-licence", Expires: day.Forever()},
		fullPermit(k),
		compliance.Activity{ID: k.of[inventory.KindActivity], What: "inspection.cage", Subject: k.ref(inventory.KindPlace), On: on("2026-10-25"), By: person,
			Passed: inventory.No, Until: day.Until(on("2027-10-25")), Year: 2026, Note: awkward, At: time.Date(2026, 10, 25, 22, 30, 5, 0, time.UTC), Fields: []string{"banner", "owner"}, Witness: k.before, Unwitnessed: awkward},
		compliance.Feed{ID: k.of[inventory.KindFeed], Topic: compliance.TopicStock, Site: site, Keeper: compliance.Trainee, Complete: on("2020-01-01"),
			Confirmed: []day.Day{on("2026-01-01"), on("2026-02-01")}, MaxAge: 31},
		compliance.NotWatched{ID: k.of[inventory.KindNotWatched], Subject: inventory.Holding(k.of[inventory.KindSpecies], site), By: person, Why: awkward, From: on("2026-01-01"), Last: on("2026-01-01")},
		compliance.Decision{ID: k.of[inventory.KindDecision], Ruling: compliance.RunDown, Subject: inventory.Holding(k.of[inventory.KindSpecies], site), By: person,
			On: on("2026-01-01"), Last: on("2026-06-30"), Why: awkward, Consequence: awkward},
	}
}

func fullPermit(k keys) compliance.Permit {
	return compliance.Permit{ID: k.of[inventory.KindPermit], Number: awkward, Class: "dwa-licence", Authority: k.of[inventory.KindAuthority], Holder: k.ref(inventory.KindPerson),
		Sites: []inventory.ID{k.of[inventory.KindSite]}, AnyPlace: true, Animals: []inventory.ID{k.of[inventory.KindAnimal]},
		Grants: []compliance.Grant{{Rank: compliance.RankGenus, Taxon: "Naja", Except: []string{"Naja naja"}, Max: 4}, {Rank: compliance.RankAny}},
		Issued: on("2024-01-01"), From: on("2024-01-02"), Expires: day.Until(on("2027-01-01")), Renewable: inventory.Yes, Renews: k.before,
		Applications: []compliance.Application{{Prepared: on("2026-01-01"), Posted: on("2026-01-02"), Received: on("2026-01-03"), Receipt: awkward,
			Deficient: on("2026-01-04"), Decided: on("2026-01-05"), Outcome: compliance.Refused}},
		Suspensions: []compliance.Suspension{{From: on("2025-01-01"), Lifted: on("2025-02-01")}}, Revoked: on("2026-07-01"), Surrendered: on("2026-08-01")}
}

// bareRecords gives one record of each kind with every field empty that its
// check lets be empty.
func bareRecords(k keys) []inventory.Record {
	species, product, person := k.of[inventory.KindSpecies], k.of[inventory.KindProduct], k.of[inventory.KindPerson]
	site := k.of[inventory.KindSite]
	return []inventory.Record{
		inventory.Organisation{ID: k.of[inventory.KindOrganisation], Title: "o", Victims: 1},
		inventory.Site{ID: site, Organisation: k.of[inventory.KindOrganisation], Title: "s", Zone: "UTC"},
		inventory.Enclosure{ID: k.of[inventory.KindEnclosure], Site: site, Code: "e"},
		inventory.Species{ID: species, Accepted: "Naja naja"},
		compliance.Person{ID: person, Called: "p"},
		inventory.Animal{ID: k.of[inventory.KindAnimal], Accession: "a", Species: species},
		inventory.Product{ID: product, Type: "t"},
		inventory.Coverage{ID: k.of[inventory.KindCoverage], Product: product, Species: species, Basis: inventory.Excluded, Source: "x"},
		inventory.Place{ID: k.of[inventory.KindPlace], Site: site, Title: "f"},
		inventory.Supply{ID: k.of[inventory.KindSupply], Product: product, Supplier: "s"},
		inventory.Order{ID: k.of[inventory.KindOrder], Number: "o", Product: product, Place: k.of[inventory.KindPlace], Vials: 1, Stages: []inventory.Stage{{What: inventory.StageOrdered, On: day.First}}},
		inventory.Agreement{ID: k.of[inventory.KindAgreement], Number: "a", Partner: "p", Site: site, Product: product, Signed: day.First},
		inventory.Lot{ID: k.of[inventory.KindLot], Product: product, Number: "l"},
		inventory.Planned{ID: k.of[inventory.KindPlanned], Kind: inventory.PlanPerson, On: on("2027-01-01"), Subject: k.ref(inventory.KindPerson)},
		compliance.Authority{ID: k.of[inventory.KindAuthority], Title: "a", Zone: "UTC"},
		compliance.Permit{ID: k.before, Number: "1", Class: "c"},
		compliance.Permit{ID: k.of[inventory.KindPermit], Number: "2", Class: "c"},
		compliance.Activity{ID: k.of[inventory.KindActivity], What: "count", Subject: k.ref(inventory.KindSite), On: on("2026-10-25")},
		compliance.Feed{ID: k.of[inventory.KindFeed], Topic: compliance.TopicPeople, Keeper: compliance.Head, Complete: day.First, MaxAge: 1},
		compliance.NotWatched{ID: k.of[inventory.KindNotWatched], Subject: k.ref(inventory.KindSite), By: person, Why: "y", From: on("2026-01-01"), Last: on("2026-01-01")},
		compliance.Decision{ID: k.of[inventory.KindDecision], Ruling: compliance.HoldWithout, Subject: inventory.Holding(species, site), By: person, On: on("2026-01-01"), Why: "w", Consequence: "c"},
		ladder.Session{ID: k.of[inventory.KindSession], Trainee: person, Site: site, Species: species, On: day.First},
		ladder.Authorisation{ID: k.of[inventory.KindAuthorisation], Person: person, What: ladder.Clearance, On: day.First},
		ladder.Credit{ID: k.of[inventory.KindCredit], Person: person, Where: "w", Proof: ladder.Exam, Taxon: "t", First: day.First, Last: day.First, On: day.First},
		ladder.Placement{ID: k.of[inventory.KindPlacement], Subject: inventory.Ref{Kind: inventory.KindSpecies, ID: species}, Stage: 1, On: day.First, By: person, Reason: "r"},
	}
}
