package demo

import (
	"time"

	"github.com/google/uuid"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// namespace keeps the demo's identifiers apart from any other use of the
// same names.
var namespace = uuid.MustParse("5a1d0a7e-0000-4000-8000-000000000001")

// builder makes a house one record after the other.
type builder struct {
	today    day.Day
	holidays *day.Holidays
	batch    compliance.Batch
	org      inventory.ID
}

func newBuilder(today day.Day, holidays *day.Holidays) *builder {
	return &builder{today: today, holidays: holidays}
}

// id follows from a name, so that a run is reproducible.
func id(kind inventory.Kind, name string) inventory.ID {
	return uuid.NewSHA1(namespace, []byte(kind.String()+" "+name))
}

func put[T inventory.Record](b *builder, rec T) inventory.ID {
	b.batch = append(b.batch, compliance.Record(rec))
	return rec.Ref().ID
}

// in gives the day a number of days from today; negative: ago.
func (b *builder) in(days int) day.Day { return b.today.Add(days) }

func (b *builder) until(days int) day.End { return day.Until(b.in(days)) }

func siteID(name string) inventory.ID     { return id(inventory.KindSite, name) }
func speciesID(name string) inventory.ID  { return id(inventory.KindSpecies, name) }
func productID(name string) inventory.ID  { return id(inventory.KindProduct, name) }
func placeID(name string) inventory.ID    { return id(inventory.KindPlace, name) }
func personID(name string) inventory.ID   { return id(inventory.KindPerson, name) }
func permitID(number string) inventory.ID { return id(inventory.KindPermit, number) }

func siteRef(name string) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindSite, ID: siteID(name)}
}

func placeRef(name string) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPlace, ID: placeID(name)}
}

func permitRef(number string) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPermit, ID: permitID(number)}
}

func personRef(name string) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPerson, ID: personID(name)}
}

// longWeekend gives the last day of the next long weekend that begins at
// least some days from today: three days or more in a row on which an office
// is shut. Beyond the holiday data it is a plain weekend.
func (b *builder) longWeekend(calendar string, from int) day.Day {
	cal, _ := b.holidays.Calendar(calendar) // a calendar that the data lack knows weekends only
	for d, run := b.in(from), 0; d < b.in(from+400); d++ {
		switch {
		case !cal.IsWorking(d):
			run++
		case run > 2:
			return d - 1
		default:
			run = 0
		}
	}
	sunday := b.in(from)
	for sunday.Weekday() != time.Sunday {
		sunday++
	}
	return sunday
}
