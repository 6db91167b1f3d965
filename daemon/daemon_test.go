package daemon

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"antidotary/daemon/config"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/inventory/day"
	"antidotary/notify/mailbox"
)

var morning = time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC)

// watched is a daemon's options on a new database with the demo house in it,
// and the mailbox that its mails go to.
func watched(t *testing.T) (Options, *mailbox.Mailbox) {
	t.Helper()
	box, err := mailbox.Start(mailbox.Options{Security: mailbox.ImplicitTLS})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { box.Close() })
	opt := Options{Config: config.Default(), Clock: func() time.Time { return morning }, RootCAs: box.CertPool()}
	opt.Config.Database = filepath.Join(t.TempDir(), "house.db")
	opt.Config.Listen = "127.0.0.1:0"
	opt.Config.Mail = config.Mail{Mode: config.MailSMTP, Host: box.Host(), Port: box.Port(), Security: "tls", From: "watch@house.example", Bounce: "watch@house.example"}
	if err := record(t.Context(), opt, demo.House(day.In(morning, time.UTC), day.Embedded())); err != nil {
		t.Fatal(err)
	}
	return opt, box
}

// TestTheWholeWatch: started, it has swept, mailed and serves its page; the
// next day it tells only what is new; stopped, nothing of it is left.
func TestTheWholeWatch(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	opt, box := watched(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	first := len(box.Messages())
	if first < 3 {
		t.Errorf("%d mails arrived, want one for each of several people", first)
	}
	if page := get(t, "http://"+d.Addr()+"/"); !strings.Contains(page, "WP-105") || strings.Contains(page, "Nothing has been checked yet") {
		t.Errorf("the page does not show the sweep:\n%s", page)
	}
	if err := d.Sweep(t.Context()); err != nil || len(box.Messages()) != first {
		t.Errorf("a second sweep of the day: %d mails, %v", len(box.Messages()), err)
	}
	now = now.AddDate(0, 0, 1)
	if err := d.Sweep(t.Context()); err != nil || len(box.Messages()) > 2*first {
		t.Errorf("the next day: %d mails, %v", len(box.Messages()), err)
	}
	for range 2 {
		if err := d.Stop(context.Background()); err != nil {
			t.Errorf("stop: %v", err)
		}
	}
	if err := box.Close(); err != nil {
		t.Error(err)
	}
	http.DefaultClient.CloseIdleConnections()
}

func get(t *testing.T, url string) string {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(body)
}

// TestAMailServerThatIsDown is no error of the sweep: the mails wait.
func TestAMailServerThatIsDown(t *testing.T) {
	opt, box := watched(t)
	if err := box.Close(); err != nil {
		t.Fatal(err)
	}
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Start(t.Context()); err != nil {
		t.Fatalf("the watch did not start without its mail server: %v", err)
	}
	counts, err := d.store.OutboxCounts(t.Context())
	if err != nil || counts[store.MailRetry] < 3 || counts[store.MailSent] != 0 {
		t.Errorf("%v, %v; want every mail to wait for its next try", counts, err)
	}
	if err := d.Stop(context.Background()); err != nil {
		t.Error(err)
	}
}

// TestWhatStopsAStart: a rule that was skipped would read as fine.
func TestWhatStopsAStart(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*testing.T, *Options)
		want   string
	}{
		{"a rules folder that is not there", func(t *testing.T, o *Options) { o.Config.Rules = []string{filepath.Join(t.TempDir(), "none")} }, "not a folder"},
		{"a rule pack with a mistake", func(t *testing.T, o *Options) {
			folder := t.TempDir()
			if err := os.WriteFile(filepath.Join(folder, "bad.yaml"), []byte("format: 1\npack: bad\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			o.Config.Rules = []string{folder}
		}, "bad.yaml"},
		{"a schedule that never comes", func(_ *testing.T, o *Options) { o.Config.Sweep = "0 0 30 2 *" }, "never comes"},
		{"mail settings that cannot work", func(_ *testing.T, o *Options) { o.Config.Mail.Host = "" }, "host"},
		{"a mail password that others may read", func(t *testing.T, o *Options) {
			file := filepath.Join(t.TempDir(), "password")
			if err := os.WriteFile(file, []byte("secret\n"), 0o644); err != nil {
				t.Fatal(err)
			}
			o.Config.Mail.Username, o.Config.Mail.PasswordFile = "watch", file
		}, "chmod 600"},
	} {
		t.Run(c.name, func(t *testing.T) {
			opt, _ := watched(t)
			c.change(t, &opt)
			d, err := New(opt)
			if err == nil {
				d.Stop(context.Background())
				t.Fatal("it started")
			}
			if !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "secret") {
				t.Errorf("%v; want %q in it", err, c.want)
			}
		})
	}
}

// TestOneDaemonForOneDatabase: two that swept would mail twice.
func TestOneDaemonForOneDatabase(t *testing.T) {
	opt, _ := watched(t)
	first, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	second, err := New(opt)
	if err == nil {
		second.Stop(context.Background())
		t.Fatal("a second one runs on the same database")
	}
	if err := first.Stop(context.Background()); err != nil {
		t.Fatal(err)
	}
	again, err := New(opt)
	if err != nil {
		t.Fatalf("the first has stopped, and the next does not start: %v", err)
	}
	if err := again.Stop(context.Background()); err != nil {
		t.Error(err)
	}
}

// TestAPageThatCannotBeServed leaves nothing running and the database free.
func TestAPageThatCannotBeServed(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	opt, box := watched(t)
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	free := opt
	opt.Config.Listen = taken.Addr().String()
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Start(t.Context()); err == nil || !strings.Contains(err.Error(), "listen for the page") {
		t.Errorf("%v; want the page's address in it", err)
	}
	if len(box.Messages()) != 0 {
		t.Error("it mailed, and did not start")
	}
	next, err := New(free)
	if err != nil {
		t.Fatalf("the database is still taken: %v", err)
	}
	if err := errors.Join(next.Stop(context.Background()), box.Close()); err != nil {
		t.Error(err)
	}
}

// TestEachDayTellsOnlyWhatIsNew: nobody hears twice of a day, nobody hears of
// a day without news, and a day on which something happens is told.
func TestEachDayTellsOnlyWhatIsNew(t *testing.T) {
	opt, box := watched(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	quiet, told := 0, 0
	for range 30 {
		var counts [2]int
		for i := range counts {
			before := len(box.Messages())
			if err := d.Sweep(t.Context()); err != nil {
				t.Fatal(err)
			}
			counts[i] = len(box.Messages()) - before
		}
		if counts[1] != 0 {
			t.Errorf("on %s the second sweep mailed %d times", now.Format(time.DateOnly), counts[1])
		}
		if counts[0] == 0 {
			quiet++
		} else {
			told++
		}
		now = now.AddDate(0, 0, 1)
	}
	if quiet < 5 || told < 5 {
		t.Errorf("%d days told nothing and %d something, want both", quiet, told)
	}
	seen := make(map[string]bool)
	for _, m := range box.Messages() {
		if k := m.To[0] + m.Subject + m.Text; seen[k] {
			t.Errorf("%s was told the same twice: %s", m.To[0], m.Subject)
		} else {
			seen[k] = true
		}
	}
}
