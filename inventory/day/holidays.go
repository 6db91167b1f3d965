package day

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"
)

// Holidays is a dated set of holidays of several calendars. Holidays are data
// and not an algorithm, because one-off days come and go by proclamation
// (Scotland has one on 15 June 2026); so the set says of when it is, may be
// replaced, and covers only the years that it holds.
//
// Whoever keeps it must hold every holiday of each year that it mentions.
type Holidays struct {
	edition   string
	readOn    Day
	hash      string
	text      string
	calendars map[string]*holidayYears
}

// Holiday is one day on which an office is shut.
type Holiday struct {
	On   Day
	Key  string // what it is, such as "new_year"
	Note string // "observed" or "substitute" where it is not on its own date
}

// holidayYears is one calendar of the set.
type holidayYears struct {
	first, last int // years
	on          map[Day]Holiday
}

//go:embed holidays.tsv
var embeddedHolidays []byte

// Embedded gives the set that is built in: US-FED (federal offices of the
// United States, derived from 5 U.S.C. 6103(b) and Executive Order 11582 s.3),
// GB-EAW (England and Wales), GB-SCT (Scotland) and GB-NIR (Northern Ireland),
// the latter three as published by the UK government.
var Embedded = sync.OnceValue(func() *Holidays {
	h, err := ReadHolidays("holidays.tsv", bytes.NewReader(embeddedHolidays))
	if err != nil {
		panic(fmt.Errorf("read the holidays that are built in: %w", err))
	}
	return h
})

// Calendar gives a calendar of the set by name. The empty name gives
// WeekendsOnly; a name that the set does not know is an error.
func (h *Holidays) Calendar(name string) (Calendar, error) {
	if name == "" {
		return WeekendsOnly(), nil
	}
	data, ok := h.calendars[name]
	if !ok {
		return Calendar{}, fmt.Errorf("there is no holiday calendar %q: %s are known, and none at all for weekends only", name, strings.Join(h.Names(), ", "))
	}
	return Calendar{name: name, data: data}, nil
}

// Names lists the calendars of the set, sorted.
func (h *Holidays) Names() []string { return slices.Sorted(maps.Keys(h.calendars)) }

// Edition says in words which edition of the sources the set follows. It may
// be empty.
func (h *Holidays) Edition() string { return h.edition }

// ReadOn gives the day on which the sources stood as the set has them, unset
// if the set does not say.
func (h *Holidays) ReadOn() Day { return h.readOn }

// Hash gives the SHA-256 of the bytes that were read, as 64 hexadecimal
// digits, so that a judgement can name the very set that it used.
func (h *Holidays) Hash() string { return h.hash }

// Text gives what was read, so that the set of a day can be read again.
func (h *Holidays) Text() string { return h.text }

const (
	maxHolidayBytes  = 4 << 20
	maxHolidayErrors = 20
	holidayColumns   = "calendar\tdate\tkey\tnote"
)

