//go:build unix

package daemon

import (
	"context"
	"errors"
	"net"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// manager is a service manager's socket (sd_notify(3)).
func manager(t *testing.T) *net.UnixConn {
	t.Helper()
	path := filepath.Join(t.TempDir(), "n")
	c, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: path, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	t.Setenv("NOTIFY_SOCKET", path)
	return c
}

// heard gives the next message; none if it does not come in time.
func heard(t *testing.T, c *net.UnixConn, within time.Duration) string {
	t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(within)); err != nil {
		t.Fatal(err)
	}
	b := make([]byte, 4096)
	n, err := c.Read(b)
	var timeout net.Error
	if errors.As(err, &timeout) && timeout.Timeout() {
		return ""
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(b[:n])
}

// TestTheServiceManagerHears that the watch is ready only after its first
// sweep, that it lives while its loops do and no longer, and that it stops.
func TestTheServiceManagerHears(t *testing.T) {
	socket := manager(t)
	t.Setenv("WATCHDOG_USEC", "200000")
	opt, _ := watched(t)
	var ahead atomic.Int64
	opt.Clock = func() time.Time { return morning.Add(time.Duration(ahead.Load())) }
	d := started(t, opt)
	if early := heard(t, socket, 10*time.Millisecond); early != "" {
		t.Errorf("before anybody supervises it says %q", early)
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		d.Supervise(ctx)
		close(done)
	}()
	const long = time.Minute
	if first := heard(t, socket, long); !strings.HasPrefix(first, "READY=1\n") || !strings.Contains(first, d.Addr()) {
		t.Errorf("first %q", first)
	}
	for range 3 {
		if next := heard(t, socket, long); next != "WATCHDOG=1" {
			t.Errorf("it lives, and says %q", next)
		}
	}
	ahead.Store(int64(2 * idle)) // no loop has shown a sign since
	for heard(t, socket, time.Second) != "" {
	}
	for _, p := range d.alive.loops { // each goes round again
		d.alive.beat(context.WithValue(ctx, pulseKey{}, p), idle, "waits")
	}
	if next := heard(t, socket, long); next != "WATCHDOG=1" {
		t.Errorf("its loops go round again, and it says %q", next)
	}
	stop()
	for {
		if last := heard(t, socket, long); last == "STOPPING=1" {
			break
		} else if last != "WATCHDOG=1" {
			t.Fatalf("it stops, and says %q", last)
		}
	}
	<-done
}

// TestNobodyListens: without a service manager, and with a watchdog that makes
// no sense, it serves and ends all the same.
func TestNobodyListens(t *testing.T) {
	opt, _ := watched(t)
	d := started(t, opt)
	for _, usec := range []string{"", "nonsense"} {
		t.Setenv("NOTIFY_SOCKET", "")
		t.Setenv("WATCHDOG_USEC", usec)
		ctx, stop := context.WithCancel(t.Context())
		stop()
		d.Supervise(ctx)
	}
}
