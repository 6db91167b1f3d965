package metrics

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// House is what the last judging found. Counts are by standing, severity,
// requirement and the role whose step it is, never by animal or person: a
// network of 10,000 subjects shows no more series than a house of ten.
type House struct {
	Judged   time.Time      // when
	Records  map[string]int // held animals, papers, lots, people, ...
	Duties   map[string]int // by standing
	Findings map[Kind]int   // duties that need somebody
	// Earliest is, for each owner and severity, the end of the earliest act-by
	// day that is still to come.
	Earliest   map[Whose]time.Time
	Overdue    map[Whose]int        // steps whose day is over
	Packs      map[string]time.Time // by name: the end of the day by which its rules must be read again
	MailHeld   bool
	NobodyTold bool // the house sends no mail
}

// Kind is what findings are counted by.
type Kind struct{ Requirement, Standing, Severity, Owner string }

// Whose is what steps are counted by.
type Whose struct{ Owner, Severity string }

// Both bound the series. Beyond mostFindings the findings are counted under
// the requirement "other"; beyond mostPacks only the pack that is due first is
// shown, as "other".
const (
	mostFindings = 180
	mostPacks    = 20
)

const (
	unix  = "seconds since 1970, UTC"
	yesNo = "1 or 0"
)

var (
	judged     = describe("judged_timestamp_seconds", unix, "When the records were last judged.")
	records    = describe("records", "records", "Records by kind; animals are those held now.", "kind")
	duties     = describe("duties", "duties", "Duties by standing: out_of_order, cannot_tell, in_order or not_applicable.", "standing")
	findings   = describe("findings", "duties", "Duties that need somebody, by requirement, standing, severity and the role that must act; those in_order are due soon.", "requirement", "standing", "severity", "owner")
	earliest   = describe("act_by_timestamp_seconds", unix, "The end of the earliest act-by day that is still to come, by role and severity. Absent: no step is ahead.", "owner", "severity")
	overdue    = describe("overdue_steps", "steps", "Steps whose act-by day is over, by role and severity.", "owner", "severity")
	review     = describe("pack_review_timestamp_seconds", unix, "The end of the day by which a rule pack must be checked against the law in force again.", "pack")
	mailHeld   = describe("mail_held", yesNo, "1 while no mail leaves until somebody releases it.")
	nobodyTold = describe("nobody_told", yesNo, "1 where the house sends no mail.")
)

func (h *House) collect(gauge func(*prometheus.Desc, float64, ...string), at func(*prometheus.Desc, time.Time, ...string)) {
	at(judged, h.Judged)
	for kind, n := range h.Records {
		gauge(records, float64(n), kind)
	}
	for standing, n := range h.Duties {
		gauge(duties, float64(n), standing)
	}
	for kind, n := range h.bounded() {
		gauge(findings, float64(n), kind.Requirement, kind.Standing, kind.Severity, kind.Owner)
	}
	for of, end := range h.Earliest {
		at(earliest, end, of.Owner, of.Severity)
	}
	for of, n := range h.Overdue {
		gauge(overdue, float64(n), of.Owner, of.Severity)
	}
	for pack, end := range h.packs() {
		at(review, end, pack)
	}
	gauge(mailHeld, yes(h.MailHeld))
	gauge(nobodyTold, yes(h.NobodyTold))
}

// bounded counts findings under one requirement where there are too many.
func (h *House) bounded() map[Kind]int {
	if len(h.Findings) <= mostFindings {
		return h.Findings
	}
	out := make(map[Kind]int)
	for kind, n := range h.Findings {
		kind.Requirement = "other"
		out[kind] += n
	}
	return out
}

// packs gives the one that is due first where there are too many.
func (h *House) packs() map[string]time.Time {
	if len(h.Packs) <= mostPacks {
		return h.Packs
	}
	var first time.Time
	for _, end := range h.Packs {
		if first.IsZero() || end.Before(first) {
			first = end
		}
	}
	return map[string]time.Time{"other": first}
}

func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
