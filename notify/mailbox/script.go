package mailbox

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	gosmtp "github.com/emersion/go-smtp"
)

// Step is a point of the dialogue at which something can go wrong.
type Step string

// The steps in their order. Behind STARTTLS the commands are encrypted below
// the server, so Greeting, AtStartTLS and Data can be scripted there only as
// far as they come before the handshake: Data cannot.
const (
	Greeting   Step = "greeting"
	Hello      Step = "hello"
	AtStartTLS Step = "starttls"
	Auth       Step = "auth"
	Mail       Step = "mail"
	Rcpt       Step = "rcpt"
	Data       Step = "data" // the DATA command
	Body       Step = "body" // after the first octets of the message
	Dot        Step = "dot"  // after the final dot
)

// Action is what goes wrong.
type Action string

const (
	// Refuse answers with Fault.Reply instead of what the server would have said.
	Refuse Action = ""
	// Drop closes the connection without an answer. At Dot nothing is kept.
	Drop Action = "drop"
	// DropAfter answers as usual, then closes the connection.
	DropAfter Action = "drop after"
	// Hang never answers, and reads no further, until the mailbox closes. At Dot
	// the message is kept.
	Hang Action = "hang"
	// Lose, at Dot, keeps the message and closes the connection without an answer.
	Lose Action = "lose"
)

// Fault is one thing that goes wrong.
type Fault struct {
	At    Step
	Do    Action
	Reply string // for Refuse: "450 4.2.1 text"; the enhanced code may be missing
	Times int    // how often; 0 means always
}

// Script is what goes wrong, first fit first.
type Script []Fault

func (s Script) check(sec Security) error {
	for i, f := range s {
		if err := f.check(sec); err != nil {
			return fmt.Errorf("script fault %d at %s: %w", i+1, f.At, err)
		}
	}
	return nil
}

func (f Fault) check(sec Security) error {
	switch f.At {
	case Greeting, Hello, Auth, Mail, Rcpt, Dot:
	case Body:
		if f.Do == DropAfter {
			return errors.New("there is no answer to drop after")
		}
	case Data:
		if sec == StartTLS {
			return errors.New("cannot be scripted behind STARTTLS, use implicit TLS")
		}
	case AtStartTLS:
		if sec != StartTLS {
			return errors.New("needs security starttls")
		}
	default:
		return errors.New("no such step")
	}
	switch f.Do {
	case Refuse:
		if reply := f.reply(); reply == nil {
			return fmt.Errorf("reply %q does not start with a code from 200 to 599", f.Reply)
		}
	case Lose:
		if f.At != Dot {
			return errors.New("only the reply to the final dot can be lost")
		}
	case Drop, DropAfter, Hang:
	default:
		return fmt.Errorf("no such action %q", string(f.Do))
	}
	return nil
}

// reply reads Reply, or gives nil.
func (f Fault) reply() *gosmtp.SMTPError {
	first, text, _ := strings.Cut(f.Reply, " ")
	code, err := strconv.Atoi(first)
	if err != nil || code < 200 || code > 599 {
		return nil
	}
	e := &gosmtp.SMTPError{Code: code, EnhancedCode: gosmtp.NoEnhancedCode, Message: text}
	class, rest, _ := strings.Cut(text, " ")
	var c gosmtp.EnhancedCode
	if n, _ := fmt.Sscanf(class, "%d.%d.%d", &c[0], &c[1], &c[2]); n == 3 {
		e.EnhancedCode, e.Message = c, rest
	}
	return e
}

// fault takes the first fault that fits and uses it up, or gives nil.
func (m *Mailbox) fault(at Step) *Fault {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := range m.script {
		f := &m.script[i]
		if f.At != at || f.Times < 0 {
			continue
		}
		if f.Times == 1 {
			f.Times = -1
		} else if f.Times > 1 {
			f.Times--
		}
		taken := *f
		m.announce()
		return &taken
	}
	return nil
}
