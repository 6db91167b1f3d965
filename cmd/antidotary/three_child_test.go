//go:build unix

package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"antidotary/daemon/store/faults"
)

// init is where a process of this test binary becomes a daemon, before any
// test framework starts. It ends with the test: when its input does.
func init() {
	since, err := strconv.ParseInt(os.Getenv(sinceVariable), 10, 64)
	if err != nil {
		return
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	go func() {
		io.Copy(io.Discard, os.Stdin)
		os.Exit(exitFailed)
	}()
	os.Exit(run(ctx, os.Args[1:], terminal{os.Stdout, os.Stderr, fast(time.Unix(0, since))}))
}

// child is one of the daemons, over all its lives.
type child struct {
	w      *trial
	name   string
	proxy  *faults.Proxy
	config string
	logs   string // folder

	cmd     *exec.Cmd
	life    int
	lives   int // how many it had when it was last seen
	started time.Time
	ended   chan struct{}
	page    *atomic.Pointer[string] // where its page is; nil until it watches
	killed  bool
	ending  bool

	restart time.Time // when it may start
	resume  time.Time // when it goes on; zero: it is not stopped
	release time.Time // when its connections move again; zero: they do
}

func (w *trial) newChild(name string) *child {
	t := w.t
	u, err := url.Parse(w.database)
	if err != nil {
		t.Fatal(err)
	}
	c := &child{w: w, name: name, logs: t.ArtifactDir()}
	if c.proxy, err = faults.NewProxy(u.Host); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.proxy.Close() })
	u.Host = c.proxy.Addr()
	c.config = w.configFile(name, u.String())
	c.start()
	t.Cleanup(func() {
		_ = c.cmd.Process.Kill() // it may have ended
		<-c.ended
	})
	return c
}

// start begins a life.
func (c *child) start() {
	t := c.w.t
	c.life++
	c.w.tally.starts++
	log, err := os.Create(filepath.Join(c.logs, fmt.Sprintf("%s-%04d.log", c.name, c.life)))
	if err != nil {
		t.Fatal(err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, "serve", "--config", c.config)
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%d", sinceVariable, c.w.began.UnixNano()))
	cmd.Stderr = log
	if _, err := cmd.StdinPipe(); err != nil { // stays open as long as this process
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended, page := make(chan struct{}), new(atomic.Pointer[string])
	go func() {
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if _, at, found := strings.Cut(lines.Text(), "Page: "); found {
				page.Store(&at)
			}
		}
		_ = cmd.Wait() // how it ended is in its log
		log.Close()
		close(ended)
	}()
	c.cmd, c.ended, c.page, c.killed, c.started = cmd, ended, page, false, time.Now()
}

func (c *child) alive() bool {
	select {
	case <-c.ended:
		return false
	default:
		return true
	}
}

// watches says whether it has finished starting.
func (c *child) watches() bool { return c.alive() && c.page.Load() != nil }

// tend does what has come due: what was stopped goes on, what died is started.
func (c *child) tend() {
	at := time.Now()
	if !c.resume.IsZero() && at.After(c.resume) {
		_ = c.cmd.Process.Signal(syscall.SIGCONT) // it may have been killed
		c.resume = time.Time{}
	}
	if !c.release.IsZero() && at.After(c.release) {
		c.proxy.Resume()
		c.release = time.Time{}
	}
	if c.alive() || c.ending || at.Before(c.restart) {
		return
	}
	switch {
	case c.killed:
	case c.page.Load() != nil:
		c.w.t.Errorf("daemon %s, life %d: it ended by itself", c.name, c.life)
	default: // the database was cut off while it started: whoever keeps services starts it again
		c.w.tally.failedStarts++
	}
	c.resume = time.Time{}
	c.start()
}

// kill ends its life at once.
func (c *child) kill(again time.Duration) {
	_ = c.cmd.Process.Kill() // it may have ended
	c.killed, c.restart = true, time.Now().Add(again)
	c.w.tally.kills++
}

// end asks it to end its life by itself.
func (c *child) end() {
	if c.alive() && c.cmd.Process.Signal(syscall.SIGTERM) == nil {
		c.killed = true
		c.w.tally.ends++
	}
}

// terminate ends it for good, as a service is ended.
func (c *child) terminate() {
	c.ending = true
	_ = c.cmd.Process.Signal(syscall.SIGTERM) // it may have ended
	select {
	case <-c.ended:
	case <-time.After(40 * time.Second):
		c.w.t.Errorf("daemon %s does not stop", c.name)
	}
}

var nextSweep = regexp.MustCompile(`(?m)^antidotary_job_next_timestamp_seconds\{task="sweep"\} (\S+)$`)

// hasReadSince says whether the daemon's metrics are of later than an instant:
// they are read from the database, and say that the next sweep is due within
// the minute after.
func (c *child) hasReadSince(at time.Time) bool {
	if !c.watches() {
		return false
	}
	client := http.Client{Timeout: time.Second}
	resp, err := client.Get(*c.page.Load() + "metrics")
	if err != nil {
		return false
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		return false
	}
	m := nextSweep.FindSubmatch(text)
	if m == nil {
		return false
	}
	seconds, err := strconv.ParseFloat(string(m[1]), 64)
	return err == nil && seconds > float64(at.Add(time.Minute).UnixMicro())/1e6
}
