package inventory

import "antidotary/inventory/day"

// DueBack gives the vials of loans that are planned to be back on each day;
// none, since nobody records when a loan is due.
func (l Lot) DueBack(day.Day) day.Line[int] { return day.Constant(0) }
