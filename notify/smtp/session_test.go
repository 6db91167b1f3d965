package smtp

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net"
	"slices"
	"strings"
	"testing"
	"time"

	"antidotary/notify/mailbox"
	"antidotary/notify/message"
	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"pgregory.net/rapid"
)

func TestSendInEverySecurity(t *testing.T) {
	for _, sec := range []mailbox.Security{mailbox.Plaintext, mailbox.StartTLS, mailbox.ImplicitTLS} {
		t.Run("security "+string(sec), func(t *testing.T) {
			opts := mailbox.Options{Security: sec}
			if sec != mailbox.Plaintext {
				opts.Username, opts.Password = "watch", "open sesame"
			}
			m := mustMailbox(t, opts)
			var p phases
			r := mustSender(t, configFor(m, opts)).Send(t.Context(), envelope, letter, p.hooks())
			if diff := cmp.Diff(Result{Outcome: Sent, Phase: PhaseReply, Code: 250, Enhanced: "2.0.0", Reply: "OK: queued"}, r); diff != "" {
				t.Errorf("-want +got\n%s", diff)
			}
			got, err := m.Wait(t.Context(), 1)
			if err != nil {
				t.Fatal(err)
			}
			g := got[0]
			if g.From != envelope.From || !slices.Equal(g.To, []string{envelope.To}) || g.EnvelopeID != envelope.ID || g.User != opts.Username {
				t.Errorf("envelope %+v", g)
			}
			if !bytes.Equal(g.Data, letter) {
				t.Errorf("not the bytes that were given: %q", g.Data)
			}
			order := map[mailbox.Security][]Phase{
				mailbox.Plaintext:   {PhaseCheck, PhaseConnect, PhaseGreeting, PhaseHello},
				mailbox.StartTLS:    {PhaseCheck, PhaseConnect, PhaseGreeting, PhaseHello, PhaseStartTLS, PhaseTLS, PhaseHello, PhaseAuth},
				mailbox.ImplicitTLS: {PhaseCheck, PhaseConnect, PhaseTLS, PhaseGreeting, PhaseHello, PhaseAuth},
			}[sec]
			order = append(order, PhaseMail, PhaseRcpt, PhaseBeforeData, PhaseData, PhaseBody, PhaseReply)
			if diff := cmp.Diff(order, p.seen); diff != "" {
				t.Errorf("phases -want +got\n%s", diff)
			}
		})
	}
}

// An error from the hook ends the attempt with nothing sent and nothing begun.
func TestBeforeDataRefuses(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{})
	lost := errors.New("lease lost")
	session := mustSender(t, configFor(m, mailbox.Options{})).Session()
	defer session.Close()
	r := session.Send(t.Context(), envelope, letter, Hooks{BeforeData: func(context.Context) error { return lost }})
	mustBe(t, r, Retry, PhaseBeforeData)
	if !errors.Is(r.Err, lost) {
		t.Errorf("error %v", r.Err)
	}
	if slices.Contains(m.Commands(), "DATA") {
		t.Error("DATA was said")
	}
	mustBe(t, session.Send(t.Context(), envelope, letter, Hooks{}), Sent, PhaseReply)
}

// One bad recipient costs nobody else their mail, nor the connection.
func TestSessionGoesOnAfterRefusals(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{Script: mailbox.Script{
		{At: mailbox.Mail, Reply: "451 4.3.0 later", Times: 1},
		{At: mailbox.Rcpt, Reply: "550 5.1.1 who", Times: 1},
		{At: mailbox.Data, Reply: "451 4.3.0 later", Times: 1},
		{At: mailbox.Dot, Reply: "552 5.2.2 full", Times: 1},
	}})
	session := mustSender(t, configFor(m, mailbox.Options{})).Session()
	for _, want := range []struct {
		outcome Outcome
		phase   Phase
	}{{Retry, PhaseMail}, {Dead, PhaseRcpt}, {Retry, PhaseData}, {Dead, PhaseReply}, {Sent, PhaseReply}, {Sent, PhaseReply}} {
		mustBe(t, session.Send(t.Context(), envelope, letter, Hooks{}), want.outcome, want.phase)
	}
	session.Close()
	var rset, mail, quit int
	for _, verb := range m.Commands() {
		switch verb {
		case "RSET":
			rset++
		case "MAIL":
			mail++
		case "QUIT":
			quit++
		}
	}
	if rset != 4 || mail != 6 || quit != 1 {
		t.Errorf("one connection, a RSET after each refusal: %v", m.Commands())
	}
	if n := len(m.Messages()); n != 2 {
		t.Errorf("%d messages", n)
	}
}

