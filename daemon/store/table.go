package store

import (
	"context"
	"fmt"
	"iter"
	"reflect"
	"strings"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
)

// kept is one kind of record as the database keeps it.
type kept interface {
	copying
	load(ctx context.Context, db bun.IDB, into *compliance.Snapshot) error
	save(ctx context.Context, db bun.IDB, rec inventory.Record) error
	saveNew(ctx context.Context, tx bun.Tx, d dialect, recs []inventory.Record) error
	drop(ctx context.Context, tx bun.Tx, id inventory.ID) error
	follow(images []entered, into *compliance.Snapshot) error
	all(from *compliance.Snapshot) iter.Seq[inventory.Record]
}

// table joins a record type with its row type.
type table[T inventory.Record, R any] struct {
	name   string
	row    func(T) R
	record func(*R) T
	in     func(*compliance.Snapshot) *inventory.Table[T]
}

// tables is every kind of record.
var tables = map[inventory.Kind]kept{
	inventory.KindOrganisation: table[inventory.Organisation, organisationRow]{"organisation", rowOfOrganisation, (*organisationRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Organisation] { return &s.Organisations }},
	inventory.KindSite: table[inventory.Site, siteRow]{"site", rowOfSite, (*siteRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Site] { return &s.Sites }},
	inventory.KindEnclosure: table[inventory.Enclosure, enclosureRow]{"enclosure", rowOfEnclosure, (*enclosureRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Enclosure] { return &s.Enclosures }},
	inventory.KindSpecies: table[inventory.Species, speciesRow]{"species", rowOfSpecies, (*speciesRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Species] { return &s.Species }},
	inventory.KindPerson: table[compliance.Person, personRow]{"person", rowOfPerson, (*personRow).record,
		func(s *compliance.Snapshot) *inventory.Table[compliance.Person] { return &s.People }},
	inventory.KindAnimal: table[inventory.Animal, animalRow]{"animal", rowOfAnimal, (*animalRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Animal] { return &s.Animals }},
	inventory.KindProduct: table[inventory.Product, productRow]{"product", rowOfProduct, (*productRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Product] { return &s.Products }},
	inventory.KindCoverage: table[inventory.Coverage, coverageRow]{"coverage", rowOfCoverage, (*coverageRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Coverage] { return &s.Coverage }},
	inventory.KindPlace: table[inventory.Place, placeRow]{"place", rowOfPlace, (*placeRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Place] { return &s.Places }},
	inventory.KindSupply: table[inventory.Supply, supplyRow]{"supply", rowOfSupply, (*supplyRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Supply] { return &s.Supplies }},
	inventory.KindOrder: table[inventory.Order, orderRow]{"vial_order", rowOfOrder, (*orderRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Order] { return &s.Orders }},
	inventory.KindAgreement: table[inventory.Agreement, agreementRow]{"agreement", rowOfAgreement, (*agreementRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Agreement] { return &s.Agreements }},
	inventory.KindLot: table[inventory.Lot, lotRow]{"lot", rowOfLot, (*lotRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Lot] { return &s.Lots }},
	inventory.KindPlanned: table[inventory.Planned, plannedRow]{"planned", rowOfPlanned, (*plannedRow).record,
		func(s *compliance.Snapshot) *inventory.Table[inventory.Planned] { return &s.Planned }},
	inventory.KindAuthority: table[compliance.Authority, authorityRow]{"authority", rowOfAuthority, (*authorityRow).record,
		func(s *compliance.Snapshot) *inventory.Table[compliance.Authority] { return &s.Authorities }},
	inventory.KindPermit: table[compliance.Permit, permitRow]{"permit", rowOfPermit, (*permitRow).record,
		func(s *compliance.Snapshot) *inventory.Table[compliance.Permit] { return &s.Permits }},
	inventory.KindActivity: table[compliance.Activity, activityRow]{"activity", rowOfActivity, (*activityRow).record,
		func(s *compliance.Snapshot) *inventory.Table[compliance.Activity] { return &s.Activities }},
	inventory.KindFeed: table[compliance.Feed, feedRow]{"feed", rowOfFeed, (*feedRow).record,
		func(s *compliance.Snapshot) *inventory.Table[compliance.Feed] { return &s.Feeds }},
	inventory.KindNotWatched: table[compliance.NotWatched, notWatchedRow]{"not_watched", rowOfNotWatched, (*notWatchedRow).record,
		func(s *compliance.Snapshot) *inventory.Table[compliance.NotWatched] { return &s.NotWatched }},
	inventory.KindDecision: table[compliance.Decision, decisionRow]{"decision", rowOfDecision, (*decisionRow).record,
		func(s *compliance.Snapshot) *inventory.Table[compliance.Decision] { return &s.Decisions }},
	inventory.KindSession: table[ladder.Session, sessionRow]{"handling_session", rowOfSession, (*sessionRow).record,
		func(s *compliance.Snapshot) *inventory.Table[ladder.Session] { return &s.Sessions }},
	inventory.KindAuthorisation: table[ladder.Authorisation, authorisationRow]{"authorisation", rowOfAuthorisation, (*authorisationRow).record,
		func(s *compliance.Snapshot) *inventory.Table[ladder.Authorisation] { return &s.Authorisations }},
	inventory.KindCredit: table[ladder.Credit, creditRow]{"credit", rowOfCredit, (*creditRow).record,
		func(s *compliance.Snapshot) *inventory.Table[ladder.Credit] { return &s.Credits }},
	inventory.KindPlacement: table[ladder.Placement, placementRow]{"placement", rowOfPlacement, (*placementRow).record,
		func(s *compliance.Snapshot) *inventory.Table[ladder.Placement] { return &s.Placements }},
}

