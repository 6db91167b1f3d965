package daemon

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"antidotary/daemon/demo"
	"antidotary/daemon/jobs"
	"antidotary/daemon/store"
	"antidotary/daemon/store/faults"
	"antidotary/daemon/web"
	"antidotary/inventory/day"
)

// health asks a page of a running daemon.
func health(t *testing.T, d *Daemon, page string) (code int, text string) {
	t.Helper()
	resp, err := http.Get("http://" + d.Addr() + page)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	if c := resp.Header.Get("Cache-Control"); c != "no-store" {
		t.Errorf("%s: Cache-Control is %q", page, c)
	}
	return resp.StatusCode, string(body)
}

// wants that a page has this code and these lines.
func wants(t *testing.T, d *Daemon, page string, code int, lines ...string) {
	t.Helper()
	got, text := health(t, d, page)
	if got != code {
		t.Errorf("%s: %d, want %d:\n%s", page, got, code, text)
	}
	for _, line := range lines {
		if !regexp.MustCompile(`(?m)^` + line).MatchString(text) {
			t.Errorf("%s does not say %q:\n%s", page, line, text)
		}
	}
}

// TestHealthOfALivingWatch: before the first judging it is not ready; then it
// is, and every loop is counted; a sweep that is overdue ends that, and the
// next one brings it back.
func TestHealthOfALivingWatch(t *testing.T) {
	opt, _ := watched(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	for page, want := range map[string][]string{
		"/readyz":  {"ok         rules: ", "not ok     judged: ", "ok         records: ", "ok         schema: ", "not ok     sweep: none has ended well yet"},
		"/healthz": {"not ok     loops: none runs"},
	} {
		w := httptest.NewRecorder()
		web.WithHealth(http.NotFoundHandler(), d.healthy, d.ready).ServeHTTP(w, httptest.NewRequest("GET", "http://localhost"+page, nil))
		for _, line := range want {
			if w.Code != 503 || !strings.Contains(w.Body.String(), line) {
				t.Errorf("before the start %s is %d, without %q:\n%s", page, w.Code, line, w.Body)
			}
		}
	}
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	wants(t, d, "/readyz", 200, "ok         rules: ", "ok         judged: ", "ok         records: ", "ok         schema: ", "ok         sweep: ")
	wants(t, d, "/healthz", 200, "ok         loop sweep: ", "ok         loop confirm: ", "ok         loop prune: ", "ok         loop mail and page: ")
	now = now.Add(49 * time.Hour)
	wants(t, d, "/readyz", 503, "ok         records: ", "not ok     sweep: .* 49h0m0s ago", "not ok     judged: ")
	if err := d.first(t.Context()); err != nil {
		t.Fatal(err)
	}
	wants(t, d, "/readyz", 200, "ok         sweep: ")
}

// TestALoopThatIsStuck is not alive, and one that was given up by the clock
// alone comes back with its next sign.
func TestALoopThatIsStuck(t *testing.T) {
	opt, _ := watched(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	d := started(t, opt)
	stuck := d.alive.begin(t.Context(), "of this test", idle)
	now = now.Add(idle)
	wants(t, d, "/healthz", 200, "ok         loop of this test: ")
	now = now.Add(time.Second)
	d.alive.beat(stuck, patience, "asks the database")
	wants(t, d, "/healthz", 503, "not ok     loop sweep: it begins; last sign of life 5m1s ago, and 5m0s are allowed", "ok         loop of this test: it asks the database")
	d.alive.end(stuck)
	if _, text := health(t, d, "/healthz"); strings.Contains(text, "of this test") {
		t.Errorf("a loop that ended is still counted:\n%s", text)
	}
}

// hanging is a database that answers nothing from some time on.
type hanging struct{ from time.Time }

func (h hanging) ClaimSlot(ctx context.Context, c store.SlotClaim) (store.Run, bool, error) {
	if time.Now().After(h.from) {
		<-ctx.Done()
	}
	return store.Run{}, false, ctx.Err()
}

func (h hanging) FinishSlot(context.Context, store.Run, error, time.Duration) error { return nil }

// TestADatabaseThatHangsIsNoStuckLoop for as long as a call can last; after
// that a restart may help.
func TestADatabaseThatHangsIsNoStuckLoop(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		a := &alive{clock: time.Now}
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		runner := &jobs.Runner{Slots: slotsAlive{hanging{time.Now().Add(time.Hour)}, a}}
		go runner.Loop(a.begin(ctx, jobSweep, idle), jobs.Job{Name: jobSweep})
		for _, c := range []struct {
			after time.Duration
			alive bool
		}{{time.Minute, true}, {58 * time.Minute, true}, {20 * time.Minute, true}, {3 * time.Minute, false}} {
			time.Sleep(c.after)
			s := a.signs()[0]
			if (s.ago <= s.within) != c.alive {
				t.Errorf("after %s more: %+v, want alive %t", c.after, s, c.alive)
			}
		}
	})
}

// throughProxy is a watched house on a PostgreSQL server behind a proxy.
func throughProxy(t *testing.T) (Options, *faults.Proxy) {
	t.Helper()
	opt, _ := watched(t)
	u, err := url.Parse(importDatabases["postgres"](t))
	if err != nil {
		t.Fatal(err)
	}
	proxy, err := faults.NewProxy(u.Host)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { proxy.Close() })
	u.Host = proxy.Addr()
	opt.Config.Database = u.String()
	if err := record(t.Context(), opt, demo.House(day.In(morning, time.UTC), day.Embedded())); err != nil {
		t.Fatal(err)
	}
	return opt, proxy
}

// TestHealthWithoutTheDatabase: a server that hangs makes no page hang, and
// what it would have said is not known; one that is gone is not ok. The
// process lives all the same: a restart would not help.
func TestHealthWithoutTheDatabase(t *testing.T) {
	opt, proxy := throughProxy(t)
	d := started(t, opt)
	wants(t, d, "/readyz", 200, "ok         records: ")
	proxy.Pause()
	for range 2 {
		wants(t, d, "/readyz", 503, "ok         judged: ", "not known  records: the database did not answer within 3s", "not known  sweep: ")
		wants(t, d, "/healthz", 200)
	}
	proxy.Resume()
	deadline := time.Now().Add(time.Minute)
	for code := 0; code != 200; {
		var text string
		if code, text = health(t, d, "/readyz"); code != 200 && time.Now().After(deadline) {
			t.Fatalf("the server is back for a minute, and the watch is not ready:\n%s", text)
		}
	}
	if err := proxy.Close(); err != nil {
		t.Fatal(err)
	}
	wants(t, d, "/readyz", 503, "not ok     records: they cannot be read: the database does not answer", "not known  schema: ", "not known  sweep: ")
	wants(t, d, "/healthz", 200)
}

// TestHealthAgreesWithTheAlerts: what pages somebody is what makes the page
// not ready.
func TestHealthAgreesWithTheAlerts(t *testing.T) {
	rules, err := os.ReadFile("../deploy/prometheus/alerts.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		fmt.Sprintf(`> 2 * max(antidotary_job_interval_seconds{task="sweep"}) + %d`, int(sweepSlack.Seconds())),
		fmt.Sprintf(`time() - max(antidotary_judged_timestamp_seconds) > %d`, int(judgedLimit.Seconds())),
	} {
		if !strings.Contains(string(rules), want) {
			t.Errorf("no alert says %s", want)
		}
	}
}
