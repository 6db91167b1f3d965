package inventory

import (
	"fmt"

	"antidotary/inventory/day"
)

// Promise keeps vials at a place for somebody else: they are there, and do not
// count.
type Promise struct {
	Number int     `json:"number"` // within the lot, from 1
	From   day.Day `json:"from"`
	Until  day.Day `json:"until,omitzero"` // last day of it; unset: until somebody ends it
	Ended  day.Day `json:"ended,omitzero"` // no more from this day; unset: it runs
	Place  ID      `json:"place"`
	Vials  int     `json:"vials"` // at least 1
	To     string  `json:"to"`
	Why    string  `json:"why,omitempty"`
}

// On says whether the promise counts on a day. Where it begins and is ended on
// one day, it counts that day.
func (p Promise) On(d day.Day) bool {
	return d == p.From || d > p.From && (p.Until.IsZero() || d <= p.Until) && (p.Ended.IsZero() || d < p.Ended)
}

// line gives the vials that are promised on each day.
func (p Promise) line() day.Line[int] {
	b := day.NewBuilder(0)
	b.Add(p.From, p.Vials)
	var last day.Day // first day without it
	if !p.Until.IsZero() {
		last = p.Until + 1
	}
	if !p.Ended.IsZero() && (last.IsZero() || p.Ended < last) {
		last = p.Ended
	}
	if !last.IsZero() {
		b.Add(max(last, p.From+1), 0)
	}
	return b.Line()
}

func (p Promise) check(number int) error {
	switch {
	case p.Number != number:
		return &FieldError{Field: "promises", Problem: fmt.Sprintf("must be numbered from 1 without a gap: number %d stands where %d belongs", p.Number, number)}
	case p.From.IsZero() || !p.Until.IsZero() && p.Until < p.From || !p.Ended.IsZero() && p.Ended < p.From:
		return &FieldError{Field: "promises", Problem: "must have a first day, and an end not before it"}
	case p.Vials < 1:
		return &FieldError{Field: "promises.vials", Problem: "must be at least 1"}
	}
	if err := given("promises.place", p.Place); err != nil {
		return err
	}
	if err := Plain("promises.why", p.Why); err != nil {
		return err
	}
	return required("promises.to", p.To)
}
