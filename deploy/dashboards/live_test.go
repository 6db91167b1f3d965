package dashboards

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"antidotary/daemon"
	"antidotary/daemon/metrics"
)

// patience is the longest that anything here is waited for.
const patience = time.Minute

// demo runs the watch on the demo house, and gives the address of its page.
func demo(t *testing.T) (addr string) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		err := daemon.Demo(ctx, daemon.DemoOptions{House: "full", Out: in})
		in.CloseWithError(err)
		ended <- err
	}()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if m := regexp.MustCompile(`until Ctrl-C: +http://([^/]+)/`).FindStringSubmatch(lines.Text()); m != nil {
			go io.Copy(io.Discard, out)
			return m[1]
		}
	}
	t.Fatal("the demo does not say where its page is")
	return ""
}

// prometheus runs a Prometheus that scrapes an address each second with the
// alert rules, and gives its own address.
func prometheus(t *testing.T, target string) string {
	t.Helper()
	tool, err := exec.LookPath("prometheus")
	if err != nil {
		t.Skip("NOT TESTED: prometheus is missing (Debian: apt-get install prometheus)")
	}
	rules, err := filepath.Abs("../prometheus/alerts.yaml")
	if err != nil {
		t.Fatal(err)
	}
	folder, addr := t.TempDir(), free(t)
	file := filepath.Join(folder, "prometheus.yaml")
	text := fmt.Sprintf("global: {scrape_interval: 1s, scrape_timeout: 1s, evaluation_interval: 1s}\nrule_files: [%q]\nscrape_configs:\n- job_name: antidotary\n  static_configs: [{targets: [%q]}]\n", rules, target)
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(tool, "--config.file", file, "--storage.tsdb.path", filepath.Join(folder, "data"), "--web.listen-address", addr, "--log.level", "warn")
	var log strings.Builder
	cmd.Stdout, cmd.Stderr = &log, &log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait() // killed
		if t.Failed() {
			t.Logf("its log:\n%s", &log)
		}
	})
	return addr
}

// free gives an address that nobody listens on.
func free(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// reply is what Prometheus's API answers (its documentation, "HTTP API").
type reply struct {
	Status, Error string
	Data          struct {
		Result []struct {
			Metric map[string]string
			Value  [2]any
		}
		Groups []struct {
			Rules []struct{ Name, Health, LastError, LastEvaluation string }
		}
	}
}

func ask(addr, path string, form url.Values) (r reply, err error) {
	resp, err := http.Get("http://" + addr + "/api/v1/" + path + "?" + form.Encode())
	if err != nil {
		return r, err
	}
	defer resp.Body.Close()
	return r, json.NewDecoder(resp.Body).Decode(&r)
}

// until asks again and again, with a deadline.
func until(t *testing.T, addr, path string, form url.Values, good func(reply) bool) {
	t.Helper()
	wait := time.NewTicker(50 * time.Millisecond)
	defer wait.Stop()
	for deadline := time.Now().Add(patience); ; <-wait.C {
		r, err := ask(addr, path, form)
		if err == nil && good(r) {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("%s %v: still %+v, %v", path, form, r, err)
		}
	}
}

// TestARealPrometheusAnswersEveryPanelAndAlert: it scrapes a running watch,
// every query has an answer without an error, and those that must have data
// have some.
func TestARealPrometheusAnswersEveryPanelAndAlert(t *testing.T) {
	target := demo(t)
	namesAreScraped(t, target)
	addr := prometheus(t, target)
	until(t, addr, "query", url.Values{"query": {"up"}}, func(r reply) bool { return len(r.Data.Result) == 1 && r.Data.Result[0].Value[1] == "1" })
	// A rate needs two scrapes.
	until(t, addr, "query", url.Values{"query": {"rate(process_cpu_seconds_total[5m])"}}, func(r reply) bool { return len(r.Data.Result) == 1 })
	for name, d := range All() {
		for _, p := range d.Panels {
			for _, q := range p.Targets {
				r, err := ask(addr, "query", url.Values{"query": {q.Expr}})
				if err != nil || r.Status != "success" {
					t.Errorf("%s, %s: %v %s", name, p.Title, err, r.Error)
				}
				if len(r.Data.Result) == 0 && (!p.mayBeEmpty || p.Type == "table") {
					t.Errorf("%s, %s: no data for %s", name, p.Title, q.Expr)
				}
				if q.Legend == "" && p.Type == "stat" && len(r.Data.Result) > 1 {
					t.Errorf("%s, %s: %d series under one name", name, p.Title, len(r.Data.Result))
				}
			}
		}
	}
	names := alerts(t)
	for alert, expr := range names {
		if r, err := ask(addr, "query", url.Values{"query": {expr}}); err != nil || r.Status != "success" {
			t.Errorf("%s: %v %s", alert, err, r.Error)
		}
		for _, selector := range regexp.MustCompile(`antidotary_[a-z_]+(\{[^}]*\})?`).FindAllString(expr, -1) {
			if slices.Contains(absent, selector) {
				continue
			}
			// What matches nothing would never fire. Some jobs run for the first
			// time half a minute after the start.
			until(t, addr, "query", url.Values{"query": {selector}}, func(r reply) bool { return len(r.Data.Result) > 0 })
		}
	}
	until(t, addr, "rules", nil, func(r reply) bool {
		evaluated := 0
		for _, g := range r.Data.Groups {
			for _, rule := range g.Rules {
				if rule.LastError != "" {
					t.Fatalf("%s: %s", rule.Name, rule.LastError)
				}
				if rule.Health == "ok" {
					evaluated++
				}
			}
		}
		return evaluated == len(names)
	})
}

// absent is what the demo house has no sample of: its mail server takes every
// mail at once, so that none waits and none is refused.
var absent = []string{"antidotary_outbox_oldest_pending_timestamp_seconds", `antidotary_outbox_messages{state="dead"}`}

// namesAreScraped: every metric that a dashboard or an alert names is in a
// scrape, and every one of ours in a scrape is one that is documented.
func namesAreScraped(t *testing.T, target string) {
	t.Helper()
	resp, err := http.Get("http://" + target + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	scraped := make(map[string]bool)
	for _, m := range regexp.MustCompile(`(?m)^([a-z_]+)[ {]`).FindAllSubmatch(text, -1) {
		scraped[string(m[1])] = true
	}
	var ours []string
	for _, d := range metrics.All() {
		ours = append(ours, d.Name)
		if !scraped[d.Name] && !slices.Contains(absent, d.Name) {
			t.Errorf("%s is documented, and not in a scrape", d.Name)
		}
	}
	for name := range scraped {
		if strings.HasPrefix(name, "antidotary_") && !slices.Contains(ours, name) {
			t.Errorf("%s is in a scrape, and not documented", name)
		}
	}
	exprs := expressions()
	for _, expr := range alerts(t) {
		exprs = append(exprs, expr)
	}
	named := make(map[string]bool)
	for _, expr := range exprs {
		for _, name := range regexp.MustCompile(`\b(antidotary|process|go)_[a-z_]+`).FindAllString(expr, -1) {
			named[name] = true
			if !scraped[name] && !(slices.Contains(absent, name) && slices.Contains(ours, name)) {
				t.Errorf("%s is named in %s, and not in a scrape", name, expr)
			}
		}
	}
	if len(named) < 18 {
		t.Errorf("only %d metrics are named", len(named))
	}
}
