package schedule

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// Spec is a cron expression that was read by Parse. Two of the same fields are
// equal by ==. The zero value never comes.
type Spec struct {
	text  string
	times cron.SpecSchedule // its location is UTC, which stands for a floating clock
}

// String gives the five fields as they were written, one space between them.
// Parse reads it back as the same Spec.
func (s Spec) String() string { return s.text }

// Equal says that both were written with the same fields.
func (s Spec) Equal(o Spec) bool { return s == o }

// everyHour says that the expression takes each hour of the day, so that it
// counts real time and not times of day.
func (s *Spec) everyHour() bool {
	const all = 1<<24 - 1
	return s.times.Hour&all == all
}

// field is one of the five, and what may be written in it.
type field struct {
	name     string
	min, max int
	names    string // for the values from min on
	hint     string // how to tell of them
}

var fields = []field{
	{"minute", 0, 59, "", ""},
	{"hour", 0, 23, "", ""},
	{"day of month", 1, 31, "", ""},
	{"month", 1, 12, "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec", " or JAN to DEC"},
	{"day of week", 0, 7, "sun|mon|tue|wed|thu|fri|sat", " or SUN to SAT, where 0 and 7 are Sunday"},
}

// The library reads more than cron has: empty items, "*-5", "+5", "?".
var items = func() (list []*regexp.Regexp) {
	for _, f := range fields {
		value := `\d{1,2}`
		if f.names != "" {
			value = `(?:\d{1,2}|(?i:` + f.names + `))`
		}
		list = append(list, regexp.MustCompile(`^(?:(\*)|(`+value+`)(?:-(`+value+`))?)(?:/(\d{1,2}))?$`))
	}
	return list
}()

// parser takes five fields and no descriptors.
var parser = cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow)

// Parse reads five fields: minute, hour, day of month, month, day of week. A
// field is *, a value, a rising range (8-17), a step (*/15, 8-17/2; 5/15 is
// 5-59/15) or a list of these by commas; months and days of the week may be
// named by their first three letters in English. Sunday is 0 or 7, and 5-7 is
// Friday to Sunday.
//
// Beware: if day of month and day of week are both restricted, cron comes on
// the days that fit either of them, not on those that fit both: "0 8 1 * MON"
// is each first of the month and each Monday. Only *, */1 and a list with one
// of them leave a field unrestricted.
//
// The library's parser panics on some input, and accepts dates that never come
// and intervals of a second (robfig/cron issues 470 and 554). All of that is
// refused. The error is a sentence that says what is allowed.
func Parse(expr string) (s Spec, err error) {
	defer func() {
		if r := recover(); r != nil {
			s, err = Spec{}, fmt.Errorf("%q is not a schedule of five fields: %v", expr, r)
		}
	}()
	if strings.Contains(expr, "TZ=") {
		return Spec{}, fmt.Errorf("%q is not allowed: the zone is set by the key zone", expr)
	}
	if strings.HasPrefix(strings.TrimSpace(expr), "@") {
		return Spec{}, fmt.Errorf("%q is not allowed: write five fields, such as \"30 5 * * *\" for half past five each day", expr)
	}
	parts := strings.Fields(expr)
	if len(parts) != len(fields) {
		return Spec{}, fmt.Errorf("%q is not a schedule: write five fields (minute, hour, day of month, month, day of week), such as \"30 5 * * *\"; these are %d", expr, len(parts))
	}
	text := strings.Join(parts, " ")
	for i, f := range fields {
		if parts[i], err = f.canonical(parts[i], items[i]); err != nil {
			return Spec{}, fmt.Errorf("%q is not a schedule of five fields, such as \"30 5 * * *\": %w", expr, err)
		}
	}
	parsed, err := parser.Parse(strings.Join(parts, " "))
	if err != nil {
		return Spec{}, fmt.Errorf("%q is not a schedule of five fields, such as \"30 5 * * *\": %w", expr, err)
	}
	s = Spec{text: text, times: *parsed.(*cron.SpecSchedule)}
	s.times.Location = time.UTC
	if s.reading(time.Unix(0, 0).UTC()).IsZero() {
		return Spec{}, fmt.Errorf("%q never comes: no year has such a day; the days of a month are at most 31, in February 29, in April, June, September and November 30", expr)
	}
	return s, nil
}

// canonical checks a field and gives it as the library reads it: with names
// and numbers as they were, but without the 7 for Sunday.
func (f field) canonical(text string, item *regexp.Regexp) (string, error) {
	list := strings.Split(text, ",")
	for i, one := range list {
		m := item.FindStringSubmatch(one)
		if m == nil {
			return "", f.refuse(text)
		}
		low, high, step := f.number(m[2]), f.number(m[3]), 1
		if m[1] != "" {
			low, high = f.min, f.max
		}
		if m[3] == "" && m[1] == "" {
			high = low
		}
		if m[4] != "" {
			step, _ = strconv.Atoi(m[4])
		}
		if low < f.min || high > f.max || low > high || step < 1 || step > f.max {
			return "", f.refuse(text)
		}
		if f.max == 7 && m[1] == "" && high == 7 {
			list[i] = sunday(low, step)
		}
	}
	return strings.Join(list, ","), nil
}

// sunday writes out the days of the week from low to 7 by steps, 7 as 0.
func sunday(low, step int) string {
	var days []string
	for d := low; d <= 7; d += step {
		days = append(days, strconv.Itoa(d%7))
	}
	return strings.Join(days, ",")
}

// number gives the value that a text stands for, a name or decimal digits.
func (f field) number(text string) int {
	if n, err := strconv.Atoi(text); err == nil {
		return n
	}
	return f.min + slices.Index(strings.Split(f.names, "|"), strings.ToLower(text))
}

func (f field) refuse(text string) error {
	return fmt.Errorf("%q is not a %s: allowed are %d to %d%s, as * or a value, a rising range (%d-%d), a step of 1 to %d (*/2) or a list of these by commas",
		text, f.name, f.min, f.max, f.hint, f.min+1, f.min+3, f.max)
}
