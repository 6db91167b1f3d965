package mailroom

import (
	"bytes"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/mailbox"
	"antidotary/notify/smtp"
)

var noon = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

// post is a room between a real database and a real mail server, with a
// clock that the test moves.
type post struct {
	room  *Room
	store *store.Store
	box   *mailbox.Mailbox
	now   time.Time
}

func opened(t *testing.T, opt mailbox.Options, script ...mailbox.Fault) *post {
	t.Helper()
	p := &post{now: noon}
	clock := func() time.Time { return p.now }
	var err error
	opt.Script, opt.Security = script, mailbox.ImplicitTLS
	if p.box, err = mailbox.Start(opt); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.box.Close() })
	if p.store, err = store.Open(t.Context(), filepath.Join(t.TempDir(), "house.db"), store.Options{Clock: clock}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.store.Close() })
	org := compliance.Record(inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1})
	if _, err := p.store.Commit(t.Context(), store.Actor{ID: "test"}, org); err != nil {
		t.Fatal(err)
	}
	p.room = &Room{Outbox: p.store, Sender: senderTo(t, p.box, opt.Username, opt.Password), From: "watch@house.example", Clock: clock,
		Log: slog.New(slog.DiscardHandler)}
	return p
}

// senderTo makes the client for a mailbox.
func senderTo(t *testing.T, box *mailbox.Mailbox, username, password string) *smtp.Sender {
	t.Helper()
	sender, err := smtp.New(smtp.Config{Host: box.Host(), Port: box.Port(), Security: smtp.ImplicitTLS,
		Username: username, Password: smtp.Secret(password), RootCAs: box.CertPool()})
	if err != nil {
		t.Fatal(err)
	}
	return sender
}

// queue puts a mail for each address into the outbox, in their order.
func (p *post) queue(t *testing.T, addresses ...string) {
	t.Helper()
	var mails []store.Mail
	for _, a := range addresses {
		id := inventory.NewID()
		text := fmt.Sprintf("From: watch@house.example\r\nTo: %s\r\nSubject: to %s\r\nMessage-ID: <%s@house.example>\r\n\r\nA step is due.\r\n", a, a, id)
		mails = append(mails, store.Mail{ID: id, Kind: store.KindDigest, Recipient: inventory.NewID(), Address: a, LocalDay: day.In(noon, time.UTC),
			Subject: "to " + a, MessageID: id.String() + "@house.example", Bytes: []byte(text)})
	}
	view, err := p.store.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := p.store.StoreSweep(t.Context(), view.Guard(), store.Sweep{ID: inventory.NewID(), Mails: mails}); err != nil {
		t.Fatal(err)
	}
}

// round moves the clock and makes one round.
func (p *post) round(t *testing.T, after time.Duration) (sent int, err error) {
	t.Helper()
	p.now = p.now.Add(after)
	return p.room.Round(t.Context())
}

func (p *post) in(t *testing.T, state store.MailState) int {
	t.Helper()
	counts, err := p.store.OutboxCounts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return counts[state]
}

// TestOutcomes: what the server says decides what becomes of a mail, and when
// it is tried again. Just before that moment nothing goes out.
func TestOutcomes(t *testing.T) {
	once := func(at mailbox.Step, do mailbox.Action, reply string) mailbox.Fault {
		return mailbox.Fault{At: at, Do: do, Reply: reply, Times: 1}
	}
	for _, c := range []struct {
		name    string
		fault   []mailbox.Fault
		state   store.MailState
		again   time.Duration // to the next attempt; 0: never
		arrived int           // copies, once all is done
	}{
		{"taken", nil, store.MailSent, 0, 1},
		{"no such mailbox", []mailbox.Fault{once(mailbox.Rcpt, mailbox.Refuse, "550 5.1.1 no such mailbox")}, store.MailDead, 0, 0},
		{"refused after the dot", []mailbox.Fault{once(mailbox.Dot, mailbox.Refuse, "554 5.7.1 not wanted")}, store.MailDead, 0, 0},
		{"later, says the server", []mailbox.Fault{once(mailbox.Rcpt, mailbox.Refuse, "450 4.2.1 greylisted")}, store.MailRetry, 15 * time.Minute, 1},
		{"later, after the dot", []mailbox.Fault{once(mailbox.Dot, mailbox.Refuse, "451 4.3.0 try again")}, store.MailRetry, 15 * time.Minute, 1},
		{"cut off in the greeting", []mailbox.Fault{once(mailbox.Greeting, mailbox.Drop, "")}, store.MailRetry, time.Minute, 1},
		{"cut off at DATA", []mailbox.Fault{once(mailbox.Data, mailbox.Drop, "")}, store.MailRetry, time.Minute, 1},
		{"the reply to the dot is lost", []mailbox.Fault{once(mailbox.Dot, mailbox.Lose, "")}, store.MailAmbiguous, 30 * time.Minute, 2},
		{"cut off after the dot, and nothing kept", []mailbox.Fault{once(mailbox.Dot, mailbox.Drop, "")}, store.MailAmbiguous, 30 * time.Minute, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := opened(t, mailbox.Options{}, c.fault...)
			p.queue(t, "a@house.example")
			sent, err := p.round(t, 0)
			if err != nil || sent != p.in(t, store.MailSent) || p.in(t, c.state) != 1 {
				t.Fatalf("%d sent, %v; want one mail %s", sent, err, c.state)
			}
			if c.again > 0 {
				if _, err := p.round(t, c.again-time.Second); err != nil || p.in(t, c.state) != 1 {
					t.Errorf("it was tried too soon: %v", err)
				}
				if sent, err := p.round(t, time.Second); err != nil || sent != 1 || p.in(t, store.MailSent) != 1 {
					t.Errorf("the next attempt: %d sent, %v", sent, err)
				}
			} else if sent, err := p.round(t, 48*time.Hour); err != nil || sent != 0 {
				t.Errorf("it was tried again: %d sent, %v", sent, err)
			}
			messages := p.box.Messages()
			if len(messages) != c.arrived {
				t.Fatalf("%d copies arrived, want %d", len(messages), c.arrived)
			}
			for _, m := range messages {
				if !bytes.Equal(m.Data, messages[0].Data) || m.To[0] != "a@house.example" || m.From != "watch@house.example" {
					t.Errorf("from %s to %s:\n%s\nthe first was\n%s", m.From, m.To, m.Data, messages[0].Data)
				}
			}
		})
	}
}

