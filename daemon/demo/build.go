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

func siteID(name string) inventory.ID    { return id(inventory.KindSite, name) }
func speciesID(name string) inventory.ID { return id(inventory.KindSpecies, name) }
func productID(name string) inventory.ID { return id(inventory.KindProduct, name) }
func placeID(name string) inventory.ID   { return id(inventory.KindPlace, name) }
func personID(name string) inventory.ID  { return id(inventory.KindPerson, name) }
func permitID(number string) inventory.ID {
	return id(inventory.KindPermit, number)
}

func siteRef(name string) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindSite, ID: siteID(name)}
}

func personRef(name string) inventory.Ref {
	return inventory.Ref{Kind: inventory.KindPerson, ID: personID(name)}
}

// beforeLongWeekend gives the Sunday of the next long weekend that begins at
// least some days from today, by a calendar: a day on which an office is shut
// on both sides.
func (b *builder) beforeLongWeekend(calendar string, from int) day.Day {
	cal, err := b.holidays.Calendar(calendar)
	if err != nil {
		cal = day.WeekendsOnly()
	}
	for d := b.in(from); d < b.in(from+400); d++ {
		if _, shut := cal.Holiday(d + 1); d.Weekday() == time.Sunday && shut {
			return d
		}
	}
	return b.in(from) // the holiday data ends here
}
