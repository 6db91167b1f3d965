package label

import (
	"fmt"
	"slices"
	"strconv"

	"antidotary/inventory/day"
)

func (r *reading) warn(about About, format string, args ...any) {
	r.warnings = append(r.warnings, Warning{about, fmt.Sprintf(format, args...)})
}

// label makes the label of what was read.
func (r *reading) label(symbology string) (Label, []Warning, error) {
	once, err := distinct(r.elements)
	if err == nil {
		err = associated(once)
	}
	if err != nil && r.unread != "" {
		err = fmt.Errorf("%w (%q at its end was not read: it is not known what that is)", err, r.unread)
	}
	if err != nil {
		return Label{}, nil, err
	}
	l := Label{Symbology: symbology, Elements: once}
	for _, e := range once {
		r.take(&l, e)
	}
	if !r.printed {
		r.doubtLot(&l)
	}
	r.missing(&l)
	return l, r.warnings, nil
}

// take puts the meaning of an element into the label. Its value was checked.
func (r *reading) take(l *Label, e Element) {
	switch e.AI {
	case "01":
		l.GTIN = e.Value
	case "02":
		l.Contains = e.Value
	case "10":
		l.Lot = e.Value
	case "21":
		l.Serial = e.Value
	case "11":
		l.Made, l.MadeMonthOnly, _ = date(e.Value, r.year, true)
	case "17":
		var last day.Day
		last, l.MonthOnly, _ = date(e.Value, r.year, true)
		l.End = day.Until(last)
	case "7003":
		r.takeMoment(l, e.Value)
	case "30":
		l.Items, _ = strconv.Atoi(e.Value)
		r.warn(AboutVials, "it says that %d items are within; how many vials that is, it does not say", l.Items)
	case "37":
		l.Packs, _ = strconv.Atoi(e.Value)
		r.warn(AboutVials, "it says that %d packs are within; how many vials that is, it does not say", l.Packs)
	case "4330", "4331":
		most := milliCelsius(e, false)
		l.StoreMax = &most
	case "4332", "4333":
		least := milliCelsius(e, true)
		l.StoreMin = &least
	}
}

// takeMoment reads an expiry to the minute. The day of it is not good to its
// end, so the day before is the last one, but for the last minute of a day.
func (r *reading) takeMoment(l *Label, value string) {
	on, _, _ := date(value[:6], r.year, false)
	m := Moment{on, number(value[6:8]), number(value[8:])}
	l.EndsAt = &m
	l.End = day.Until(on)
	if m.Hour != 23 || m.Minute != 59 {
		l.End = day.Until(on.Add(-1))
		r.warn(AboutHour, "it is good until %s: its last whole day is %s", m, l.End)
	}
}

// milliCelsius gives a limit, which is written in hundredths of a degree (GS1
// list of application identifiers), in milli-degrees Celsius. What Fahrenheit
// leaves over is rounded up for the coldest, down for the warmest.
func milliCelsius(e Element, coldest bool) int {
	n := number(e.Value[:6])
	if len(e.Value) > 6 {
		n = -n
	}
	if e.AI == "4331" || e.AI == "4333" {
		return 10 * n
	}
	ninths := (n - 3200) * 50 // of a milli-degree
	down := ninths / 9
	if ninths%9 < 0 {
		down--
	}
	if coldest && ninths%9 != 0 {
		return down + 1
	}
	return down
}

// missing warns of what a receipt needs and the code does not say.
func (r *reading) missing(l *Label) {
	has := func(ai string) bool {
		return slices.ContainsFunc(l.Elements, func(e Element) bool { return e.AI == ai })
	}
	if l.GTIN == "" && l.Contains == "" {
		r.warn(AboutProduct, "it has no trade item number, so it does not say what it is")
	}
	if l.Lot == "" {
		r.warn(AboutLot, "it has no lot number")
	}
	if !l.End.IsZero() {
		return
	}
	text := "it has no expiry"
	switch {
	case has("15"):
		text += "; the best-before day that it has is none"
	case has("16"):
		text += "; the sell-by day that it has is none"
	}
	r.warn(AboutEnd, "%s", text)
}
