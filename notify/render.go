package notify

import (
	"bytes"
	"cmp"
	"embed"
	"fmt"
	htmltemplate "html/template"
	"slices"
	"strings"
	texttemplate "text/template"
	"time"
	"unicode/utf8"

	"antidotary/compliance"
	"antidotary/inventory"
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
	"stands":   stands,
	"upper":    strings.ToUpper,
	"capital":  words.Capital,
	"role":     words.Role,
	"layer":    words.Layer,
	"label":    func(label, text string) string { return words.Labelled(label, text, textWidth) },
	"wrap":     func(text string) string { return paragraph(text, "") },
	"hang":     func(text string) string { return paragraph(text, "   ") },
	"count":    words.Count,
	"stepline": stepLine,
	"severity": words.Severity,
	"closing":  words.Closing,
}

var (
	textMail = texttemplate.Must(texttemplate.New("").Funcs(functions).ParseFS(templates, "templates/digest.txt"))
	htmlMail = htmltemplate.Must(htmltemplate.New("").Funcs(functions).ParseFS(templates, "templates/digest.html"))
)

// paragraph wraps a text, with the following lines set in.
func paragraph(text, indent string) string {
	var b strings.Builder
	n := 0
	for i, word := range strings.Fields(text) {
		switch {
		case i == 0:
		case n+1+utf8.RuneCountInString(word) > textWidth:
			b.WriteString("\n" + indent)
			n = len(indent)
		default:
			b.WriteByte(' ')
			n++
		}
		b.WriteString(word)
		n += utf8.RuneCountInString(word)
	}
	b.WriteByte('\n')
	return b.String()
}

// mostFacts and mostLines bound an entry's facts and the lines of what only
// still stands. (Design of this project, no source.)
const (
	mostFacts = 4
	mostLines = 12
)

// letter is what the templates read.
type letter struct {
	House     string
	Name      string
	Day       day.Day
	Changes   []entry // something happened
	Due       []entry // only time passed
	Ended     []Group
	Standing  []Group
	More      int     // duties that still stand beyond the lines shown
	Nobody    []Group // told to nobody
	NobodyAll int
	Unknown   int
	Unwatched []string
	Checked   Checked
	Caution   string
}

// entry is a numbered group.
type entry struct {
	Group
	Number int
	Today  day.Day
}

// Facts gives the facts shown, and More how many are not.
func (e entry) Facts() []string { return e.Reasons[:min(mostFacts, len(e.Reasons))] }

// More says how many facts are left out.
func (e entry) More() int { return max(0, len(e.Reasons)-mostFacts) }

// Checked says what the watch looked at, so that silence means something.
type Checked struct {
	Animals, Papers, Lots, People, Rules, Duties int
	At                                           string
	Oldest                                       string // the list confirmed longest ago
}

// Persons counts the people.
func (c Checked) Persons() string {
	if c.People == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", c.People)
}

// Compose makes one digest's mail, with the given identifier (a UUID), as of
// the instant of the plan.
func Compose(d *Digest, r *compliance.Report, from From, id string, now time.Time) (message.Mail, error) {
	l := newLetter(d, r)
	l.Checked = checked(r, now)
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

func newLetter(d *Digest, r *compliance.Report) *letter {
	l := &letter{House: r.View.House().Title, Name: d.To.Called, Day: d.Day, Unknown: d.Unknown, Unwatched: unwatched(r), Caution: words.Caution}
	var changes, due []Item
	for _, it := range d.News {
		if it.Mention.change() {
			changes = append(changes, it)
		} else {
			due = append(due, it)
		}
	}
	slices.SortStableFunc(due, func(a, b Item) int { return cmp.Compare(a.by(), b.by()) })
	l.Changes = entries(Groups(changes), 1, d.Day)
	l.Due = entries(Groups(due), len(l.Changes)+1, d.Day)
	l.Ended = Groups(d.Ended)
	l.Standing, l.More = shortened(Groups(d.Standing))
	l.Nobody, _ = shortened(Groups(d.Nobody))
	l.NobodyAll = len(d.Nobody)
	return l
}

func entries(groups []Group, first int, today day.Day) (out []entry) {
	for i, g := range groups {
		out = append(out, entry{g, first + i, today})
	}
	return out
}

// shortened leaves out what is too much, and says how many duties that is.
func shortened(groups []Group) (shown []Group, more int) {
	shown = groups[:min(mostLines, len(groups))]
	for _, g := range groups[len(shown):] {
		more += g.Count
	}
	return shown, more
}

// unwatched lists what is declared not watched yet, which is printed
// everywhere because it never reads as in order.
func unwatched(r *compliance.Report) (out []string) {
	for n := range r.View.NotWatched.All() {
		site := n.Subject.At
		if n.Subject.Kind == inventory.KindSite {
			site = n.Subject.ID
		}
		if today := r.View.Today(site); today < n.From || today > n.Last {
			continue
		}
		by := r.View.NameOf(inventory.Ref{Kind: inventory.KindPerson, ID: n.By})
		out = append(out, fmt.Sprintf("%s, until %s, says %s: %s", r.View.NameOf(n.Subject), words.Day(n.Last), by, n.Why))
	}
	slices.Sort(out)
	return out
}

func checked(r *compliance.Report, now time.Time) Checked {
	v := r.View
	c := Checked{Papers: v.Permits.Len(), Lots: v.Lots.Len(), People: v.People.Len(),
		Rules: len(v.Book.Rules), Duties: len(r.Judgements), At: now.UTC().Format("2 Jan 2006, 15:04 UTC")}
	for _, holding := range v.Holdings() {
		c.Animals += v.Count(holding).At(v.Today(holding.At))
	}
	c.Oldest = oldestList(r)
	return c
}

// oldestList names the list whose last confirmation is longest ago: so old
// may everything be that rests on it.
func oldestList(r *compliance.Report) string {
	oldest, text := day.Last, "nobody keeps any list"
	for f := range r.View.Feeds.All() {
		last, where := day.Day(0), "all sites"
		if n := len(f.Confirmed); n > 0 {
			last = f.Confirmed[n-1]
		}
		if f.Site != (inventory.ID{}) {
			where = r.View.Site(f.Site).Title
		}
		this := f.Name() + ", " + where + ": " + confirmed(last)
		if last < oldest || last == oldest && this < text {
			oldest, text = last, this
		}
	}
	return text
}

func confirmed(d day.Day) string {
	if d.IsZero() {
		return "never confirmed"
	}
	return "confirmed " + words.Day(d)
}

// stands is the standing of what needs somebody: in order is not the end of
// it.
func stands(s compliance.Standing) string {
	if s == compliance.InOrder {
		return "still in order"
	}
	return words.Standing(s)
}

// stepLine is a step within a line.
func stepLine(s *Step, today day.Day) string {
	if s == nil {
		return ""
	}
	return "; " + s.Words + ", " + s.When(today)
}
