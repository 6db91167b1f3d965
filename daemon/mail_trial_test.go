package daemon

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"antidotary/daemon/config"
	"antidotary/notify/mailbox"
	"antidotary/notify/smtp"
)

const trialPassword = "correct horse 42"

// trying is a daemon's options for a mail server with a login.
func trying(t *testing.T, security mailbox.Security, script mailbox.Script) (Options, *mailbox.Mailbox) {
	t.Helper()
	box, err := mailbox.Start(mailbox.Options{Security: security, Username: "watch", Password: trialPassword, Script: script})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { box.Close() })
	file := filepath.Join(t.TempDir(), "mail.password")
	if err := os.WriteFile(file, []byte(trialPassword+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	opt := Options{Config: config.Default(), Clock: func() time.Time { return morning }, RootCAs: box.CertPool()}
	opt.Config.Mail = config.Mail{Mode: config.MailSMTP, Host: box.Host(), Port: box.Port(), Security: string(security), Username: "watch", PasswordFile: file,
		From: "watch@thornbury.example", FromName: "antidotary", Bounce: "watch@thornbury.example"}
	return opt, box
}

func stepsOf(trial *MailTrial) (steps []string) {
	for _, s := range trial.Steps {
		mark := " NO"
		if s.OK {
			mark = ""
		}
		steps = append(steps, s.Step+mark)
	}
	return steps
}

// TestTheTrialMailArrives: with TLS at once and with STARTTLS, each step is
// told, the mail is there, and nobody is led to think that taken is arrived.
func TestTheTrialMailArrives(t *testing.T) {
	for security, want := range map[mailbox.Security][]string{
		mailbox.ImplicitTLS: {"connect", "TLS", "greeting", "hello", "login", "sender", "recipient", "mail"},
		mailbox.StartTLS:    {"connect", "greeting", "hello", "STARTTLS", "TLS", "hello", "login", "sender", "recipient", "mail"},
	} {
		t.Run(string(security), func(t *testing.T) {
			opt, box := trying(t, security, nil)
			var out bytes.Buffer
			trial, err := TryMail(t.Context(), opt, "keeper@thornbury.example", &out)
			if err != nil || !trial.Taken || trial.Trouble != nil {
				t.Fatalf("%+v, %v", trial, err)
			}
			if got := stepsOf(trial); !slices.Equal(got, want) {
				t.Errorf("steps %q, want %q", got, want)
			}
			mails := box.Messages()
			if len(mails) != 1 || mails[0].To[0] != "keeper@thornbury.example" || mails[0].User != "watch" || !strings.Contains(mails[0].Text, "spam folder") {
				t.Errorf("arrived: %+v", mails)
			}
			for _, want := range []string{"That is not yet arrived", "in the spam folder too", "certificate made out to localhost", "until "} {
				if !strings.Contains(strings.Join(strings.Fields(out.String()), " "), want) {
					t.Errorf("%q is missing in\n%s", want, out.String())
				}
			}
			withoutPassword(t, out.String(), trial)
		})
	}
}

// TestTheTrialEndsAtTheFirstFailure: and says so in text and JSON.
func TestTheTrialEndsAtTheFirstFailure(t *testing.T) {
	opt, box := trying(t, mailbox.ImplicitTLS, mailbox.Script{{At: mailbox.Auth, Reply: "535 5.7.8 Not " + trialPassword + "; use an app password"}})
	var out bytes.Buffer
	trial, err := TryMail(t.Context(), opt, "", &out)
	if err != nil || trial.Taken || trial.Trouble == nil || trial.Trouble.Code != smtp.LoginRefused {
		t.Fatalf("%+v, %v", trial, err)
	}
	if trial.To != "watch@thornbury.example" {
		t.Errorf("goes to %s, want the sender", trial.To)
	}
	if got, want := stepsOf(trial), []string{"connect", "TLS", "greeting", "hello", "login NO"}; !slices.Equal(got, want) {
		t.Errorf("steps %q, want %q", got, want)
	}
	for _, want := range []string{"THE SERVER DID NOT TAKE THE MAIL", "app password", "two-step login", `"535 5.7.8 Not ******`} {
		if !strings.Contains(strings.Join(strings.Fields(out.String()), " "), want) {
			t.Errorf("%q is missing in\n%s", want, out.String())
		}
	}
	if len(box.Messages()) != 0 {
		t.Error("a mail arrived")
	}
	withoutPassword(t, out.String(), trial)
}

func withoutPassword(t *testing.T, text string, trial *MailTrial) {
	t.Helper()
	doc, err := json.Marshal(trial)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(doc, []byte(`"format":1`)) {
		t.Errorf("no format in %s", doc)
	}
	var again bytes.Buffer
	if err := trial.WriteText(&again); err != nil || again.String() != text {
		t.Errorf("printed while it went:\n%s\nprinted after:\n%s%v", text, again.String(), err)
	}
	if strings.Contains(text+string(doc), trialPassword) {
		t.Errorf("the password is in\n%s\n%s", text, doc)
	}
}

// TestTheTrialNamesWhatIsMissing: a name that leads nowhere is a step of its
// own.
func TestTheTrialNamesWhatIsMissing(t *testing.T) {
	opt, _ := trying(t, mailbox.ImplicitTLS, nil)
	opt.Config.Mail.Host = "mail.nowhere.invalid" // never a name: RFC 6761 section 6.4
	trial, err := TryMail(t.Context(), opt, "", &bytes.Buffer{})
	if err != nil {
		t.Fatal(err)
	}
	if got := stepsOf(trial); !slices.Equal(got, []string{"name NO"}) || !strings.Contains(trial.Trouble.What, "mail.nowhere.invalid") {
		t.Errorf("%q: %+v", got, trial.Trouble)
	}
}

func TestTheTrialRefuses(t *testing.T) {
	opt, _ := trying(t, mailbox.ImplicitTLS, nil)
	if _, err := TryMail(t.Context(), opt, "nobody", &bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), `"nobody"`) {
		t.Errorf("a recipient that is no address: %v", err)
	}
	opt.Config.Mail = config.Mail{Mode: config.MailNone}
	if _, err := TryMail(t.Context(), opt, "", &bytes.Buffer{}); !errors.Is(err, ErrNoMail) || !strings.Contains(err.Error(), "nobody is being told") {
		t.Errorf("without mail: %v", err)
	}
}
