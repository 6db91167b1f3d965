package metrics

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestSeriesAreBounded: at most 300 series of ours, however many subjects,
// requirements and rules there are.
func TestSeriesAreBounded(t *testing.T) {
	for _, requirements := range []int{40, 60, 61, 5000} {
		h := &House{Judged: time.Unix(1, 0), Findings: make(map[Kind]int), Duties: map[string]int{"in_order": 10_000}}
		total := 0
		for i := range requirements {
			for _, standing := range []string{"out_of_order", "cannot_tell"} {
				h.Findings[Kind{fmt.Sprint("requirement.", i), standing, "critical"}] = i + 1
				total += i + 1
			}
		}
		c := New()
		c.Set(State{Jobs: map[string]Job{"sweep": {}, "confirm": {}, "prune": {}}, House: h})
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
		if series > 300 || int(sum) != total {
			t.Errorf("%d requirements: %d series, which count %v of %d findings", requirements, series, sum, total)
		}
	}
}