// rowsOf reads every row. It counts first: a slice that grows costs more than
// everything else.
func rowsOf[R any](ctx context.Context, db bun.IDB, name string) ([]R, error) {
	var n int
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM "+name).Scan(&n); err != nil {
		return nil, fmt.Errorf("count %s: %w", name, classified(err))
	}
	if n == 0 {
		return nil, nil
	}
	switch out, fits, err := scan[R](ctx, db, n); {
	case err != nil:
		return nil, fmt.Errorf("read %s: %w", name, classified(err))
	case fits:
		return out, nil
	}
	out := make([]R, 0, n) // bun takes what a field by itself does not: NULL in a text
	if err := db.NewSelect().Model(&out).Scan(ctx); err != nil {
		return nil, fmt.Errorf("read %s: %w", name, classified(err))
	}
	return out, nil
}

// scan reads about n rows straight into their fields. That which field a
// column goes into is looked up once, and not with each of a million cells,
// makes it nearly as quick as scanning by hand. fits is false where a field by
// itself does not take what is in its column.
func scan[R any](ctx context.Context, db bun.IDB, n int) (out []R, fits bool, err error) {
	fields, table := columnsOf(db, reflect.TypeFor[R](), nil)
	names, into := make([]string, len(fields)), make([]any, len(fields))
	for i, f := range fields {
		names[i] = `"` + f.Name + `"`
	}
	rows, err := db.QueryContext(ctx, "SELECT "+strings.Join(names, ", ")+` FROM "`+table+`"`)
	if err != nil {
		return nil, false, err
	}
	defer rows.Close()
	out = make([]R, 0, n)
	for rows.Next() {
		out = append(out, *new(R))
		row := reflect.ValueOf(&out[len(out)-1]).Elem()
		for i, f := range fields {
			into[i] = row.FieldByIndex(f.Index).Addr().Interface()
		}
		if err := rows.Scan(into...); err != nil {
			return nil, false, nil
		}
	}
	return out, true, rows.Err()
}

// load reads the kind's records.
func (t table[T, R]) load(ctx context.Context, db bun.IDB, into *compliance.Snapshot) error {
	rows, err := rowsOf[R](ctx, db, t.name)
	if err != nil {
		return err
	}
	records := make([]T, len(rows))
	pointers := make([]*T, len(rows))
	for i := range rows {
		records[i] = t.record(&rows[i])
		pointers[i] = &records[i]
	}
	*t.in(into) = inventory.NewTable(pointers)
	return nil
}

// all yields the kind's records.
func (t table[T, R]) all(from *compliance.Snapshot) iter.Seq[inventory.Record] {
	return func(yield func(inventory.Record) bool) {
		for rec := range t.in(from).All() {
			if !yield(*rec) {
				return
			}
		}
	}
}

// save writes the after-image of one record.
func (t table[T, R]) save(ctx context.Context, db bun.IDB, rec inventory.Record) error {
	typed, ok := rec.(T)
	if !ok {
		return fmt.Errorf("save %s: it is a %T", t.name, rec)
	}
	row := t.row(typed)
	if _, err := db.NewInsert().Model(&row).On("CONFLICT (id) DO UPDATE").Exec(ctx); err != nil {
		return fmt.Errorf("save %s %s: %w", t.name, rec.Name(), classified(err))
	}
	return nil
}

// drop takes one record out.
func (t table[T, R]) drop(ctx context.Context, tx bun.Tx, id inventory.ID) error {
	if _, err := tx.NewDelete().Model((*R)(nil)).Where("id = ?", key(id)).Exec(ctx); err != nil {
		return fmt.Errorf("take %s %s out: %w", t.name, id, classified(err))
	}
	return nil
}

// saveNew writes records of which none is there yet.
func (t table[T, R]) saveNew(ctx context.Context, tx bun.Tx, d dialect, recs []inventory.Record) error {
	rows := make([]R, len(recs))
	for i, rec := range recs {
		typed, ok := rec.(T)
		if !ok {
			return fmt.Errorf("save %s: it is a %T", t.name, rec)
		}
		rows[i] = t.row(typed)
	}
	return insertAll(ctx, tx, d, rows)
}
