package smtp

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"math/big"
	"net"
	"strings"
	"testing"
	"time"

	"antidotary/notify/mailbox"
)

const password = "hunter2-and-more"

// trouble is one bad day of a mail server, and what somebody is told of it.
type trouble struct {
	name    string
	opts    mailbox.Options
	settle  func(*Config)
	want    Trouble
	what    string // part of what is wrong
	said    string // part of the server's own words; empty: it said nothing
	do      string // part of what to do
	outcome Outcome
}

// refuses is a server that answers one step with a reply.
func refuses(at mailbox.Step, reply string) mailbox.Options {
	return mailbox.Options{Security: mailbox.ImplicitTLS, Username: "watch", Password: password, Script: mailbox.Script{{At: at, Reply: reply}}}
}

func drops(at mailbox.Step, do mailbox.Action) mailbox.Options {
	return mailbox.Options{Security: mailbox.ImplicitTLS, Script: mailbox.Script{{At: at, Do: do}}}
}

var troubles = []trouble{
	{name: "a wrong password", opts: mailbox.Options{Security: mailbox.ImplicitTLS, Username: "watch", Password: "another"},
		settle: func(c *Config) { c.Username, c.Password = "watch", password },
		want:   LoginRefused, what: "refused name or password", said: "535 5.7.8", do: "app password", outcome: ConfigFault},
	{name: "an app password is asked for", opts: refuses(mailbox.Auth, "534 5.7.9 Application-specific password required"),
		want: LoginRefused, what: "refused name or password", said: "Application-specific password required", do: "two-step login", outcome: ConfigFault},
	{name: "a locked account", opts: refuses(mailbox.Auth, "454 4.7.0 Temporary authentication failure"),
		want: LoginNotNow, what: "cannot check name and password now", said: "454 4.7.0", do: "lock an account", outcome: Retry},
	{name: "no login was set", opts: mailbox.Options{Security: mailbox.ImplicitTLS, Username: "watch", Password: password}, settle: func(c *Config) { c.Username, c.Password = "", "" },
		want: LoginNeeded, what: "only from who logs in", said: "530 5.7.0", do: "mail.password_file", outcome: ConfigFault},
	{name: "no login is offered", opts: mailbox.Options{Security: mailbox.ImplicitTLS}, settle: func(c *Config) { c.Username, c.Password = "watch", password },
		want: NoLogin, what: "does not let anybody log in", do: "Port 25", outcome: ConfigFault},
	{name: "TLS is wanted first", opts: mailbox.Options{Script: mailbox.Script{{At: mailbox.Mail, Reply: "530 5.7.0 Must issue a STARTTLS command first"}}},
		want: TLSFirst, what: "before TLS", said: "Must issue a STARTTLS", do: "mail.security", outcome: ConfigFault},
	{name: "STARTTLS is not offered", opts: mailbox.Options{}, settle: func(c *Config) { c.Security = StartTLS },
		want: NoStartTLS, what: "does not offer STARTTLS", do: "port 465", outcome: ConfigFault},
	{name: "TLS on a port for STARTTLS", opts: mailbox.Options{Security: mailbox.StartTLS}, settle: func(c *Config) { c.Security = ImplicitTLS },
		want: TLSNotSpoken, what: "talks in clear", do: "mail.security to starttls", outcome: ConfigFault},
	{name: "STARTTLS on a port for TLS", opts: mailbox.Options{Security: mailbox.ImplicitTLS},
		settle: func(c *Config) { c.Security, c.Timeouts.Command = StartTLS, 50*time.Millisecond },
		want:   NoGreeting, what: "was reached, and said nothing", do: "mail.security to tls", outcome: Retry},
	{name: "a certificate of another name", opts: mailbox.Options{Security: mailbox.ImplicitTLS}, settle: func(c *Config) { c.ServerName = "mail.thornbury.example" },
		want: CertificateName, what: "made out to localhost, mailbox.example, 127.0.0.1, 1 more, not to mail.thornbury.example", do: "mail.host", outcome: ConfigFault},
	{name: "a self-made certificate", opts: mailbox.Options{Security: mailbox.StartTLS}, settle: func(c *Config) { c.RootCAs = x509.NewCertPool() },
		want: CertificateUnknown, what: "signed by nobody whom this machine trusts (signed by itself)", do: "public authority", outcome: ConfigFault},
	{name: "this machine is not welcome", opts: refuses(mailbox.Greeting, "554 5.7.1 No mail from your network"),
		want: Unwelcome, what: "does not talk to this machine", said: "No mail from your network", do: "address of this machine", outcome: ConfigFault},
	{name: "too many connections", opts: refuses(mailbox.Greeting, "421 4.7.0 Too many connections from your address"),
		want: TooMany, what: "too many mails or connections", said: "421 4.7.0", do: "limit of the account", outcome: Retry},
	{name: "a greeting that never comes", opts: drops(mailbox.Greeting, mailbox.Drop),
		want: NoGreeting, what: "said nothing or hung up", do: "port 587", outcome: Retry},
	{name: "a sender that is not the account's", opts: refuses(mailbox.Mail, "553 5.7.1 Sender address not owned by user watch"),
		want: SenderRefused, what: "does not take mail from the sender", said: "not owned by user ******", do: "mail.from", outcome: ConfigFault},
	{name: "the same, said at the recipient", opts: refuses(mailbox.Rcpt, "550 5.7.1 Sender address rejected: not owned by user"),
		want: SenderRefused, what: "does not take mail from the sender", said: "rejected", do: "aliases", outcome: Dead},
	{name: "no relaying", opts: refuses(mailbox.Rcpt, "554 5.7.1 <keeper@keepers.example>: Relay access denied"),
		want: RelayDenied, what: "does not pass mail on", said: "<******>: Relay access denied", do: "not 25", outcome: Dead},
	{name: "no such mailbox", opts: refuses(mailbox.Rcpt, "550 5.1.1 User unknown"),
		want: RecipientRefused, what: "refused the recipient", said: "550 5.1.1 User unknown", do: "typing mistake", outcome: Dead},
	{name: "a full mailbox", opts: refuses(mailbox.Rcpt, "452 4.2.2 Mailbox full"),
		want: MailboxFull, what: "mailbox is full", said: "452 4.2.2", do: "make room", outcome: Retry},
	{name: "greylisting", opts: refuses(mailbox.Rcpt, "450 4.2.0 Greylisted, see the help page"),
		want: Greylisted, what: "come back later", said: "450 4.2.0", do: "quarter of an hour", outcome: Retry},
	{name: "greylisting without the word", opts: refuses(mailbox.Rcpt, "451 4.7.1 Please try again later"),
		want: Greylisted, what: "come back later", said: "451 4.7.1", do: "quarter of an hour", outcome: Retry},
	{name: "too many mails", opts: refuses(mailbox.Mail, "452 4.5.3 Sending quota exceeded"),
		want: TooMany, what: "too many mails", said: "452 4.5.3", do: "growing pauses", outcome: Retry},
	{name: "too large, by the server's own limit", opts: mailbox.Options{Security: mailbox.ImplicitTLS, MaxBytes: 100},
		want: TooLarge, what: "too large", do: "limit or the quota", outcome: Dead},
	{name: "too large, said after the mail", opts: refuses(mailbox.Dot, "552 5.3.4 Message size exceeds limit"),
		want: TooLarge, what: "too large", said: "552 5.3.4", do: "limit or the quota", outcome: Dead},
	{name: "taken for spam", opts: refuses(mailbox.Dot, "554 5.7.1 Message rejected as spam"),
		want: ContentRefused, what: "read the mail, and refused it", said: "rejected as spam", do: "spam", outcome: Dead},
	{name: "a full disk", opts: refuses(mailbox.Data, "451 4.3.0 Local error in processing"),
		want: NotNow, what: "does not take the mail now", said: "451 4.3.0", do: "tries again by itself", outcome: Retry},
	{name: "any other refusal", opts: refuses(mailbox.Data, "503 5.5.1 Bad sequence"),
		want: Refused, what: "refused (start data)", said: "503 5.5.1", do: "own words", outcome: Dead},
	{name: "cut off on the way", opts: drops(mailbox.Data, mailbox.Drop),
		want: CutOff, what: "ended the connection before the mail was taken", do: "virus scanners", outcome: Retry},
	{name: "no reply to the whole mail", opts: drops(mailbox.Dot, mailbox.Lose),
		want: NobodyKnows, what: "It may arrive, or not", do: "spam folder", outcome: Ambiguous},
}

