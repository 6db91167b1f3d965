package smtp

import (
	"context"
	"crypto/tls"
	"errors"
	"io"
	"net"
	"syscall"

	gosmtp "github.com/emersion/go-smtp"
)

// Outcome is what the outbox does next.
type Outcome string

const (
	// Sent: the server took the mail. Store the reply.
	Sent Outcome = "sent"
	// Retry: the mail is certainly not delivered and may be tried again.
	Retry Outcome = "retry"
	// Ambiguous: the mail was written in full and no reply came. Send the same
	// bytes again after at least 30 minutes: a duplicate is better than a missed
	// warning (RFC 1047).
	Ambiguous Outcome = "ambiguous"
	// Dead: this mail will not reach this recipient. Tell somebody else.
	Dead Outcome = "dead"
	// ConfigFault: no mail can be sent like this. Pause the queue, burn no attempts.
	ConfigFault Outcome = "config_fault"
)

// refusal is a reason of our own not to go on. go-smtp has such reasons too,
// as plain errors; every one it could give is checked for before it is asked.
type refusal struct {
	outcome Outcome
	reason  string
}

func (r *refusal) Error() string { return r.reason }

// classify sorts the end of an attempt. By the server's reply:
//
//	            greeting EHLO STARTTLS AUTH MAIL    RCPT DATA dot
//	2xx         -                                   -    -    Sent
//	4xx         Retry                               Retry
//	5xx         ConfigFault                         Dead
//	other       Retry                               Retry     Ambiguous
//
// and where no reply came: Ambiguous once the final dot has left, ConfigFault
// for a TLS failure that is not the network's, Retry otherwise.
func classify(phase Phase, err error) Outcome {
	var own *refusal
	var reply *gosmtp.SMTPError
	switch {
	case errors.As(err, &own):
		return own.outcome
	case errors.As(err, &reply):
		switch reply.Code / 100 {
		case 2:
			if phase == PhaseReply {
				return Sent
			}
		case 4:
			return Retry
		case 5:
			return refused(phase)
		}
	case phase == PhaseTLS && !isNetwork(err):
		return ConfigFault
	}
	if phase == PhaseReply {
		return Ambiguous
	}
	return Retry
}

// refused is the meaning of a 5xx: before a recipient was named it concerns
// every mail, from there on this one.
func refused(phase Phase) Outcome {
	switch phase {
	case PhaseRcpt, PhaseData, PhaseBody, PhaseReply:
		return Dead
	}
	return ConfigFault
}

// isNetwork tells a handshake cut short from one that failed on its merits: a
// bad certificate, too old a version, or a server that does not speak TLS.
func isNetwork(err error) bool {
	var alert tls.AlertError
	if errors.As(err, &alert) {
		const internalError = 80 // RFC 8446 section 6; the one alert that may pass by itself
		return alert == internalError
	}
	var netErr net.Error
	return errors.As(err, &netErr) ||
		errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.ErrClosedPipe) ||
		errors.Is(err, syscall.ECONNRESET) || errors.Is(err, net.ErrClosed) ||
		errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded)
}
