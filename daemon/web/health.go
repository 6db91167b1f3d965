package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
)

// HealthState is what one check found.
type HealthState string

// The states. What is not known is not ok.
const (
	HealthOK       HealthState = "ok"
	HealthNotOK    HealthState = "not ok"
	HealthNotKnown HealthState = "not known"
)

// HealthCheck is one line of a health page.
type HealthCheck struct {
	Name  string // what was looked at
	State HealthState
	Why   string // one line: what was found, and what it means
}

// Health makes the checks of one page. It must end by itself, within seconds,
// whatever the database does, and be safe for concurrent use.
type Health func(context.Context) []HealthCheck

// WithHealth serves /healthz and /readyz, and everything else as before. Each
// is a plain list of checks, a line each: state, name, reason. The code is 200
// if all are ok, else 503, also where there is no check at all.
func WithHealth(next http.Handler, alive, ready Health) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/healthz", guard(healthPage(alive)))
	mux.Handle("/readyz", guard(healthPage(ready)))
	mux.Handle("/", next)
	return mux
}

func healthPage(health Health) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "This page can only be read.", http.StatusMethodNotAllowed)
			return
		}
		checks := health(r.Context())
		code := http.StatusOK
		if !Healthy(checks) {
			code = http.StatusServiceUnavailable
		}
		var b strings.Builder
		for _, c := range checks {
			fmt.Fprintf(&b, "%-9s  %s: %s\n", c.State, c.Name, strings.Join(strings.Fields(c.Why), " "))
		}
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.WriteHeader(code)
		_, _ = w.Write([]byte(b.String()))
	})
}

// Healthy says whether there are checks and all of them are ok.
func Healthy(checks []HealthCheck) bool {
	for _, c := range checks {
		if c.State != HealthOK {
			return false
		}
	}
	return len(checks) > 0
}
