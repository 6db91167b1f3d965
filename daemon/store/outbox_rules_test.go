package store

import (
	"errors"
	"testing"
	"time"

	"antidotary/inventory"
)

// contractALeaseThatRanOutBeginsNothing, to the microsecond, though nobody has
// taken the mail meanwhile: the next claim would send it a second time.
func contractALeaseThatRanOutBeginsNothing(t *testing.T, open opener) {
	for name, c := range map[string]struct {
		after time.Duration // since the claim, with a lease of 20 minutes
		want  error
	}{
		"at once":          {0, nil},
		"just in time":     {20*time.Minute - time.Microsecond, nil},
		"as it ends":       {20 * time.Minute, ErrLostClaim},
		"long after":       {time.Hour, ErrLostClaim},
		"the clock is set": {-time.Hour, nil}, // back: the lease has not ended
	} {
		t.Run(name, func(t *testing.T) {
			st, now := clockwork(t, open)
			queued(t, st, mailTo("a@house.example"))
			held := claim(t, st)[0]
			*now = now.Add(c.after)
			if err := st.DataStarted(t.Context(), held.ID, held.Token); !errors.Is(err, c.want) {
				t.Fatalf("%v, want %v", err, c.want)
			}
			if due := claim(t, st); c.want != nil && len(due) != 1 {
				t.Errorf("a mail that was not begun is safe to take: %d are due", len(due))
			}
		})
	}
}

// contractOnlyAnOutcomeEndsAnAttempt: what is none leaves the claim as it is.
func contractOnlyAnOutcomeEndsAnAttempt(t *testing.T, open opener) {
	for name, o := range map[string]Outcome{
		"claimed":                     {State: MailClaimed, NextAttempt: noon.Add(time.Hour)},
		"started":                     {State: MailStarted, NextAttempt: noon.Add(time.Hour)},
		"nothing":                     {NextAttempt: noon.Add(time.Hour)},
		"a word of another language":  {State: "gesendet"},
		"retry without a time":        {State: MailRetry},
		"fault of settings, no time":  {State: MailQueued},
		"retry, which is not a state": {State: "Retry", NextAttempt: noon.Add(time.Hour)},
	} {
		t.Run(name, func(t *testing.T) {
			st, _ := clockwork(t, open)
			queued(t, st, mailTo("a@house.example"))
			held := claim(t, st)[0]
			if err := st.Finish(t.Context(), held.ID, held.Token, o); !errors.Is(err, errOutcome) {
				t.Fatalf("%v, want %v", err, errOutcome)
			}
			if err := st.Finish(t.Context(), held.ID, held.Token, Outcome{State: MailSent, NextAttempt: noon.Add(time.Hour)}); err != nil {
				t.Errorf("after it the claim does not hold: %v", err)
			}
		})
	}
}

// contractSilenceMayWaitLonger than half an hour, if the caller asks for it.
func contractSilenceMayWaitLonger(t *testing.T, open opener) {
	st, now := clockwork(t, open)
	queued(t, st, mailTo("a@house.example"))
	held := claim(t, st)[0]
	if err := st.Finish(t.Context(), held.ID, held.Token, Outcome{State: MailAmbiguous, NextAttempt: noon.Add(time.Hour)}); err != nil {
		t.Fatal(err)
	}
	*now = noon.Add(time.Hour - time.Microsecond)
	if early := claim(t, st); len(early) != 0 {
		t.Errorf("due too early: %+v", early)
	}
	*now = noon.Add(time.Hour)
	if due := claim(t, st); len(due) != 1 {
		t.Errorf("%d are due, want 1", len(due))
	}
}

// contractAClaimGivesEachMailToOne of many who ask at once, with its bytes.
func contractAClaimGivesEachMailToOne(t *testing.T, open opener) {
	st, _ := clockwork(t, open)
	const mails, askers = 40, 8
	var all []Mail
	for range mails {
		all = append(all, mailTo("a@house.example"))
	}
	queued(t, st, all...)
	got := make(chan []Claimed, askers)
	for range askers {
		go func() {
			some, err := st.Claim(t.Context(), mails/askers, time.Hour)
			if err != nil {
				t.Error(err)
			}
			got <- some
		}()
	}
	seen := make(map[inventory.ID]bool)
	for range askers {
		for _, c := range <-got {
			if seen[c.ID] || string(c.Bytes) != "bytes of a@house.example" {
				t.Errorf("%s was given twice, or as %q", c.ID, c.Bytes)
			}
			seen[c.ID] = true
		}
	}
	if len(seen) != mails {
		t.Errorf("%d were claimed, want %d", len(seen), mails)
	}
}