// A kept connection that died of idleness is no failure of the mail.
func TestSessionOpensAnewWhenTheOldOneDied(t *testing.T) {
	for name, fault := range map[string]mailbox.Fault{
		"closed":       {At: mailbox.Mail, Do: mailbox.Drop, Times: 1},
		"421 at MAIL":  {At: mailbox.Mail, Reply: "421 4.4.2 idle too long", Times: 1},
		"closed after": {At: mailbox.Dot, Do: mailbox.DropAfter, Times: 1},
	} {
		t.Run(name, func(t *testing.T) {
			m := mustMailbox(t, mailbox.Options{})
			dials := 0
			s := mustSender(t, configFor(m, mailbox.Options{}))
			dial := s.dial
			s.dial = func(ctx context.Context, network, addr string) (net.Conn, error) {
				dials++
				return dial(ctx, network, addr)
			}
			session := s.Session()
			defer session.Close()
			if fault.At == mailbox.Dot {
				m.SetScript(mailbox.Script{fault})
			}
			mustBe(t, session.Send(t.Context(), envelope, letter, Hooks{}), Sent, PhaseReply)
			if fault.At != mailbox.Dot {
				m.SetScript(mailbox.Script{fault})
			}
			var p phases
			mustBe(t, session.Send(t.Context(), envelope, letter, p.hooks()), Sent, PhaseReply)
			if dials != 2 || p.beforeData != 1 || len(m.Messages()) != 2 {
				t.Errorf("%d connections, hook %d times, %d messages", dials, p.beforeData, len(m.Messages()))
			}
		})
	}
}

// Once is enough: a server that closes every time gets a Retry, not a loop. And
// past MAIL there is no second try within a Send at all. The letter is short
// enough to be gone, dot and all, before the server closes in mid-body, so
// that end is Ambiguous.
func TestSessionOpensAnewOnlyOnceAndOnlyAtMail(t *testing.T) {
	for _, tt := range []struct {
		at      mailbox.Step
		outcome Outcome
		phase   Phase
		hook    int
	}{
		{mailbox.Mail, Retry, PhaseMail, 0},
		{mailbox.Rcpt, Retry, PhaseRcpt, 0},
		{mailbox.Data, Retry, PhaseData, 1},
		{mailbox.Body, Ambiguous, PhaseReply, 1},
		{mailbox.Dot, Ambiguous, PhaseReply, 1},
	} {
		t.Run(string(tt.at), func(t *testing.T) {
			m := mustMailbox(t, mailbox.Options{})
			session := mustSender(t, configFor(m, mailbox.Options{})).Session()
			defer session.Close()
			mustBe(t, session.Send(t.Context(), envelope, letter, Hooks{}), Sent, PhaseReply)
			m.SetScript(mailbox.Script{{At: tt.at, Do: mailbox.Drop}})
			var p phases
			mustBe(t, session.Send(t.Context(), envelope, letter, p.hooks()), tt.outcome, tt.phase)
			if p.beforeData != tt.hook {
				t.Errorf("hook ran %d times", p.beforeData)
			}
		})
	}
}

func TestSessionChangesConnectionAfterMaxMails(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{})
	session := mustSender(t, configFor(m, mailbox.Options{})).Session()
	for range maxMails + 1 {
		mustBe(t, session.Send(t.Context(), envelope, letter, Hooks{}), Sent, PhaseReply)
	}
	session.Close()
	hellos := 0
	for _, verb := range m.Commands() {
		if verb == "EHLO" {
			hellos++
		}
	}
	if hellos != 2 {
		t.Errorf("%d connections for %d mails", hellos, maxMails+1)
	}
}

