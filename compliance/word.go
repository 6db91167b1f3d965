package compliance

import "antidotary/inventory"

// CheckClass refuses a word that records and rules could never agree on:
// classes of paper, kinds of activity, requirements and rule ids are
// lower-case words joined by hyphens or dots.
func CheckClass(field, v string) error { return inventory.CheckWord(field, v) }
