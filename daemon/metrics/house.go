package metrics

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// House is what the last judging found. Counts are by standing, severity and
// requirement, never by animal or person: a network of 10,000 subjects shows
// no more series than a house of ten.
type House struct {
	Judged   time.Time      // when
	Records  map[string]int // held animals, papers, lots, people, ...
	Duties   map[string]int // by standing
	Findings map[Kind]int   // duties that need somebody
	// Earliest is, for each severity, the end of the earliest act-by day that
	// is still to come.
	Earliest   map[string]time.Time
	Overdue    map[string]int // by severity: steps whose day is over
	MailHeld   bool
	NobodyTold bool // the house sends no mail
}

// Kind is what findings are counted by.
type Kind struct{ Requirement, Standing, Severity string }

// mostRequirements bounds the series: beyond it findings are counted under
// "other". Rule packs hold some dozens of requirements.
const mostRequirements = 60

var (
	judged     = describe("judged_timestamp_seconds", "When the records were last judged (Unix time).")
	records    = describe("records", "Records by kind; animals are those held now.", "kind")
	duties     = describe("duties", "Duties by standing: out_of_order, cannot_tell, in_order or not_applicable.", "standing")
	findings   = describe("findings", "Duties that need somebody, by requirement, standing and severity.", "requirement", "standing", "severity")
	earliest   = describe("act_by_timestamp_seconds", "The end of the earliest act-by day that is still to come (Unix time), by severity. Absent: no step is ahead.", "severity")
	overdue    = describe("overdue_steps", "Steps whose act-by day is over, by severity.", "severity")
	mailHeld   = describe("mail_held", "1 while no mail leaves until somebody releases it.")
	nobodyTold = describe("nobody_told", "1 where the house sends no mail.")
)

var ofHouse = []*prometheus.Desc{judged, records, duties, findings, earliest, overdue, mailHeld, nobodyTold}

func (h *House) collect(gauge func(*prometheus.Desc, float64, ...string), at func(*prometheus.Desc, time.Time, ...string)) {
	at(judged, h.Judged)
	for kind, n := range h.Records {
		gauge(records, float64(n), kind)
	}
	for standing, n := range h.Duties {
		gauge(duties, float64(n), standing)
	}
	for kind, n := range h.bounded() {
		gauge(findings, float64(n), kind.Requirement, kind.Standing, kind.Severity)
	}
	for severity, end := range h.Earliest {
		at(earliest, end, severity)
	}
	for severity, n := range h.Overdue {
		gauge(overdue, float64(n), severity)
	}
	gauge(mailHeld, yes(h.MailHeld))
	gauge(nobodyTold, yes(h.NobodyTold))
}

// bounded counts the findings of requirements beyond the bound as one.
func (h *House) bounded() map[Kind]int {
	names := make(map[string]bool)
	for kind := range h.Findings {
		names[kind.Requirement] = true
	}
	if len(names) <= mostRequirements {
		return h.Findings
	}
	out := make(map[Kind]int)
	for kind, n := range h.Findings {
		kind.Requirement = "other"
		out[kind] += n
	}
	return out
}

func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
