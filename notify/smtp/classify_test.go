package smtp

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"syscall"
	"testing"

	gosmtp "github.com/emersion/go-smtp"
)

var allPhases = []Phase{PhaseCheck, PhaseConnect, PhaseTLS, PhaseGreeting, PhaseHello, PhaseStartTLS, PhaseAuth,
	PhaseMail, PhaseRcpt, PhaseBeforeData, PhaseData, PhaseBody, PhaseReply}

// The whole table: every reply code there can be, at every phase.
func TestClassifyReplies(t *testing.T) {
	mine := map[Phase]bool{PhaseRcpt: true, PhaseData: true, PhaseBody: true, PhaseReply: true}
	for _, phase := range allPhases {
		for code := 100; code <= 999; code++ {
			want := Retry
			switch {
			case code/100 == 2 && phase == PhaseReply:
				want = Sent
			case code/100 == 5 && mine[phase]:
				want = Dead
			case code/100 == 5:
				want = ConfigFault
			case code/100 != 4 && phase == PhaseReply:
				want = Ambiguous
			}
			err := fmt.Errorf("wrapped: %w", &gosmtp.SMTPError{Code: code})
			if got := classify(phase, err); got != want {
				t.Fatalf("%d in %s: %s, want %s", code, phase, got, want)
			}
		}
	}
}

// Without a reply it is a matter of whether the final dot has left.
func TestClassifyLostConnections(t *testing.T) {
	for name, err := range map[string]error{
		"EOF":               io.EOF,
		"EOF within a line": io.ErrUnexpectedEOF,
		"reset":             &net.OpError{Op: "read", Err: syscall.ECONNRESET},
		"closed":            &net.OpError{Op: "write", Err: net.ErrClosed},
		"timeout":           &net.OpError{Op: "read", Err: os.ErrDeadlineExceeded},
		"name not found":    &net.DNSError{Err: "no such host", IsNotFound: true},
		"pipe closed":       io.ErrClosedPipe,
		"cancelled":         context.Canceled,
		"context deadline":  context.DeadlineExceeded,
		"blamed":            fmt.Errorf("%w: %w", errBeforeDot, net.ErrClosed),
	} {
		for _, phase := range allPhases {
			want := Retry
			if phase == PhaseReply {
				want = Ambiguous
			}
			if got := classify(phase, err); got != want {
				t.Errorf("%s in %s: %s, want %s", name, phase, got, want)
			}
		}
	}
}

func TestClassifyHandshakes(t *testing.T) {
	remote := func(a tls.AlertError) error { return &net.OpError{Op: "remote error", Err: a} }
	for name, tt := range map[string]struct {
		err  error
		want Outcome
	}{
		"unknown authority":     {&tls.CertificateVerificationError{Err: x509.UnknownAuthorityError{}}, ConfigFault},
		"wrong name":            {&tls.CertificateVerificationError{Err: x509.HostnameError{}}, ConfigFault},
		"not TLS":               {tls.RecordHeaderError{Msg: "first record does not look like a TLS handshake"}, ConfigFault},
		"too old a version":     {errors.New("tls: server selected unsupported protocol version 301"), ConfigFault},
		"server's version":      {remote(70), ConfigFault},
		"server's handshake":    {remote(40), ConfigFault},
		"server's own accident": {remote(80), Retry},
		"cut short":             {io.EOF, Retry},
	} {
		t.Run(name, func(t *testing.T) {
			if got := classify(PhaseTLS, tt.err); got != tt.want {
				t.Errorf("%s, want %s", got, tt.want)
			}
		})
	}
}

// A reason of our own beats everything that may be wrapped with it.
func TestClassifyOwnRefusals(t *testing.T) {
	for _, phase := range allPhases {
		for _, want := range []Outcome{Dead, ConfigFault} {
			if got := classify(phase, errors.Join(&refusal{want, "x"}, io.EOF)); got != want {
				t.Errorf("%s in %s: %s", want, phase, got)
			}
		}
	}
}
