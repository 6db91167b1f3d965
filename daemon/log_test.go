package daemon

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"antidotary/daemon/config"
	"antidotary/notify/mailbox"
)

// logged is a log that several goroutines write.
type logged struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// TestTheLogNamesNobody: days of a house in which mail is sent, refused with
// the address in the answer, and cannot be sent leave no person's name or
// address and no password in the log.
func TestTheLogNamesNobody(t *testing.T) {
	const password = "correct-horse-DEMO"
	box, err := mailbox.Start(mailbox.Options{Security: mailbox.ImplicitTLS, Username: "watch", Password: password})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { box.Close() })
	opt, _ := watched(t)
	file := filepath.Join(t.TempDir(), "password")
	if err := os.WriteFile(file, []byte(password+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	now, log := morning, new(logged)
	opt.Clock, opt.Err, opt.RootCAs = func() time.Time { return now }, log, box.CertPool()
	opt.Config.Mail.Port, opt.Config.Mail.Username, opt.Config.Mail.PasswordFile = box.Port(), "watch", file
	d := started(t, opt)
	records, _, err := d.store.Snapshot(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var secrets []string
	for p := range records.People.All() {
		secrets = append(secrets, p.Called, p.Email)
	}
	if len(secrets) < 10 {
		t.Fatalf("only %d names and addresses are known", len(secrets))
	}
	for _, script := range []mailbox.Script{
		{{At: mailbox.Rcpt, Do: mailbox.Refuse, Reply: "550 5.1.1 <" + secrets[1] + "> " + secrets[0] + " is gone", Times: 1}},
		{{At: mailbox.Dot, Do: mailbox.Refuse, Reply: "451 4.7.1 later, " + secrets[1]}},
		{{At: mailbox.Auth, Do: mailbox.Refuse, Reply: "535 5.7.8 wrong password " + password}},
		{},
	} {
		if err := box.SetScript(script); err != nil {
			t.Fatal(err)
		}
		now = now.AddDate(0, 0, 7)
		if err := d.first(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	text := log.String()
	for _, s := range append(secrets, password) {
		if s != "" && strings.Contains(text, s) {
			t.Errorf("the log holds %q", s)
		}
	}
	for _, want := range []string{"mail attempted", "mail does not move", "code=550", "swept"} {
		if !strings.Contains(text, want) {
			t.Errorf("the log does not say %q: the days were too quiet to test anything\n%s", want, text)
		}
	}
}

// TestEachLineOfARunSaysWhichRun, as text and as JSON.
func TestEachLineOfARunSaysWhichRun(t *testing.T) {
	for _, format := range []config.LogFormat{config.LogText, config.LogJSON} {
		t.Run(string(format), func(t *testing.T) {
			opt, _ := watched(t)
			log := new(logged)
			opt.Err, opt.Config.Log = log, format
			d := started(t, opt)
			for _, job := range d.jobs()[1:] {
				if ran, err := d.runner.Once(t.Context(), job); !ran || err != nil {
					t.Fatal(ran, err)
				}
			}
			if err := d.Stop(context.Background()); err != nil {
				t.Fatal(err)
			}
			for _, message := range []string{"swept", "mail attempted", "pruned", "job ran"} {
				lines := 0
				for line := range strings.Lines(log.String()) {
					if !strings.Contains(line, message) {
						continue
					}
					lines++
					if !ofARun(t, format, line) {
						t.Errorf("it does not say once which run: %s", line)
					}
				}
				if lines == 0 {
					t.Errorf("no line says %q", message)
				}
			}
		})
	}
}

func ofARun(t *testing.T, format config.LogFormat, line string) bool {
	if format == config.LogText {
		return strings.Count(line, " job=") == 1 && strings.Count(line, " slot=2026-11-25T09:00:00.000Z") == 1 && strings.Count(line, " attempt=1") == 1
	}
	var fields struct {
		Time    time.Time
		Job     string
		Slot    time.Time
		Attempt int
	}
	if err := json.Unmarshal([]byte(line), &fields); err != nil {
		t.Fatalf("%v: %s", err, line)
	}
	return !fields.Time.IsZero() && fields.Job != "" && fields.Slot.Equal(morning) && fields.Attempt == 1
}
