package metrics

import (
	"io"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

func scrape(t *testing.T, c *Collector) string {
	t.Helper()
	w := httptest.NewRecorder()
	c.Handler().ServeHTTP(w, httptest.NewRequest("GET", "/metrics", nil))
	body, err := io.ReadAll(w.Body)
	if err != nil || w.Code != 200 {
		t.Fatalf("%d, %v:\n%s", w.Code, err, body)
	}
	return string(body)
}

// TestUnknownHasNoSample: a job that never ended well has no time of its last
// success, and before the first state there is nothing at all.
func TestUnknownHasNoSample(t *testing.T) {
	c := New()
	if text := scrape(t, c); strings.Contains(text, "antidotary_") {
		t.Errorf("before anything is known it shows\n%s", text)
	}
	c.Set(State{Jobs: map[string]Job{"sweep": {Failing: true, Next: time.Unix(2000, 0), Interval: time.Hour}}, Engine: "1"})
	text := scrape(t, c)
	for _, want := range []string{`antidotary_job_failing{task="sweep"} 1`, `antidotary_job_next_timestamp_seconds{task="sweep"} 2000`, `antidotary_job_interval_seconds{task="sweep"} 3600`, `antidotary_build_info{engine="1",`} {
		if !strings.Contains(text, want) {
			t.Errorf("%s is missing in\n%s", want, text)
		}
	}
	for _, not := range []string{"job_last_success", "job_lateness", "oldest_pending"} {
		if strings.Contains(text, not) {
			t.Errorf("%s is shown, and nothing is known of it", not)
		}
	}
}

// TestWhatIsKnownIsShown with its unit, and the old state is gone.
func TestWhatIsKnownIsShown(t *testing.T) {
	c := New()
	c.Set(State{Mails: map[string]int{"queued": 9}})
	c.Set(State{Jobs: map[string]Job{"sweep": {Succeeded: time.UnixMicro(1500000), Late: 90 * time.Second, Missed: 3}},
		Mails: map[string]int{"sent": 4}, OldestMail: time.Unix(7, 0)})
	text := scrape(t, c)
	for _, want := range []string{`antidotary_job_last_success_timestamp_seconds{task="sweep"} 1.5`, `antidotary_job_lateness_seconds{task="sweep"} 90`,
		`antidotary_job_missed_slots{task="sweep"} 3`, `antidotary_job_failing{task="sweep"} 0`, `antidotary_outbox_messages{state="sent"} 4`,
		`antidotary_outbox_oldest_pending_timestamp_seconds 7`} {
		if !strings.Contains(text, want) {
			t.Errorf("%s is missing in\n%s", want, text)
		}
	}
	if strings.Contains(text, `state="queued"`) {
		t.Error("a state that is no more is still shown")
	}
}