// TestEachTroubleHasItsSentence: against a real server with each bad day.
func TestEachTroubleHasItsSentence(t *testing.T) {
	for _, c := range troubles {
		t.Run(c.name, func(t *testing.T) {
			cfg := configFor(mustMailbox(t, c.opts), c.opts)
			if c.settle != nil {
				c.settle(&cfg)
			}
			c.check(t, cfg)
		})
	}
}

func (c *trouble) check(t *testing.T, cfg Config) {
	t.Helper()
	r := mustSender(t, cfg).Send(t.Context(), envelope, letter, Hooks{})
	a := cfg.Advise(r)
	if a.Trouble != c.want || r.Outcome != c.outcome {
		t.Errorf("%s (%s in %s: %v), want %s (%s)", a.Trouble, r.Outcome, r.Phase, r.Err, c.want, c.outcome)
	}
	if !strings.Contains(a.What, c.what) || !strings.Contains(a.Do, c.do) || (c.said == "") != (a.Said == "") || !strings.Contains(a.Said, c.said) {
		t.Errorf("what: %s\nsaid: %s\n  do: %s\nwant %q, %q, %q", a.What, a.Said, a.Do, c.what, c.said, c.do)
	}
	for _, text := range []string{a.What, a.Said, a.Do} {
		if strings.Contains(text, password) || strings.Contains(text, string(cfg.Password)) && cfg.Password != "" {
			t.Errorf("the password is in %q", text)
		}
		if strings.ContainsAny(text, "\r\n\x1b") {
			t.Errorf("a control character is in %q", text)
		}
	}
}

