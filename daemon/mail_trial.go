package daemon

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"time"

	"antidotary/daemon/answer"
	"antidotary/daemon/config"
	"antidotary/inventory"
	"antidotary/notify/message"
	"antidotary/notify/smtp"
	"antidotary/notify/words"
)

// ErrNoMail: the configuration sends no mail, so there is nothing to try.
var ErrNoMail = errors.New(`no mail is sent (mail.mode is none), and nobody is being told. To send mail, write into the configuration:

mail:
  mode: smtp
  host: mail.example.org        # your provider's server for sending
  port: 465
  security: tls                 # or port 587 and starttls
  username: watch@example.org
  password_file: mail.password  # chmod 600; often an app password
  from: watch@example.org`)

// MailTrial says how far one real mail came on its way to the mail server.
type MailTrial struct {
	Format   int         `json:"format"`
	Server   string      `json:"server"`   // host:port
	Security string      `json:"security"` // tls, starttls or none
	From     string      `json:"from"`
	To       string      `json:"to"`
	Steps    []TrialStep `json:"steps"`             // in their order, up to the first that failed
	Taken    bool        `json:"taken"`             // by the server; that is not arrived
	Reply    string      `json:"reply,omitempty"`   // of the server that took it
	Trouble  *TrialFault `json:"trouble,omitempty"` // unset: it was taken
}

// TrialStep is one step of the way.
type TrialStep struct {
	Step string `json:"step"`
	OK   bool   `json:"ok"`
	Text string `json:"text"`
}

// TrialFault is why the mail was not taken.
type TrialFault struct {
	Code smtp.Trouble `json:"code"`
	What string       `json:"what"`
	Said string       `json:"said,omitempty"` // the server's own words
	Do   string       `json:"do"`
}

// TryMail sends one short mail through the configured server, exactly as the
// watch does, and says how far it came. to is the recipient; empty: the
// sender. What happens is printed to out as it happens, because a server may
// keep somebody waiting for minutes. The error is one of the configuration;
// that the mail was not taken is none.
func TryMail(ctx context.Context, opt Options, to string, out io.Writer) (*MailTrial, error) {
	opt.settle()
	m := opt.Config.Mail
	if m.Mode == config.MailNone {
		return nil, ErrNoMail
	}
	if to == "" {
		to = m.From
	}
	if err := message.CheckAddress(to); err != nil {
		return nil, fmt.Errorf("the recipient %q: %w", to, err)
	}
	settings, err := opt.mailServer()
	if err != nil {
		return nil, err
	}
	sender, err := smtp.New(settings)
	if err != nil {
		return nil, err
	}
	mail := trialMail(m, to, opt.Clock())
	body, err := mail.Bytes()
	if err != nil {
		return nil, fmt.Errorf("write the mail: %w", err)
	}
	t := &trial{out: out, settings: settings, MailTrial: MailTrial{Format: answer.Format, Server: net.JoinHostPort(m.Host, fmt.Sprint(m.Port)),
		Security: m.Security, From: m.From, To: to, Steps: []TrialStep{}}}
	t.writeHead(out)
	from, _ := mail.Envelope()
	result := sender.Send(ctx, smtp.Envelope{From: from, To: to, ID: mail.ID}, body,
		smtp.Hooks{Phase: t.phase, Connected: t.connected, Secured: t.secured})
	t.end(result)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return &t.MailTrial, t.writeEnd(out)
}

func trialMail(m config.Mail, to string, now time.Time) message.Mail {
	return message.Mail{ID: inventory.NewID().String(), From: message.Address{Name: m.FromName, Addr: m.From}, To: message.Address{Addr: to},
		BounceTo: m.Bounce, Date: now, Subject: "antidotary: a mail to try the way",
		Text: "Somebody tried whether the watch can send mail: it can, and this is that mail.\n\n" +
			"Nothing has happened. If you find this in the spam folder, tell your mail program that it is none, or warnings may end there too.\n"}
}

// trial follows one attempt from phase to phase.
type trial struct {
	MailTrial
	out      io.Writer
	settings smtp.Config
	phases   []smtp.Phase // begun
	peer     net.Addr
	tls      *tls.ConnectionState
}

// trialSteps are what people call the phases that they are told of. The
// others are over in no time.
var trialSteps = map[smtp.Phase]string{
	smtp.PhaseConnect: "connect", smtp.PhaseTLS: "TLS", smtp.PhaseGreeting: "greeting", smtp.PhaseHello: "hello", smtp.PhaseStartTLS: "STARTTLS", smtp.PhaseAuth: "login",
	smtp.PhaseMail: "sender", smtp.PhaseRcpt: "recipient", smtp.PhaseData: "mail", smtp.PhaseBody: "mail", smtp.PhaseReply: "mail",
}

