package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

func TestHealthPages(t *testing.T) {
	good := HealthCheck{"records", HealthOK, "can be read"}
	for _, c := range []struct {
		name, method, path, host string
		checks                   []HealthCheck
		code                     int
		want                     string
	}{
		{"all are ok", "GET", "/readyz", "", []HealthCheck{good}, 200, "ok         records: can be read\n"},
		{"the same of the other page", "GET", "/healthz", "", []HealthCheck{good}, 200, "ok         records: can be read\n"},
		{"asked without the text", "HEAD", "/healthz", "", []HealthCheck{good}, 200, ""},
		{"one is not ok", "GET", "/readyz", "", []HealthCheck{good, {"sweep", HealthNotOK, "stale"}}, 503, "not ok     sweep: stale\n"},
		{"one is not known", "GET", "/readyz", "", []HealthCheck{good, {"sweep", HealthNotKnown, "no answer"}}, 503, "not known  sweep: no answer\n"},
		{"a reason of several lines stays one", "GET", "/readyz", "", []HealthCheck{{"a", HealthNotOK, "x\nok  b: y"}}, 503, "not ok     a: x ok b: y\n"},
		{"no check at all is not ok", "GET", "/healthz", "", nil, 503, ""},
		{"a name that is not this machine's", "GET", "/healthz", "evil.example", []HealthCheck{good}, 421, "localhost only"},
		{"nothing can be sent", "POST", "/readyz", "", []HealthCheck{good}, 405, ""},
		{"another page is as before", "GET", "/", "", nil, 418, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := httptest.NewRequest(c.method, "http://127.0.0.1:8732"+c.path, nil)
			if c.host != "" {
				r.Host = c.host
			}
			w := httptest.NewRecorder()
			checks := func(context.Context) []HealthCheck { return c.checks }
			before := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(418) })
			WithHealth(before, checks, checks).ServeHTTP(w, r)
			if w.Code != c.code || !strings.Contains(w.Body.String(), c.want) {
				t.Errorf("%d:\n%s\nwant %d with %q", w.Code, w.Body, c.code, c.want)
			}
			if c.code == 200 || c.code == 503 {
				checkHeaders(t, w.Header())
			}
		})
	}
}
