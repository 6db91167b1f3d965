package week

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"

	ics "github.com/arran4/golang-ical"
	"github.com/google/uuid"

	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// sequenceEpoch is where the minutes of SEQUENCE are counted from, so that
// they stay far below what an integer of RFC 5545 3.3.8 holds until the year
// 6000. (Design of this project, no source.)
var sequenceEpoch = time.Date(2020, time.January, 1, 0, 0, 0, 0, time.UTC)

// WriteCalendar writes everything that is open and that is coming as one
// iCalendar file (RFC 5545), to be subscribed to or imported: one whole-day
// event for each task on its act-by day, one for each lapse on its first day,
// and one that says that the file itself is too old.
//
// The UID of an event is made of what it is about, and stays when its day
// moves. SEQUENCE is the journal's entry and the minutes since 2020 together:
// it never falls from one file to the next as long as journal and clock go
// forward, and rises with each that is made a minute later, whatever changed
// meanwhile, records, rules or only the day. There is no METHOD, because the
// file invites nobody. What has ended is not in it any more.
func (w *Week) WriteCalendar(out io.Writer) error {
	cal := ics.NewCalendar()
	cal.SetProductId("-//antidotary//week//EN")
	cal.SetName(plain(w.House + ": duties"))
	cal.SetDescription(plain(w.about()))
	cal.SetRefreshInterval("P1D") // RFC 7986 5.7; the library writes VALUE=DURATION by itself
	for _, e := range w.events() {
		w.add(cal, e)
	}
	if err := cal.SerializeTo(out, ics.WithNewLineWindows); err != nil { // CRLF on every machine: RFC 5545 3.1
		return fmt.Errorf("write the calendar: %w", err)
	}
	return nil
}

// event is one whole day in the calendar.
type event struct {
	of
	on              day.Day
	summary, detail string
	site, kind      string
}

// events gives one for each thing that tasks and lapses are about. Where one
// has several days, the first counts and the others are told in the text.
func (w *Week) events() []event {
	var all []event
	at := make(map[of]int)
	put := func(e event) {
		i, known := at[e.of]
		if !known {
			at[e.of] = len(all)
			all = append(all, e)
			return
		}
		if e.on < all[i].on {
			all[i], e = e, all[i]
		}
		all[i].detail += "\n\nAlso by " + words.Day(e.on) + ": " + e.summary + "\n" + e.detail
	}
	lists := [][]Task{w.Now}
	for _, d := range w.Days {
		lists = append(lists, d.Tasks)
	}
	for _, list := range append(lists, w.Unknown, w.Later) {
		for i := range list {
			put(w.taskEvent(&list[i]))
		}
	}
	for i := range w.AllLapses {
		put(w.lapseEvent(&w.AllLapses[i]))
	}
	return append(all, w.staleEvent())
}

func (w *Week) taskEvent(t *Task) event {
	e := event{of: t.of, on: w.From, site: t.Site, kind: words.Standing(t.Standing), summary: t.ToDo() + ": " + t.Names}
	if t.Title != "" {
		e.summary += ". " + t.Title
	}
	switch {
	case t.Step == nil || t.Step.By.IsZero():
		e.summary = "AT ONCE: " + e.summary
	case t.Step.By < w.From: // on its own day nobody would look for it
		e.summary = "OVERDUE: " + e.summary
	default:
		e.on = t.Step.By
	}
	if t.Step != nil {
		e.summary += " (" + words.Role(t.Owner) + ")"
	}
	lines := []string{words.Capital(t.When(w.From)) + ".", "Whose: " + t.Whose,
		words.Capital(words.Standing(t.Standing)) + ": " + t.StateWords + "."}
	if t.Cause != "" && t.Cause != t.Name {
		lines = append(lines, "Because of: "+t.Cause)
	}
	if t.Consequence != "" {
		lines = append(lines, "If not: "+t.Consequence)
	}
	lines = append(lines, t.Reasons[:min(mostFacts, len(t.Reasons))]...)
	e.detail = strings.Join(append(lines, cited(t.Title, t.Rule, t.Citation, t.Certainty)), "\n")
	return e
}

