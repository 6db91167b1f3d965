package demo

import (
	"fmt"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// drills: days from today on which each was last held. The bite drill at Wren
// Cottage is overdue.
var drills = []struct {
	site, what string
	days       int
}{
	{larkspur, "drill.bite", -60},
	{larkspur, "drill.escape", -200},
	{wren, "drill.bite", -260},
	{wren, "drill.escape", -100},
	{tamarind, "drill.bite", -30},
	{tamarind, "drill.escape", -90},
}

var counts = []struct {
	place string
	days  int
}{
	{larkspurFridge, -12},
	{wrenFridge, -20},
}

// firstAid: in how many days each keeper's certificate runs out.
var firstAid = []struct {
	keeper string
	days   int
}{
	{sable, 420},
	{juno, 380},
	{bram, 27},
	{tansy, 600},
}

func (b *builder) activities() {
	for _, d := range drills {
		b.done(d.what, siteRef(d.site), d.days, caspar)
	}
	for _, c := range counts {
		b.done("count.antivenom", placeRef(c.place), c.days, odo)
	}
	for _, f := range firstAid {
		b.certified(f.keeper, -300, f.days)
	}
	b.reports()
}

func (b *builder) done(what string, subject inventory.Ref, days int, by string) {
	put(b, compliance.Activity{ID: id(inventory.KindActivity, what+" "+subject.String()), What: what, Subject: subject,
		On: b.in(days), By: personID(by), Passed: inventory.Yes})
}

func (b *builder) certified(keeper string, days, until int) {
	put(b, compliance.Activity{ID: id(inventory.KindActivity, "first aid "+keeper), What: "certificate.first-aid", Subject: personRef(keeper),
		On: b.in(days), Passed: inventory.Yes, Until: b.until(until)})
}

// reports are sent each year on 20 February or, where the demo runs in
// January or February, still to be sent.
func (b *builder) reports() {
	year, month, _ := b.today.Date()
	last := year - 1 // the latest year that is reported on
	if month < time.March {
		last--
	}
	for of := last - 3; of <= last; of++ {
		put(b, compliance.Activity{ID: id(inventory.KindActivity, fmt.Sprintf("report of %d", of)), What: "report.wildlife-permit",
			Subject: siteRef(larkspur), On: day.Of(of+1, time.February, 20), By: personID(petra), Passed: inventory.Yes, Year: of})
	}
}
