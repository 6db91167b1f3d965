package metrics

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestSeriesAreBounded: at most 300 series of ours, however many subjects,
// requirements, roles and packs there are, and no finding is left out.
func TestSeriesAreBounded(t *testing.T) {
	var owners, severities, states = []string{"a", "b", "c", "d", "e", "f", "g", "h"}, []string{"critical", "serious", "notice"}, []string{"queued", "claimed", "started", "retry", "ambiguous", "sent", "dead"}
	for _, requirements := range []int{7, 60, 61, 5000} {
		at := time.Unix(1, 0)
		h := &House{Judged: at, Findings: make(map[Kind]int), Records: make(map[string]int), Duties: make(map[string]int), Earliest: make(map[Whose]time.Time),
			Overdue: make(map[Whose]int), Packs: make(map[string]time.Time)}
		total := 0
		for i := range requirements {
			h.Packs[fmt.Sprint("pack-", i)] = at
			for j, standing := range []string{"out_of_order", "cannot_tell", "in_order"} {
				h.Findings[Kind{fmt.Sprint("requirement.", i), standing, severities[i%3], owners[i%8]}] = i + j
				total += i + j
			}
		}
		for i := range 7 {
			h.Records[fmt.Sprint(i)], h.Duties[fmt.Sprint(i%4)] = 1, 1
		}
		for _, owner := range owners {
			for _, severity := range severities {
				h.Earliest[Whose{owner, severity}], h.Overdue[Whose{owner, severity}] = at, 1
			}
		}
		job := Job{Succeeded: at, Next: at}
		s := State{Jobs: map[string]Job{"sweep": job, "confirm": job, "prune": job}, Mails: make(map[string]int), OldestMail: at, Answered: at, House: h}
		for _, state := range states {
			s.Mails[state] = 1
		}
		c := New()
		c.Set(s)
		series, sum := 0, 0.0
		for line := range strings.Lines(scrape(t, c)) {
			if !strings.HasPrefix(line, "antidotary_") {
				continue
			}
			series++
			var n float64
			if strings.HasPrefix(line, "antidotary_findings{") {
				if _, err := fmt.Sscan(line[strings.LastIndexByte(line, ' ')+1:], &n); err != nil {
					t.Fatal(err)
				}
				sum += n
			}
		}
		t.Logf("%d requirements: %d series", requirements, series)
		if series > 300 || int(sum) != total {
			t.Errorf("%d requirements: %d series, which count %v of %d findings", requirements, series, sum, total)
		}
	}
}
