package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"antidotary/inventory/day"
)

// Order says in which order day, month and year are written.
type Order string

// The orders that can be declared. Empty: none was.
const (
	DMY Order = "dmy"
	MDY Order = "mdy"
	YMD Order = "ymd"
)

// ParseOrder reads a declared order.
func ParseOrder(s string) (Order, error) {
	if o := Order(s); slices.Contains([]Order{"", DMY, MDY, YMD}, o) {
		return o, nil
	}
	return "", fmt.Errorf("%q is not allowed: write dmy, mdy or ymd", s)
}

var (
	timeOfDay  = regexp.MustCompile(`[ T]\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?$`)
	threeParts = regexp.MustCompile(`^(\d{1,4})[-/. ](\d{1,2})[-/. ](\d{1,4})$`)
	twoParts   = regexp.MustCompile(`^(\d{1,4}) ?[-/.] ?(\d{1,4})$`)
	monthInIt  = regexp.MustCompile(`^(\d{1,4})[-/., ]+([a-z]+)\.?[-/., ]+(\d{1,4})$`)
	monthAhead = regexp.MustCompile(`^([a-z]+)\.?[-/ ]*(\d{1,2}),?[-/ ]+(\d{4})$`)
	monthYear  = regexp.MustCompile(`^([a-z]+)\.?[-/, ]*(\d{2}|\d{4})$`)
	expPrefix  = regexp.MustCompile(`^(expiry date|expires|expiry|exp\.? ?date|exp|use by)[.: ]*`)
)

const dayAllowed = "a date that exists is required as YYYY-MM-DD, from 1900 on, or blank if it is unknown"

// parseDay reads a full date. Where it can be read in more than one way, it
// counts only in the declared order.
func parseDay(text string, order Order) (day.Day, string) {
	s := timeOfDay.ReplaceAllString(strings.ToLower(tidy(text)), "")
	if d, err := day.Parse(s); err == nil {
		return d, ""
	}
	readings := readingsOf(s)
	if len(readings) == 0 {
		return 0, fmt.Sprintf("%q is no full date; %s", text, dayAllowed)
	}
	return choose(text, order, readings, func(d day.Day) string { return d.String() }, dayAllowed)
}

// reading is one way to read a date, and the orders that mean it; swapped
// stands for year, day, month, which nobody can declare.
type reading struct {
	on     day.Day
	orders []Order
}

const swapped Order = "ydm"

func choose(text string, order Order, readings []reading, show func(day.Day) string, allowed string) (day.Day, string) {
	var distinct []day.Day
	for _, r := range readings {
		if order != "" && slices.Contains(r.orders, order) {
			return r.on, ""
		}
		if !slices.Contains(distinct, r.on) {
			distinct = append(distinct, r.on)
		}
	}
	if order != "" {
		return 0, fmt.Sprintf("%q does not fit the declared order %s; %s", text, order, allowed)
	}
	if len(distinct) == 1 {
		return distinct[0], ""
	}
	slices.Sort(distinct)
	var ways []string
	for _, d := range distinct {
		ways = append(ways, show(d))
	}
	return 0, fmt.Sprintf("%q may be %s; declare --dates dmy, mdy or ymd, or write YYYY-MM-DD", text, strings.Join(ways, " or "))
}

// readingsOf gives every way to read a date of three parts.
func readingsOf(s string) (all []reading) {
	add := func(y, m, d string, orders ...Order) {
		if on, ok := civil(y, m, d); ok {
			all = append(all, reading{on, orders})
		}
	}
	every := []Order{DMY, MDY, YMD}
	if p := threeParts.FindStringSubmatch(s); p != nil {
		a, b, c := p[1], p[2], p[3]
		if len(a) == 4 {
			add(a, b, c, YMD)
			add(a, c, b, swapped)
		} else {
			add(c, b, a, DMY)
			add(c, a, b, MDY)
			add(a, b, c, YMD)
		}
	} else if p := monthInIt.FindStringSubmatch(s); p != nil {
		month, ok := months[p[2]]
		switch {
		case !ok:
		case len(p[1]) == 4:
			add(p[1], month, p[3], every...)
		case len(p[3]) == 4:
			add(p[3], month, p[1], every...)
		default:
			add(p[3], month, p[1], DMY, MDY)
			add(p[1], month, p[3], YMD)
		}
	} else if p := monthAhead.FindStringSubmatch(s); p != nil {
		if month, ok := months[p[1]]; ok {
			add(p[3], month, p[2], every...)
		}
	}
	return all
}

var months = func() map[string]string {
	out := map[string]string{"sept": "9"}
	for m := time.January; m <= time.December; m++ {
		name := strings.ToLower(m.String())
		out[name], out[name[:3]] = strconv.Itoa(int(m)), strconv.Itoa(int(m))
	}
	return out
}()

// civil gives a day that exists. A year of two digits is one of this century
// up to 49: no living animal and no paper in force is of 1949 or before. From
// 50 on it could be either, and is refused. (Common practice, no source.)
func civil(year, month, dayOfMonth string) (day.Day, bool) {
	if len(month) > 2 || len(dayOfMonth) > 2 {
		return 0, false
	}
	switch {
	case len(year) == 2 && year < "50":
		year = "20" + year
	case len(year) != 4:
		return 0, false
	}
	d, err := day.Parse(fmt.Sprintf("%s-%02s-%02s", year, month, dayOfMonth))
	return d, err == nil
}

const labelAllowed = "the expiry as on the label is required, such as 2027-02-28, or 2027-02, 02/2027 or Feb 2027 if it has no day; blank if it cannot be read"

// parseLabel reads the expiry of a lot: a full date, or a month, which ends on
// its last day (USP chapter 7, labelling; secondary source).
func parseLabel(text string, order Order) (last day.Day, monthOnly bool, wrong string) {
	s := expPrefix.ReplaceAllString(strings.ToLower(tidy(text)), "")
	var readings []reading
	add := func(y, m string, orders ...Order) {
		if on, ok := civil(y, m, "1"); ok {
			readings = append(readings, reading{on, orders})
		}
	}
	if p := twoParts.FindStringSubmatch(s); p != nil {
		switch {
		case len(p[1]) == 4:
			add(p[1], p[2], DMY, MDY, YMD)
		case len(p[2]) == 4:
			add(p[2], p[1], DMY, MDY, YMD)
		default:
			add(p[2], p[1], DMY, MDY)
			add(p[1], p[2], YMD)
		}
	} else if p := monthYear.FindStringSubmatch(s); p != nil && months[p[1]] != "" {
		add(p[2], months[p[1]], DMY, MDY, YMD)
	} else {
		last, wrong = parseDay(s, order)
		if wrong != "" && len(readingsOf(s)) == 0 {
			wrong = fmt.Sprintf("%q is no expiry; %s", text, labelAllowed)
		}
		return last, false, wrong
	}
	if len(readings) == 0 {
		return 0, false, fmt.Sprintf("%q is no month that exists; %s", text, labelAllowed)
	}
	first, wrong := choose(text, order, readings, func(d day.Day) string { return d.String()[:7] }, labelAllowed)
	if wrong != "" {
		return 0, false, wrong
	}
	return first.EndOfMonth(), true, ""
}
