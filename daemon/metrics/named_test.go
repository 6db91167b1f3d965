package metrics

import (
	"os"
	"regexp"
	"strings"
	"testing"
	"time"
)

// TestEveryMetricThatAlertsNameIsThere, in a scrape of a watch of which
// everything is known.
func TestEveryMetricThatAlertsNameIsThere(t *testing.T) {
	rules, err := os.ReadFile("../../deploy/prometheus/alerts.yaml")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Unix(100, 0)
	c := New()
	c.Set(State{Jobs: map[string]Job{"sweep": {Succeeded: at, Next: at, Interval: time.Hour}}, Mails: map[string]int{"dead": 1}, OldestMail: at, Answered: at,
		House: &House{Judged: at, Records: map[string]int{"lot": 1}, Duties: map[string]int{"in_order": 1}, Findings: map[Kind]int{{"a", "b", "c", "d"}: 1},
			Earliest: map[Whose]time.Time{{"curator", "critical"}: at}, Overdue: map[Whose]int{{"curator", "critical"}: 1}, Packs: map[string]time.Time{"us": at}}})
	text := scrape(t, c)
	seen := make(map[string]bool)
	for _, name := range regexp.MustCompile(`antidotary_[a-z_]+`).FindAllString(string(rules), -1) {
		if !seen[name] && !strings.Contains(text, "\n"+name+" ") && !strings.Contains(text, "\n"+name+"{") {
			t.Errorf("alerts name %s, which no scrape has", name)
		}
		seen[name] = true
	}
	if len(seen) < 8 {
		t.Errorf("found only %d metrics in the alert rules", len(seen))
	}
}
