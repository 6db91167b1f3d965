package daemon

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/metrics"
	"antidotary/daemon/scale"
	"antidotary/inventory/day"
)

// BenchmarkMetrics counts a network for the metrics and has it scraped, in
// turns with a scrape that shows nothing of a house. ms-count is once for each
// judging, beside the judging itself; a scrape reads what was counted.
func BenchmarkMetrics(b *testing.B) {
	rules, err := scale.Rulebook()
	if err != nil {
		b.Fatal(err)
	}
	for _, size := range []scale.Size{scale.Medium, tenThousand, scale.National} {
		b.Run(size.Name, func(b *testing.B) {
			s := scale.Network(size, day.In(morning, time.UTC))
			full, empty := metrics.New(), metrics.New()
			empty.Set(metrics.State{Engine: Engine})
			var judging, counting, scrape, blank time.Duration
			var r *compliance.Report
			series := 0
			for b.Loop() {
				judging += lasting(func() { r = compliance.Evaluate(rules, s, compliance.Ask{Now: morning}) })
				counting += lasting(func() { full.Set(metrics.State{Engine: Engine, House: houseOf(r, false)}) })
				scrape += lasting(func() { series = scraped(b, full) })
				blank += lasting(func() { scraped(b, empty) })
			}
			each := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 / float64(b.N) }
			b.ReportMetric(each(counting), "ms-count")
			b.ReportMetric(float64(counting)/float64(judging), "x-judging")
			b.ReportMetric(each(scrape), "ms-scrape")
			b.ReportMetric(float64(scrape)/float64(blank), "x-empty-scrape")
			b.ReportMetric(float64(series), "series")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// scraped gives how many series of ours a scrape shows.
func scraped(b *testing.B, c *metrics.Collector) int {
	b.Helper()
	w := httptest.NewRecorder()
	c.Handler().ServeHTTP(w, httptest.NewRequest("GET", "/metrics", nil))
	if w.Code != http.StatusOK {
		b.Fatalf("%d: %s", w.Code, w.Body)
	}
	return strings.Count(w.Body.String(), "\nantidotary_")
}
