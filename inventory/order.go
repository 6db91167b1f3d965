package inventory

import (
	"fmt"
	"slices"
	"strings"

	"antidotary/inventory/day"
)

// StageKind says how far an order is.
type StageKind string

// The stages of an order.
const (
	StageOrdered   StageKind = "ordered"
	StageShipped   StageKind = "shipped"
	StageCustoms   StageKind = "held-at-customs"
	StageArrived   StageKind = "arrived"  // at the door, not checked yet: it counts for nothing in hand
	StageReceived  StageKind = "received" // what came is in the lots; the order is closed
	StageCancelled StageKind = "cancelled"
)

// follows says which stages may come next. Nothing follows a closed order.
var follows = map[StageKind][]StageKind{
	"":           {StageOrdered},
	StageOrdered: {StageShipped, StageCustoms, StageArrived, StageReceived, StageCancelled},
	StageShipped: {StageCustoms, StageArrived, StageReceived, StageCancelled},
	StageCustoms: {StageShipped, StageArrived, StageReceived, StageCancelled},
	StageArrived: {StageReceived, StageCancelled},
}

// Stage is a step that an order reached on a day.
type Stage struct {
	What StageKind `json:"what"`
	On   day.Day   `json:"on"`
}

// Order is what the house has ordered firmly. It counts for nothing in hand,
// whatever its stage, until the vials that came are recorded in their lots.
type Order struct {
	ID      ID     `json:"id"`
	Number  string `json:"number"` // unique: the house's own
	Product ID     `json:"product"`
	Place   ID     `json:"place"`           // where the vials will be kept
	Supply  ID     `json:"supply,omitzero"` // the offer; zero: none is recorded
	From    string `json:"from,omitempty"`  // the supplier, where no offer is recorded
	Vials   int    `json:"vials"`
	// Expected is the day on which the vials will be checked and at hand; unset:
	// unknown.
	Expected day.Day `json:"expected,omitzero"`
	// Labelled is the last usable day on the labels, where the supplier said
	// it; else Life is for how many days from Expected on the vials will be in
	// date, 0 unknown.
	Labelled day.End `json:"labelled,omitzero"`
	Life     int     `json:"life_days,omitempty"`
	Note     string  `json:"note,omitempty"`
	Stages   []Stage `json:"stages"` // the first is ordered
}

// Ref points to the order.
func (o Order) Ref() Ref { return Ref{Kind: KindOrder, ID: o.ID} }

// Name gives the order's number.
func (o Order) Name() string { return o.Number }

// Check says what is wrong with the record's own fields.
func (o Order) Check() error {
	if err := firstOf(required("number", o.Number), given("product", o.Product), given("place", o.Place),
		positive("vials", o.Vials), notNegative("life_days", o.Life)); err != nil {
		return err
	}
	if o.Labelled.Kind == day.Never {
		return &FieldError{Field: "labelled", Problem: "never is not allowed: antivenom has an expiry; leave it out if it is unknown"}
	}
	if err := o.checkStages(); err != nil {
		return err
	}
	if !o.Expected.IsZero() && o.Expected < o.Stages[0].On {
		return &FieldError{Field: "expected", Problem: fmt.Sprintf("must not be before %s, the day of the order", o.Stages[0].On)}
	}
	if last, known := o.Labelled.Known(); known && last < o.Expected {
		return &FieldError{Field: "labelled", Problem: fmt.Sprintf("must not be before %s, the day on which the vials are expected", o.Expected)}
	}
	return nil
}

func (o Order) checkStages() error {
	if len(o.Stages) == 0 {
		return &FieldError{Field: "stages", Problem: "are none: write the day of the order"}
	}
	var before Stage
	for _, s := range o.Stages {
		if s.On.IsZero() || s.On < before.On {
			return &FieldError{Field: "stages", Problem: "must have days, in ascending order"}
		}
		if !slices.Contains(follows[before.What], s.What) {
			return &FieldError{Field: "stages", Problem: mayFollow(before.What, s.What)}
		}
		before = s
	}
	return nil
}

func mayFollow(before, next StageKind) string {
	if before == "" {
		return fmt.Sprintf("must begin with %s, not with %q", StageOrdered, next)
	}
	var may []string
	for _, k := range follows[before] {
		may = append(may, string(k))
	}
	if len(may) == 0 {
		return fmt.Sprintf("must end with %s: %q cannot follow", before, next)
	}
	return fmt.Sprintf("must not go from %s to %q: what may follow is %s", before, next, strings.Join(may, ", "))
}

// Stage gives how far the order is; of an order without stages, which records
// refuse, nothing.
func (o Order) Stage() Stage {
	if len(o.Stages) == 0 {
		return Stage{}
	}
	return o.Stages[len(o.Stages)-1]
}

// Closed says that nothing more comes of the order: it was received or
// cancelled.
func (o Order) Closed() bool { return len(follows[o.Stage().What]) == 0 }

// GoodUntil gives the last day on which the expected vials will be in date;
// unknown where neither their label nor their life is known.
func (o Order) GoodUntil() day.End {
	if _, known := o.Labelled.Known(); known || o.Life == 0 || o.Expected.IsZero() {
		return o.Labelled
	}
	return day.Until(o.Expected.Add(o.Life))
}

// Planned gives the vials that the order will bring, for the planned line:
// from the expected day to the last day on which they will be in date. As of
// today nothing is planned of an order that is overdue, closed, expected on no
// known day, or in date until no known day. What was received is in the lots.
func (o Order) Planned(today day.Day) day.Line[int] {
	last, known := o.GoodUntil().Known()
	if !known || o.Closed() || o.Expected.IsZero() || o.Expected < today {
		return day.Constant(0)
	}
	return day.Steps(0, day.Change[int]{On: o.Expected, To: o.Vials}, day.Change[int]{On: last + 1, To: 0})
}