// TestControlCharactersOfAServerStayOut: its words are quoted, not obeyed.
func TestControlCharactersOfAServerStayOut(t *testing.T) {
	c := trouble{want: RecipientRefused, what: "recipient", said: "550 5.1.1 No [31m such user ******", do: "typing", outcome: Dead}
	opts := refuses(mailbox.Rcpt, "550 5.1.1 No\x1b[31m such\u202e user watch")
	c.check(t, configFor(mustMailbox(t, opts), opts))
}

func TestNoWayThere(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	free := listener.Addr().(*net.TCPAddr).Port
	listener.Close()
	closed := trouble{want: PortClosed, what: "nothing listens on port", do: "port 587 with security: starttls", outcome: Retry}
	closed.check(t, Config{Host: "127.0.0.1", Port: free})

	// .invalid is never a name: RFC 6761 section 6.4. Where no name service
	// can be asked at all, that is what is said.
	cfg := Config{Host: "mail.nowhere.invalid"}
	a := cfg.Advise(mustSender(t, cfg).Send(t.Context(), envelope, letter, Hooks{}))
	if a.Trouble != NameNotFound && a.Trouble != NameLookupFailed || !strings.Contains(a.What, `"mail.nowhere.invalid"`) {
		t.Errorf("%s: %s", a.Trouble, a.What)
	}

	silent := trouble{want: NoConnection, what: "nothing answered within 1ns", do: "firewall", outcome: Retry}
	silent.check(t, Config{Host: "127.0.0.1", Port: free, Timeouts: Timeouts{Connect: 1}})
}

// TestNamesThatAreNotThere sorts what the resolver says without asking one.
func TestNamesThatAreNotThere(t *testing.T) {
	for _, c := range []struct {
		err  error
		want Trouble
	}{
		{&net.OpError{Op: "dial", Err: &net.DNSError{Err: "no such host", Name: "mail.thornbury.example", IsNotFound: true}}, NameNotFound},
		{&net.OpError{Op: "dial", Err: &net.DNSError{Err: "server misbehaving", Name: "mail.thornbury.example", IsTemporary: true}}, NameLookupFailed},
	} {
		if got := TroubleOf(newResult(PhaseConnect, c.err, nil)); got != c.want {
			t.Errorf("%v: %s, want %s", c.err, got, c.want)
		}
	}
}

// TestCertificatesOutOfTime: real handshakes with certificates of other days.
func TestCertificatesOutOfTime(t *testing.T) {
	now := time.Now()
	for _, c := range []struct {
		name     string
		from, to time.Time
		trouble
	}{
		{"ended", now.AddDate(-1, 0, 0), now.AddDate(0, 0, -1),
			trouble{want: CertificateExpired, what: "ended on " + now.AddDate(0, 0, -1).UTC().Format("Mon 2 Jan 2006"), do: "must renew it", outcome: ConfigFault}},
		{"not begun", now.AddDate(0, 0, 1), now.AddDate(1, 0, 0),
			trouble{want: CertificateExpired, what: "not valid before", do: "clock of this machine", outcome: ConfigFault}},
	} {
		t.Run(c.name, func(t *testing.T) {
			certificate, pool := certificateFor(t, c.from, c.to)
			c.check(t, serveTLS(t, &tls.Config{Certificates: []tls.Certificate{certificate}}, pool))
		})
	}
}

// TestTLSTooOld: a server that speaks TLS 1.1 gets nothing.
func TestTLSTooOld(t *testing.T) {
	certificate, pool := certificateFor(t, time.Now().AddDate(0, 0, -1), time.Now().AddDate(0, 0, 1))
	c := trouble{want: TLSFailed, what: "could not agree on TLS", do: "TLS 1.2 or newer", outcome: Retry}
	c.check(t, serveTLS(t, &tls.Config{Certificates: []tls.Certificate{certificate}, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}, pool))
}

// serveTLS is a mailbox behind a listener of our own, with the settings of
// whoever sends through it.
func serveTLS(t *testing.T, with *tls.Config, pool *x509.CertPool) Config {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	m := mustMailbox(t, mailbox.Options{Listener: tls.NewListener(listener, with)})
	return Config{Host: m.Host(), Port: m.Port(), RootCAs: pool}
}

func certificateFor(t *testing.T, from, to time.Time) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "mail.thornbury.example"}, NotBefore: from, NotAfter: to,
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(leaf)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, pool
}
