package web

import (
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Covers is what is watched by which rules.
type Covers struct {
	Packs []Pack
	Sites []Name
}

// Pack is a file of rules as the page shows it.
type Pack struct {
	Title, Layer, Area, Edition string
	Rules                       int
	ReadOn, ReviewBy            day.Day  // unset: not recorded
	Cancels                     []string // which of its laws are taken to cancel which others; each needs legal review
}

// Review says whether somebody should have looked at the pack again.
func (p *Pack) Review(today day.Day) string {
	switch {
	case p.ReviewBy.IsZero():
		return "no day is set by which to review it"
	case p.ReviewBy < today:
		return "review overdue since " + words.Day(p.ReviewBy)
	default:
		return "to be reviewed by " + words.Day(p.ReviewBy)
	}
}