// The whole way, with real letters: each recipient's mail arrives alone, with
// nobody else's address in it, byte for byte as built.
func TestNobodyElsesAddressArrives(t *testing.T) {
	m := mustMailbox(t, mailbox.Options{Keep: 1 << 20})
	session := mustSender(t, configFor(m, mailbox.Options{})).Session()
	defer session.Close()
	local := rapid.StringMatching(`[a-z]{4,8}`)
	total := 0
	rapid.Check(t, func(t *rapid.T) {
		people := rapid.SliceOfNDistinct(local, 2, 4, rapid.ID).Draw(t, "people")
		built := map[string][]byte{}
		for _, p := range people {
			mail := message.Mail{
				ID: uuid.NewSHA1(uuid.NameSpaceDNS, []byte(p)).String(), From: message.Address{Name: "Watch", Addr: "watch@reptiles.example"},
				To: message.Address{Name: rapid.String().Draw(t, "name"), Addr: p + "-k@keepers.example"}, BounceTo: "bounce@reptiles.example",
				Date: time.Date(2031, 5, 1, 6, 0, 0, 0, time.UTC), Subject: rapid.String().Draw(t, "subject"), Text: "x" + rapid.String().Draw(t, "text"),
			}
			raw, err := mail.Bytes()
			if err != nil {
				t.Fatal(err)
			}
			from, to := mail.Envelope()
			if r := session.Send(context.Background(), Envelope{From: from, To: to, ID: mail.ID}, raw, Hooks{}); r.Outcome != Sent {
				t.Fatalf("%+v", r)
			}
			built[to] = raw
		}
		arrived := m.Messages()[total:]
		total += len(people)
		if len(arrived) != len(people) {
			t.Fatalf("%d mails for %d people", len(arrived), len(people))
		}
		for _, msg := range arrived {
			if len(msg.To) != 1 || !bytes.Equal(msg.Data, built[msg.To[0]]) {
				t.Fatalf("to %v: %q", msg.To, msg.Data)
			}
			for to := range built {
				if strings.Contains(string(msg.Data), "<"+to+">") != (to == msg.To[0]) {
					t.Fatalf("mail to %s names %s", msg.To[0], to)
				}
			}
		}
	})
}

// Thousands of attempts with every kind of end leave no goroutine behind
// (TestMain looks) and no result unclassified.
func TestManyAttempts(t *testing.T) {
	attempts := 2_000
	if testing.Short() {
		attempts = 500
	}
	ends := []mailbox.Script{
		nil,
		{{At: mailbox.Greeting, Do: mailbox.Drop}},
		{{At: mailbox.Rcpt, Reply: "450 4.2.0 later"}},
		{{At: mailbox.Rcpt, Do: mailbox.Drop}},
		{{At: mailbox.Body, Do: mailbox.Drop}}, // after our dot has left
		{{At: mailbox.Dot, Do: mailbox.Lose}},
		{{At: mailbox.Dot, Reply: "554 5.6.0 no"}},
	}
	m := mustMailbox(t, mailbox.Options{Keep: 10})
	s := mustSender(t, configFor(m, mailbox.Options{}))
	count := map[Outcome]int{}
	for i := range attempts {
		m.SetScript(ends[i%len(ends)])
		r := s.Send(t.Context(), envelope, letter, Hooks{})
		count[r.Outcome]++
	}
	each := attempts / len(ends)
	for outcome, kinds := range map[Outcome]int{Sent: 1, Retry: 3, Ambiguous: 2, Dead: 1} {
		if n := count[outcome]; n < kinds*each || n > kinds*(each+1) {
			t.Errorf("%s: %d of %d", outcome, n, attempts)
		}
	}
	if count[ConfigFault] != 0 {
		t.Error(fmt.Sprint(count))
	}
}
