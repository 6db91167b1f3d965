package smtp

import (
	"context"
	"fmt"

	gosmtp "github.com/emersion/go-smtp"
)

// attempt is one mail on its way, and how far it came.
type attempt struct {
	env   Envelope
	body  []byte
	hooks Hooks
	phase Phase
}

func (a *attempt) enter(p Phase) {
	a.phase = p
	if a.hooks.Phase != nil {
		a.hooks.Phase(p)
	}
}

// transact sends one mail from MAIL to the reply after the final dot and
// returns that reply, or what came instead. dotLeft is called when the final
// dot has been handed to the network in full.
func (l *link) transact(ctx context.Context, a *attempt, dotLeft func()) error {
	if err := l.envelope(a); err != nil {
		return err
	}
	a.enter(PhaseBeforeData)
	if a.hooks.BeforeData != nil {
		if err := a.hooks.BeforeData(ctx); err != nil {
			return err
		}
	}
	a.enter(PhaseData)
	w, err := l.client.Data()
	if err != nil {
		return err
	}
	a.enter(PhaseBody)
	// No deferred Close: it would end a half-written mail with a dot, and the
	// server would take it.
	if _, err := w.Write(a.body); err != nil {
		return err
	}
	l.wire.onRead = dotLeft
	resp, err := w.CloseWithResponse()
	l.wire.onRead = nil
	if err != nil {
		return err
	}
	l.dirty = false
	return asReply(250, resp.StatusText)
}

func (l *link) envelope(a *attempt) error {
	a.enter(PhaseMail)
	// The size is not declared in MAIL: a server that finds it too large would
	// answer 552 there, where a 5xx means that no mail can be sent at all.
	if limit, ok := l.client.MaxMessageSize(); ok && limit > 0 && len(a.body) > limit {
		return &refusal{Dead, fmt.Sprintf("mail has %d octets, the server takes at most %d", len(a.body), limit)}
	}
	if l.dirty {
		if err := l.client.Reset(); err != nil {
			return err
		}
	}
	l.dirty = true
	l.mails++
	if err := l.client.Mail(a.env.From, a.env.options()); err != nil {
		return err
	}
	a.enter(PhaseRcpt)
	return l.client.Rcpt(a.env.To, nil)
}

func (e Envelope) options() *gosmtp.MailOptions {
	opts := &gosmtp.MailOptions{Return: gosmtp.DSNReturnHeaders} // a report need not carry the digest around
	if len(e.ID) <= 100 && isPrintable(e.ID) {                   // RFC 3461 4.4
		opts.EnvelopeID = e.ID
	}
	return opts
}

func isPrintable(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}
