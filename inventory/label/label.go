package label

import (
	"fmt"

	"antidotary/inventory/day"
)

// Element is one piece of a code.
type Element struct {
	AI    string `json:"ai"`    // application identifier: 2 to 4 digits
	Value string `json:"value"` // without separator
}

// Title says what an element is, in a few words.
func (e Element) Title() string { return identifiers[e.AI].title }

func (e Element) String() string { return "(" + e.AI + ")" + e.Value }

// Label is what a code says. What it does not say is empty.
type Label struct {
	Symbology string    // identifier of the kind of code, such as ]d2; empty: the scanner sent none
	Elements  []Element // all, in their order; what stands twice stands here once

	GTIN     string // trade item number of what carries the code, 14 digits (AI 01)
	Contains string // trade item number of what is within, 14 digits (AI 02)
	Lot      string // lot number (AI 10)
	// LotDoubtful: the lot number may have taken in what follows it, because a
	// separator may be missing.
	LotDoubtful bool
	Serial      string // serial number (AI 21)
	// End is the last day on which it is good (AI 17, or the last whole day
	// before the minute of AI 7003); MonthOnly: the code has a month and no day.
	End       day.End
	MonthOnly bool
	EndsAt    *Moment // AI 7003; nil: the code has none
	// Made is the day on which it was made (AI 11), or the last of its month.
	Made          day.Day
	MadeMonthOnly bool
	// StoreMin and StoreMax are limits in milli-degrees Celsius (AI 4330 to
	// 4333), rounded to the narrower range; nil: the code has none.
	StoreMin, StoreMax *int
	// Items is the count of items within the trade item (AI 30), Packs that of
	// trade items within the unit (AI 37); 0: the code has none. How many
	// vials either is, a code never says.
	Items, Packs int
}

// Moment is a minute by the clock of wherever the package is: a code has no
// zone.
type Moment struct {
	On           day.Day
	Hour, Minute int
}

func (m Moment) String() string { return fmt.Sprintf("%s %02d:%02d", m.On, m.Hour, m.Minute) }

// About says what a warning puts in doubt.
type About string

// What warnings are about.
const (
	AboutProduct About = "product"
	AboutLot     About = "lot"
	AboutEnd     About = "end"
	AboutVials   About = "vials"
	AboutHour    About = "hour" // an expiry within a day; the day before counts
	AboutRest    About = "rest" // a part that was not read
)

// Warning is something to look at on the package itself before anything is
// recorded from the code.
type Warning struct {
	About About  `json:"about"`
	Text  string `json:"text"` // a sentence without a full stop
}