// ReadHolidays reads a set from tab-separated text: the heading "calendar,
// date, key, note", then one holiday a line; the date is YYYY-MM-DD, the note
// may be empty. Lines that begin with # are comments; "# edition: ..." and
// "# read on: YYYY-MM-DD" tell what Edition and ReadOn give. Each error names
// file and line, with at most twenty of them joined.
//
// A calendar covers the years from the first to the last that it mentions, and
// may not leave one out between. A new year's day that is observed in the old
// year counts for neither, for it may stand alone in its year.
func ReadHolidays(file string, r io.Reader) (*Holidays, error) {
	content, err := io.ReadAll(io.LimitReader(r, maxHolidayBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read holidays from %s: %w", file, err)
	}
	if len(content) > maxHolidayBytes {
		return nil, fmt.Errorf("read holidays from %s: more than %d bytes", file, maxHolidayBytes)
	}
	sum := sha256.Sum256(content)
	in := holidayReader{set: &Holidays{hash: hex.EncodeToString(sum[:]), text: string(content), calendars: map[string]*holidayYears{}}}
	line := 0
	for text := range strings.Lines(strings.TrimPrefix(string(content), "\ufeff")) {
		line++
		if err := in.line(strings.TrimRight(text, "\r\n")); err != nil {
			in.errs = append(in.errs, fmt.Errorf("%s:%d: %w", file, line, err))
		}
		if len(in.errs) == maxHolidayErrors {
			return nil, errors.Join(in.errs...)
		}
	}
	in.finish(file)
	if len(in.errs) > 0 {
		return nil, errors.Join(in.errs...)
	}
	return in.set, nil
}

// holidayReader reads a set line by line.
type holidayReader struct {
	set    *Holidays
	headed bool // the heading has come
	errs   []error
}

func (in *holidayReader) line(text string) error {
	switch comment, isComment := strings.CutPrefix(text, "#"); {
	case isComment:
		return in.comment(strings.TrimSpace(comment))
	case text == "":
		return nil
	case !in.headed:
		in.headed = true
		if text != holidayColumns {
			return fmt.Errorf("the heading must be %q, with tabs between", strings.ReplaceAll(holidayColumns, "\t", " "))
		}
		return nil
	}
	return in.holiday(text)
}

// comment takes what the set says of itself; any other comment means nothing.
func (in *holidayReader) comment(text string) (err error) {
	if edition, ok := strings.CutPrefix(text, "edition:"); ok {
		in.set.edition = strings.TrimSpace(edition)
	}
	if readOn, ok := strings.CutPrefix(text, "read on:"); ok {
		if in.set.readOn, err = Parse(strings.TrimSpace(readOn)); err != nil {
			return fmt.Errorf("field \"read on\": %w", err)
		}
	}
	return nil
}

var (
	calendarName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*$`)
	holidayKey   = regexp.MustCompile(`^[a-z0-9][a-z0-9_]*$`)
)

func (in *holidayReader) holiday(text string) error {
	fields := strings.Split(text, "\t")
	if len(fields) == 3 { // an editor that trims lines also takes the tab before an empty note
		fields = append(fields, "")
	}
	if len(fields) != 4 {
		return fmt.Errorf("%d columns: calendar, date, key and note are needed, with tabs between", len(fields))
	}
	name, key, note := fields[0], fields[2], fields[3]
	if !calendarName.MatchString(name) {
		return fmt.Errorf("field \"calendar\": %q is not a name: letters, digits, dots, hyphens and underscores are allowed", name)
	}
	on, err := Parse(fields[1])
	if err != nil {
		return fmt.Errorf("field \"date\": %w", err)
	}
	if !holidayKey.MatchString(key) {
		return fmt.Errorf("field \"key\": %q is not a key: small letters, digits and underscores are allowed", key)
	}
	years := in.set.calendars[name]
	if years == nil {
		years = &holidayYears{on: map[Day]Holiday{}}
		in.set.calendars[name] = years
	}
	if _, twice := years.on[on]; twice {
		return fmt.Errorf("calendar %s has %s already: one line a day", name, on)
	}
	years.on[on] = Holiday{On: on, Key: key, Note: note}
	return nil
}

// finish works out what each calendar covers.
func (in *holidayReader) finish(file string) {
	if len(in.set.calendars) == 0 && len(in.errs) == 0 {
		in.errs = append(in.errs, fmt.Errorf("%s: there are no holidays in it", file))
	}
	for _, name := range in.set.Names() {
		if err := in.set.calendars[name].cover(); err != nil {
			in.errs = append(in.errs, fmt.Errorf("%s: calendar %s: %w", file, name, err))
		}
	}
}

func (y *holidayYears) cover() error {
	var years []int
	for on, h := range y.on {
		year, month, _ := on.Date()
		if h.Key == "new_year" && month == time.December {
			continue
		}
		years = append(years, year)
	}
	if len(years) == 0 {
		return errors.New("there is no year that it covers")
	}
	slices.Sort(years)
	for i, year := range years[1:] {
		if year > years[i]+1 {
			return fmt.Errorf("there is no holiday in %d: give every year from the first to the last", years[i]+1)
		}
	}
	y.first, y.last = years[0], years[len(years)-1]
	return nil
}