// TestRetriesGrowFurtherApart: as long as the server says "later".
func TestRetriesGrowFurtherApart(t *testing.T) {
	p := opened(t, mailbox.Options{}, mailbox.Fault{At: mailbox.Rcpt, Reply: "450 4.2.1 greylisted", Times: 4})
	p.queue(t, "a@house.example")
	waits := []time.Duration{0, 15 * time.Minute, 30 * time.Minute, time.Hour, time.Hour}
	for i, wait := range waits {
		if wait > 0 {
			if sent, err := p.round(t, wait-time.Second); err != nil || sent != 0 {
				t.Fatalf("attempt %d came too soon: %d, %v", i+1, sent, err)
			}
			p.now = p.now.Add(time.Second)
		}
		sent, err := p.round(t, 0)
		if last := i == len(waits)-1; err != nil || (sent == 1) != last {
			t.Fatalf("attempt %d: %d sent, %v", i+1, sent, err)
		}
	}
}

// TestOneBadMailHoldsUpNoOther, and costs at most one more connection.
func TestOneBadMailHoldsUpNoOther(t *testing.T) {
	p := opened(t, mailbox.Options{}, mailbox.Fault{At: mailbox.Rcpt, Reply: "550 5.1.1 no such mailbox", Times: 1})
	addresses := []string{"gone@house.example"}
	for n := range 2 * perRound { // more than are claimed at once
		addresses = append(addresses, fmt.Sprintf("a%d@house.example", n))
	}
	p.queue(t, addresses...)
	sent, err := p.round(t, 0)
	if err != nil || sent != 2*perRound || p.in(t, store.MailDead) != 1 {
		t.Errorf("%d sent, %d dead, %v", sent, p.in(t, store.MailDead), err)
	}
	if hello := strings.Count(strings.Join(p.box.Commands(), " "), "EHLO"); hello > 2 {
		t.Errorf("%d connections for one round", hello)
	}
}

// TestServerIsDown: nothing is lost; everything goes when it is back, and the
// waits of a server that cannot be reached are short.
func TestServerIsDown(t *testing.T) {
	p := opened(t, mailbox.Options{})
	p.queue(t, "a@house.example", "b@house.example")
	if err := p.box.Close(); err != nil {
		t.Fatal(err)
	}
	for _, wait := range []time.Duration{0, time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute} {
		if sent, err := p.round(t, wait); err != nil || sent != 0 || p.in(t, store.MailRetry) != 2 {
			t.Fatalf("after %s: %d sent, %d to be tried again, %v", wait, sent, p.in(t, store.MailRetry), err)
		}
	}
	back, err := mailbox.Start(mailbox.Options{Security: mailbox.ImplicitTLS})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { back.Close() })
	p.room.Sender = senderTo(t, back, "", "")
	if sent, err := p.round(t, 15*time.Minute); err != nil || sent != 2 {
		t.Errorf("back again: %d sent, %v", sent, err)
	}
}

// TestSettingsThatDoNotWork: the round ends at the first mail, says so, and
// no mail, tried or not, loses an attempt or waits for a lease to run out.
func TestSettingsThatDoNotWork(t *testing.T) {
	p := opened(t, mailbox.Options{Username: "watch", Password: "right"})
	p.room.Sender = senderTo(t, p.box, "watch", "wrong")
	p.queue(t, "a@house.example", "b@house.example", "c@house.example")
	for range 3 {
		tried := len(p.box.Commands())
		sent, err := p.round(t, time.Minute)
		if err == nil || sent != 0 || !strings.Contains(err.Error(), "settings do not work") || strings.Contains(err.Error(), "wrong") {
			t.Fatalf("%d sent, %v", sent, err)
		}
		if auth := strings.Count(strings.Join(p.box.Commands()[tried:], " "), "AUTH"); auth != 1 {
			t.Errorf("%d tries in a round, want 1", auth)
		}
		if n := p.in(t, store.MailQueued); n != 3 {
			t.Fatalf("%d mails are queued, want 3", n)
		}
	}
	claimed, err := p.store.Claim(t.Context(), 1, 0)
	if p.now = p.now.Add(time.Minute); err == nil && len(claimed) == 0 {
		claimed, err = p.store.Claim(t.Context(), 1, 0)
	}
	if err != nil || len(claimed) != 1 || claimed[0].Attempts != 1 {
		t.Errorf("claimed %+v, %v; want the first attempt", claimed, err)
	}
	p.room.Sender = senderTo(t, p.box, "watch", "right")
	if sent, err := p.round(t, time.Minute); err != nil || sent != 3 || len(p.box.Messages()) != 3 {
		t.Errorf("put right: %d sent, %v", sent, err)
	}
}
