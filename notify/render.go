package notify

import (
	"bytes"
	"embed"
	"fmt"
	htmltemplate "html/template"
	"strings"
	texttemplate "text/template"
	"time"

	"antidotary/compliance"
	"antidotary/inventory/day"
	"antidotary/notify/message"
	"antidotary/notify/words"
)

// From is whom mails come from.
type From struct{ Name, Address string }

//go:embed templates/*
var templates embed.FS

// textWidth is the longest line of a mail's text: RFC 5322 2.1.1 asks for no
// more than 78 characters (from memory).
const textWidth = 78

var functions = map[string]any{
	"day":      words.Day,
	"standing": func(s compliance.Standing) string { return words.Standing(s) },
	"upper":    strings.ToUpper,
	"capital":  words.Capital,
	"role":     words.Role,
	"layer":    words.Layer,
	"label":    func(label, text string) string { return words.Labelled(label, text, textWidth) },
	"wrap":     func(text string) string { return strings.TrimLeft(words.Labelled("", text, textWidth), " ") },
	"stepline": stepLine,
	"add":      func(a, b int) int { return a + b },
	"first": func(n int, list []string) []string {
		return list[:min(n, len(list))]
	},
}

var (
	textMail = texttemplate.Must(texttemplate.New("").Funcs(functions).ParseFS(templates, "templates/digest.txt"))
	htmlMail = htmltemplate.Must(htmltemplate.New("").Funcs(functions).ParseFS(templates, "templates/digest.html"))
)

// letter is what the templates read.
type letter struct {
	House    string
	Name     string
	Day      day.Day
	News     []Group
	Standing []Group
	Ended    []Group
	Checked  Checked
	Caution  string
}

// Checked says what the watch looked at, so that silence means something.
type Checked struct {
	Animals, Papers, Lots, People, Rules, Duties int
	At                                           string
	Oldest                                       string // the list confirmed longest ago
}

// Compose makes one digest's mail, with the given identifier (a UUID), as of
// the instant of the plan.
func Compose(d *Digest, r *compliance.Report, from From, id string, now time.Time) (message.Mail, error) {
	l := letter{House: r.View.House().Title, Name: d.To.Called, Day: d.Day, News: Groups(d.News), Standing: Groups(d.Standing),
		Ended: Groups(d.Ended), Checked: checked(r, now), Caution: words.Caution}
	var text, html bytes.Buffer
	if err := textMail.ExecuteTemplate(&text, "digest.txt", l); err != nil {
		return message.Mail{}, fmt.Errorf("write the digest's text: %w", err)
	}
	if err := htmlMail.ExecuteTemplate(&html, "digest.html", l); err != nil {
		return message.Mail{}, fmt.Errorf("write the digest's HTML: %w", err)
	}
	return message.Mail{ID: id, From: message.Address{Name: from.Name, Addr: from.Address}, To: message.Address{Name: d.To.Called, Addr: d.To.Email},
		Date: now, Subject: l.subject(), Text: text.String(), HTML: html.String()}, nil
}

// subject says how much there is to do, and by when at the latest.
func (l *letter) subject() string {
	todo, first := 0, day.Last
	for _, g := range l.News {
		if g.Step != nil {
			todo++
			first = min(first, g.Step.By)
		}
	}
	switch {
	case todo == 0 && len(l.News) == 0:
		return fmt.Sprintf("%s: %d ended, nothing new to do", l.House, len(l.Ended))
	case todo == 0:
		return fmt.Sprintf("%s: %d new", l.House, len(l.News))
	case first.IsZero():
		return fmt.Sprintf("%s: %d to act on, the first at once", l.House, todo)
	default:
		return fmt.Sprintf("%s: %d to act on, the first by %s", l.House, todo, words.Day(first))
	}
}

func checked(r *compliance.Report, now time.Time) Checked {
	v := r.View
	c := Checked{Animals: v.Animals.Len(), Papers: v.Permits.Len(), Lots: v.Lots.Len(), People: v.People.Len(),
		Rules: len(v.Book.Rules), Duties: len(r.Judgements), At: now.UTC().Format("2 Jan 2006, 15:04 UTC")}
	oldest := day.Last
	for f := range v.Feeds.All() {
		last := day.Day(0)
		if n := len(f.Confirmed); n > 0 {
			last = f.Confirmed[n-1]
		}
		if last < oldest {
			oldest = last
			c.Oldest = f.Name() + ", " + v.Site(f.Site).Title + ": " + confirmed(last)
		}
	}
	if c.Oldest == "" {
		c.Oldest = "nobody keeps any list"
	}
	return c
}

func confirmed(d day.Day) string {
	if d.IsZero() {
		return "never confirmed"
	}
	return "confirmed " + words.Day(d)
}

// stepLine is a step within a line.
func stepLine(s *Step, today day.Day) string {
	if s == nil {
		return ""
	}
	return "; " + s.Words + ", " + s.When(today)
}
