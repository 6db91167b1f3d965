package daemon

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/scale"
	"antidotary/daemon/store"
	"antidotary/daemon/web"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// tenThousand is a network of that many animals.
var tenThousand = scale.Size{Name: "10000", Sites: 30, Species: 150, People: 500, Animals: 10_000, Permits: 8_000, Lots: 1_500, Products: 40}

// BenchmarkPage makes the page of a network and serves it, in turns with a
// page that has nothing on it and with the same answer as JSON, so that what
// else the machine does falls on all. ms-make is once for each judging, ms-page
// for each request. The first sweep's findings count as opened since yesterday,
// which is the most that can have changed.
func BenchmarkPage(b *testing.B) {
	rules, err := scale.Rulebook()
	if err != nil {
		b.Fatal(err)
	}
	for _, size := range []scale.Size{scale.Medium, scale.Large, tenThousand, scale.National} {
		b.Run(size.Name, func(b *testing.B) {
			s := scale.Network(size, day.In(morning, time.UTC))
			r := compliance.Evaluate(rules, s, compliance.Ask{Now: morning})
			c := answer.NewCheck(r)
			since := &store.Since{From: morning.AddDate(0, 0, -1)}
			for _, t := range compliance.Diff(nil, r, morning, inventory.NewID) {
				since.Opened = append(since.Opened, *t.After)
			}
			full, empty := &shown{clock: func() time.Time { return morning }}, &shown{clock: func() time.Time { return morning }}
			none := &answer.Check{Now: morning, AsOf: day.In(morning, time.UTC)}
			empty.page = &web.Page{Check: none, Parts: web.Tasks(none, nil)}
			var making, page, blank, text time.Duration
			var bytes, encoded int
			for b.Loop() {
				making += lasting(func() { full.page = pageOf(r, c, since, time.UTC) })
				page += lasting(func() { bytes = loaded(b, full) })
				blank += lasting(func() { loaded(b, empty) })
				text += lasting(func() { encoded = marshalled(b, c) })
			}
			each := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 / float64(b.N) }
			b.ReportMetric(each(making), "ms-make")
			b.ReportMetric(each(page), "ms-page")
			b.ReportMetric(float64(page)/float64(blank), "x-empty-page")
			b.ReportMetric(float64(page)/float64(text), "x-json")
			b.ReportMetric(float64(bytes), "bytes")
			b.ReportMetric(float64(encoded), "bytes-json")
			b.ReportMetric(float64(len(c.Items)), "findings")
			b.ReportMetric(0, "ns/op")
		})
	}
}

func lasting(f func()) time.Duration {
	start := time.Now()
	f()
	return time.Since(start)
}

// loaded asks for the page, and gives its bytes.
func loaded(b *testing.B, source web.Source) int {
	b.Helper()
	w := httptest.NewRecorder()
	web.Handler(source, http.NotFoundHandler()).ServeHTTP(w, httptest.NewRequest("GET", "http://127.0.0.1/", nil))
	if w.Code != http.StatusOK {
		b.Fatalf("%d: %s", w.Code, w.Body)
	}
	return w.Body.Len()
}

func marshalled(b *testing.B, c *answer.Check) int {
	b.Helper()
	text, err := json.Marshal(c)
	if err != nil {
		b.Fatal(err)
	}
	return len(text)
}
