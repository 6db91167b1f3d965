package smtp

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net"

	gosmtp "github.com/emersion/go-smtp"
)

// maxMails is how many mails share a connection: common practice, no source.
// Servers count them too, and say so with codes that look like faults.
const maxMails = 50

// Session keeps a connection between mails and opens a new one when it has to.
// It is not safe for concurrent use.
type Session struct {
	sender *Sender
	link   *link // nil, or at a point where a command may be sent
}

// Close says QUIT and closes the connection. It takes seconds at most.
func (s *Session) Close() error {
	l := s.link
	if l == nil {
		return nil
	}
	s.link = nil
	l.client.CommandTimeout = quitTimeout
	l.client.Quit() // a courtesy; what was sent is settled
	return l.raw.Close()
}

// drop closes without a word. Any command after a half-written mail would first
// write the final dot and so send the half.
func (s *Session) drop() {
	if s.link != nil {
		s.link.raw.Close()
		s.link = nil
	}
}

// Send makes one attempt, over the open connection if there is one. See Sender.Send.
func (s *Session) Send(ctx context.Context, env Envelope, body []byte, hooks Hooks) Result {
	a := &attempt{env: env, body: body, hooks: hooks}
	a.enter(PhaseCheck)
	err := cmp.Or(env.check(), CheckBody(body))
	if err == nil {
		err = s.attempt(ctx, a)
	}
	masked := append(s.sender.cfg.secrets(), env.To, env.From)
	return newResult(a.phase, err, masked)
}

// attempt carries a to its end and keeps the connection if it is still good.
// The returned error is never nil: success is the server's 250.
func (s *Session) attempt(ctx context.Context, a *attempt) error {
	before, cancel := context.WithTimeoutCause(ctx, s.sender.cfg.Timeouts.BeforeDot, errBeforeDot)
	defer cancel()
	if s.link != nil {
		err := s.transact(ctx, before, a)
		// A kept connection may have died of idleness, which is nobody's fault
		// and no reason to wait: nothing was sent, so try a new one at once.
		if s.link != nil || a.phase != PhaseMail || before.Err() != nil {
			return err
		}
	}
	l, err := s.sender.connect(before, a)
	if err != nil {
		return blame(before, err)
	}
	s.link = l
	return s.transact(ctx, before, a)
}

// transact runs one transaction on s.link. Ending before closes the connection
// up to the final dot, ending ctx closes it any time.
func (s *Session) transact(ctx, before context.Context, a *attempt) error {
	l := s.link
	g := &guard{raw: l.raw}
	g.watch(before)
	err := l.transact(before, a, func() {
		a.enter(PhaseReply)
		g.watch(ctx)
	})
	alive := g.release()
	switch {
	case !alive || !keeps(a.phase, err):
		s.drop()
	case l.mails >= maxMails:
		s.Close()
	}
	if a.phase == PhaseReply {
		return blame(ctx, err)
	}
	return blame(before, err)
}

// keeps reports whether client and server still agree on where they are.
func keeps(phase Phase, err error) bool {
	var reply *gosmtp.SMTPError
	if !errors.As(err, &reply) {
		var own *refusal
		return phase == PhaseBeforeData || errors.As(err, &own)
	}
	switch reply.Code / 100 {
	case 2:
		return phase == PhaseReply
	case 4, 5:
		return reply.Code != 421 // RFC 5321 4.2.3: the server is closing
	}
	return false
}

// blame names the context that closed the connection, whose own error says
// only that it was closed. A reply that came is the server's word all the same.
func blame(ctx context.Context, err error) error {
	var reply *gosmtp.SMTPError
	if cause := context.Cause(ctx); cause != nil && !errors.As(err, &reply) {
		return fmt.Errorf("%w: %w", cause, err)
	}
	return err
}

// guard closes a connection when a context ends.
type guard struct {
	raw   net.Conn
	stop  func() bool
	fired bool
}

func (g *guard) watch(ctx context.Context) {
	g.release()
	g.stop = context.AfterFunc(ctx, func() { g.raw.Close() })
}

// release stops watching and reports whether the connection was left open.
func (g *guard) release() bool {
	if g.stop != nil && !g.stop() {
		g.fired = true
	}
	g.stop = nil
	return !g.fired
}
