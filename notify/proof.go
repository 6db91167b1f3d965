package notify

import (
	"bytes"
	"fmt"
	texttemplate "text/template"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/message"
	"antidotary/notify/words"
)

// Proof says that the watch is alive and whole. It is mailed even when all is
// well: silence must not be able to mean two things.
type Proof struct {
	Report   *compliance.Report
	Open     []compliance.Finding
	Swept    time.Time // end of the last sweep
	Sent     int       // mails that a mail server took, ever
	Waiting  int       // mails that wait
	Dead     int       // mails that no mail server took
	Entries  int64     // of the journal
	Head     string    // of the journal, to be kept elsewhere
	Problem  string    // of the journal; empty: it holds
	Next     time.Time // of the next proof
	Failures int       // of scheduled runs, lately
}

var proofMail = texttemplate.Must(texttemplate.New("").Funcs(functions).ParseFS(templates, "templates/proof.txt"))

// proofLetter is what the template reads.
type proofLetter struct {
	Proof
	House, Name                        string
	Day, NextDay                       day.Day
	OutOfOrder, CannotTell, StepsAhead int
	Checked                            Checked
	SweptAt                            string
	Unwatched                          []string
	Caution                            string
}

// ProofTo gives who is told that the watch is alive: the administrators of
// the house, or else its heads; and the second contacts, who alone notice
// when nobody in the house reads it any more.
func ProofTo(r *compliance.Report) []*compliance.Person {
	roster := newRoster(r.View.Snapshot)
	today := r.View.Today(inventory.ID{})
	for _, role := range []compliance.Role{compliance.Administrator, compliance.Head} {
		if people := roster.holding(role, inventory.ID{}, today); len(people) > 0 {
			return append(people, roster.holding(compliance.SecondContact, inventory.ID{}, today)...)
		}
	}
	return roster.holding(compliance.SecondContact, inventory.ID{}, today)
}

// ComposeProof makes the mail for one person, with the given identifier (a
// UUID), as of an instant; on is the person's local day.
func ComposeProof(p Proof, to *compliance.Person, on day.Day, from From, id string, now time.Time) (message.Mail, error) {
	l := proofLetter{Proof: p, House: p.Report.View.House().Title, Name: to.Called, Day: on, NextDay: day.In(p.Next, p.Next.Location()),
		Checked: checked(p.Report, now), SweptAt: "never", Unwatched: unwatched(p.Report), Caution: words.Caution}
	if !p.Swept.IsZero() {
		l.SweptAt = p.Swept.UTC().Format("Mon 2 Jan 2006, 15:04 UTC")
	}
	for _, f := range p.Open {
		switch f.Verdict.Standing {
		case compliance.OutOfOrder:
			l.OutOfOrder++
		case compliance.CannotTell:
			l.CannotTell++
		default:
			l.StepsAhead++
		}
	}
	var text bytes.Buffer
	if err := proofMail.ExecuteTemplate(&text, "proof.txt", l); err != nil {
		return message.Mail{}, fmt.Errorf("write the proof of life: %w", err)
	}
	return message.Mail{ID: id, From: message.Address{Name: from.Name, Addr: from.Address}, To: message.Address{Name: to.Called, Addr: to.Email},
		Date: now, Subject: l.subject(), Text: text.String()}, nil
}

func (l *proofLetter) subject() string {
	switch {
	case l.Problem != "":
		return l.House + ": THE JOURNAL DOES NOT HOLD"
	case l.OutOfOrder+l.CannotTell == 0:
		return fmt.Sprintf("%s: the watch runs; nothing is out of order", l.House)
	}
	return fmt.Sprintf("%s: the watch runs; %d out of order, %d cannot be told", l.House, l.OutOfOrder, l.CannotTell)
}
