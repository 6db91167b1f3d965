package intake

import (
	"fmt"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Fate is what becomes of a row.
type Fate string

// The fates.
const (
	New     Fate = "new"
	Changed Fate = "changed"
	Same    Fate = "same"
	Refused Fate = "refused"
)

// Difference is one field that a row changes. Old is empty where nothing was
// recorded.
type Difference struct {
	Field string `json:"field"`
	Old   string `json:"old"`
	New   string `json:"new"`
}

// Entry is a row on its way to a record.
type Entry struct {
	Table    *Table
	Row      Row
	Fate     Fate
	Name     string // what people call the record
	Diffs    []Difference
	Mistakes []Mistake

	key       string       // the natural key within the list
	site      inventory.ID // of vials
	unplaced  bool         // an animal without enclosure
	uncounted bool         // vials without a day
	session   inventory.ID // that a row of sessions is about
	unasked   string       // the class of a paper for which no rule asks
	record    inventory.Record
	change    compliance.Change
	needs     []inventory.Record // new records that this one refers to
}

// refuse notes what is wrong with a field's cell.
func (e *Entry) refuse(field, format string, args ...any) {
	at := e.Table.Sheet.at(e.Row, -1)
	if i, ok := e.Table.at[field]; ok {
		at = e.Table.Sheet.at(e.Row, i)
	}
	e.Mistakes = append(e.Mistakes, Mistake{at, field, fmt.Sprintf(format, args...)})
}

func (e *Entry) bad() bool { return len(e.Mistakes) > 0 }

// raw gives a field's cell as it stands, empty where there is none or where
// nobody knows. A cell hidden under a merged one, or of a failed formula, is
// refused.
func (e *Entry) raw(field string) string {
	i, ok := e.Table.at[field]
	if !ok {
		return ""
	}
	text := e.Row.cell(i)
	if spreadsheetError(text) {
		e.refuse(field, "%q is a formula that failed; a value is required", text)
		return ""
	}
	if strings.TrimSpace(text) == "" && len(e.Table.merged) > 0 {
		if _, hidden := e.Table.covering(i+1, e.Row.Line); hidden {
			e.refuse(field, "is hidden under a merged cell; unmerge it and write each row's own value")
			return ""
		}
	}
	if isUnknown(text) {
		return ""
	}
	return text
}

// text gives a field's cell on one line; a required one must not be blank.
func (e *Entry) text(field string) string {
	before := len(e.Mistakes)
	text := tidy(e.raw(field))
	if text == "" && e.Table.List.field(field).Required && len(e.Mistakes) == before {
		e.refuse(field, "is blank; %s", e.Table.List.field(field).Help)
	}
	if err := inventory.Plain(field, text); err != nil {
		e.refuse(field, "%v", err)
	}
	return text
}

// day gives a full date. What has happened has not happened after today.
func (e *Entry) day(p *planner, field string, today day.Day) day.Day {
	text := e.raw(field)
	if text == "" {
		return 0
	}
	d, wrong := parseDay(text, p.mapping.Dates)
	if wrong != "" {
		e.refuse(field, "%s", wrong)
		return 0
	}
	if !today.IsZero() && d > today {
		e.refuse(field, "%s is after today, %s; a day not after today is allowed", d, today)
		return 0
	}
	return d
}

// doubts refuses a cell that says that nobody knows what is recorded already:
// what is recorded would go on reading as known.
func (e *Entry) doubts(field, recorded string) {
	i, ok := e.Table.at[field]
	if text := tidy(e.Row.cell(i)); ok && isDoubt(text) {
		e.refuse(field, "%q says that nobody knows, but %s is recorded; correct the record if that is wrong, or leave the cell blank to keep it", text, recorded)
	}
}

// set makes a field of a record what a cell says, and notes the difference. A
// cell that says nothing changes nothing.
func set[T comparable](e *Entry, field string, at *T, to T, show func(T) string) {
	var nothing T
	if to == nothing && *at != nothing {
		e.doubts(field, show(*at))
	}
	if to == nothing || *at == to {
		return
	}
	old := ""
	if *at != nothing {
		old = show(*at)
	}
	e.Diffs = append(e.Diffs, Difference{field, old, show(to)})
	*at = to
}

func plain[T any](v T) string { return fmt.Sprint(v) }

// settle judges the finished record by its own rules.
func settle[T inventory.Record](e *Entry, rec T, recorded bool) {
	if e.bad() {
		return
	}
	if err := rec.Check(); err != nil {
		e.refuse("", "%v", err)
		return
	}
	switch {
	case !recorded:
		e.Fate = New
	case len(e.Diffs) > 0:
		e.Fate = Changed
	default:
		e.Fate = Same
		return
	}
	e.record, e.change = rec, compliance.Record(rec)
}