func (t *trial) phase(p smtp.Phase) {
	if n := len(t.phases); n > 0 && trialSteps[t.phases[n-1]] != trialSteps[p] {
		t.passed(t.phases[n-1])
	}
	t.phases = append(t.phases, p)
}

func (t *trial) connected(peer net.Addr) {
	t.peer = peer
	t.found()
}

// found tells that the name led somewhere.
func (t *trial) found() {
	if net.ParseIP(t.settings.Host) == nil {
		host := ""
		if t.peer != nil {
			host, _, _ = net.SplitHostPort(t.peer.String())
		}
		t.add("name", true, strings.TrimSpace(t.settings.Host+" is known "+host))
	}
}

func (t *trial) secured(s tls.ConnectionState) { t.tls = &s }

// passed tells of a step that went well.
func (t *trial) passed(p smtp.Phase) {
	text := ""
	switch p {
	case smtp.PhaseConnect:
		text = "to " + t.peer.String()
	case smtp.PhaseTLS:
		text = tls.VersionName(t.tls.Version) + "; certificate " + smtp.Whose(t.tls.PeerCertificates[0])
	case smtp.PhaseGreeting:
		text = "the server is ready"
	case smtp.PhaseHello:
		text = "the server answers"
	case smtp.PhaseStartTLS:
		text = "offered"
	case smtp.PhaseAuth:
		text = "name and password are right"
	case smtp.PhaseMail:
		text = t.From + " may send"
	case smtp.PhaseRcpt:
		text = t.To + " is taken"
	case smtp.PhaseReply:
		text = "taken by the server"
	default:
		return
	}
	t.add(trialSteps[p], true, text)
}

func (t *trial) add(step string, ok bool, text string) {
	s := TrialStep{Step: step, OK: ok, Text: text}
	t.Steps = append(t.Steps, s)
	s.write(t.out)
}

// end tells of the last step and, where it failed, why.
func (t *trial) end(r smtp.Result) {
	if r.Outcome == smtp.Sent {
		t.passed(r.Phase)
		t.Taken, t.Reply = true, strings.Join(strings.Fields(fmt.Sprint(r.Code, " ", r.Enhanced, " ", r.Reply)), " ")
		return
	}
	a := t.settings.Advise(r)
	t.Trouble = &TrialFault{Code: a.Trouble, What: a.What, Said: a.Said, Do: a.Do}
	step := trialSteps[r.Phase]
	switch {
	case a.Trouble == smtp.NameNotFound, a.Trouble == smtp.NameLookupFailed:
		step = "name"
	case r.Phase == smtp.PhaseConnect:
		t.found()
	case step == "":
		step = "mail"
	}
	t.add(step, false, "failed")
}

// WriteText prints the steps and how it ended.
func (t *MailTrial) WriteText(w io.Writer) error {
	t.writeHead(w)
	for _, s := range t.Steps {
		s.write(w)
	}
	return t.writeEnd(w)
}

// writeHead says what is tried.
func (t *MailTrial) writeHead(w io.Writer) {
	fmt.Fprintf(w, "One real mail from %s to %s, through %s (security: %s):\n\n", t.From, t.To, t.Server, t.Security)
}

func (s TrialStep) write(w io.Writer) {
	mark := "ok"
	if !s.OK {
		mark = "NO"
	}
	io.WriteString(w, words.Labelled(s.Step, mark+"  "+s.Text, trialWidth))
}

const trialWidth = 88

// writeEnd says how it ended.
func (t *MailTrial) writeEnd(w io.Writer) error {
	var b strings.Builder
	b.WriteString("\n")
	if t.Taken {
		b.WriteString(words.Labelled("server", "\""+t.Reply+"\"", trialWidth))
		b.WriteString("\n" + words.Wrapped("THE SERVER TOOK THE MAIL. That is not yet arrived: look into the mailbox of "+t.To+
			", in the spam folder too. If it is in neither within some minutes, the watch's warnings will not come either.", trialWidth))
	} else {
		b.WriteString(words.Wrapped("THE SERVER DID NOT TAKE THE MAIL. "+t.Trouble.What, trialWidth))
		if t.Trouble.Said != "" {
			b.WriteString(words.Labelled("server", "\""+t.Trouble.Said+"\"", trialWidth))
		}
		b.WriteString(words.Labelled("to do", t.Trouble.Do, trialWidth))
	}
	_, err := io.WriteString(w, b.String())
	return err
}