func (w *Week) lapseEvent(l *Lapse) event {
	e := event{of: l.of, on: l.On, site: l.Site, kind: words.Standing(l.Standing),
		summary: "IF NOTHING IS DONE, " + words.Standing(l.Standing) + " from today: " + l.Names}
	lines := []string{words.Capital(l.StateWords) + "."}
	if l.Cause != "" && l.Cause != l.Names {
		lines = append(lines, "Because of: "+l.Cause)
	}
	if l.Prevent != nil {
		lines = append(lines, "What prevents it: "+l.Prevent.Words+", "+l.Prevent.When(w.From)+" ("+words.Role(l.Prevent.Owner)+")")
	}
	e.detail = strings.Join(append(lines, cited(l.Title, l.Rule, l.Citation, l.Certainty)), "\n")
	return e
}

// staleEvent gives an old file away. It also keeps the calendar from being
// empty, which RFC 5545 3.6 does not allow.
func (w *Week) staleEvent() event {
	return event{of: of{what: "stale"}, on: w.good().Add(1), kind: "watch",
		summary: "This calendar is older than a week: nobody is watching by it",
		detail:  "Each new file moves this event on. If you meet it today, no new file has come: find out why."}
}

func cited(title, rule, citation, certainty string) string {
	return fmt.Sprintf("%s. %s: %s (%s)", title, rule, citation, certainty)
}

// about is what stands below every event.
func (w *Week) about() string {
	lines := []string{"Made " + w.MadeAt() + ", judged as of " + words.Day(w.From) + ", records: " + w.State() + ".", w.Stale(),
		"What has ended is not in this file any more. Subscribe to the file, so that each new one takes the place of the old; what was imported once stays until somebody removes it."}
	if other := w.OtherDay(); other != "" {
		lines = append(lines, other)
	}
	if w.NobodyTold {
		lines = append(lines, words.NobodyTold)
	}
	if w.MailHeld != "" {
		lines = append(lines, "MAIL IS HELD, AND NOBODY IS BEING TOLD: "+w.MailHeld+".")
	}
	return strings.Join(append(lines, words.Caution), "\n")
}

func (w *Week) add(cal *ics.Calendar, e event) {
	v := cal.AddEvent(w.uid(e.of))
	v.SetDtStampTime(w.At)
	v.SetModifiedAt(w.At)
	v.SetSequence(w.sequence())
	v.SetAllDayStartAt(midnight(e.on))
	v.SetAllDayEndAt(midnight(e.on + 1)) // the day after, exclusive: RFC 5545 3.6.1
	v.SetTimeTransparency(ics.TransparencyTransparent)
	v.SetClass(ics.ClassificationPrivate)
	v.SetSummary(plain(e.summary))
	v.SetDescription(plain(e.detail + "\n\n" + w.about()))
	v.AddCategory(plain(e.kind))
	if e.site != "" {
		v.SetLocation(plain(e.site))
	}
}

// uid names what an event is about, within the house: the same in every file.
func (w *Week) uid(o of) string {
	name := strings.Join([]string{o.what, o.requirement, string(o.do), o.about.String(), o.occurrence}, "\x00")
	return uuid.NewSHA1(w.house, []byte(name)).String()
}

// sequence orders the files of one house.
func (w *Week) sequence() int { return int(w.Entry) + int(w.At.Sub(sequenceEpoch)/time.Minute) }

func midnight(d day.Day) time.Time {
	year, month, dom := d.Date()
	return time.Date(year, month, dom, 0, 0, 0, 0, time.UTC)
}

// plain makes a text that RFC 5545 3.3.11 allows: UTF-8 without control
// characters but line ends.
func plain(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n")
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' {
			return ' '
		}
		return r
	}, s)
}
