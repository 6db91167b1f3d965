package week

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/emersion/go-ical"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// read reads a calendar with another library than the one that wrote it.
func read(t *testing.T, text string) *ical.Calendar {
	t.Helper()
	cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return cal
}

func textOf(t *testing.T, c *ical.Component, name string) string {
	t.Helper()
	text, err := c.Props.Text(name)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return text
}

// byRFC checks the bytes by RFC 5545 itself, without a library.
func byRFC(t *testing.T, text string) {
	t.Helper()
	if !utf8.ValidString(text) {
		t.Error("not UTF-8 (3.1.4)")
	}
	if !strings.HasSuffix(text, "\r\n") || strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\n") || strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") {
		t.Error("a line does not end in CRLF (3.1)")
	}
	for line := range strings.SplitSeq(text, "\r\n") {
		if len(line) > 75 {
			t.Errorf("a line has %d octets, more than 75 (3.1): %q", len(line), line)
		}
		if !utf8.ValidString(line) {
			t.Errorf("a fold cuts a character in two (3.1): %q", line)
		}
		if i := strings.IndexFunc(line, func(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f }); i >= 0 {
			t.Errorf("a control character (3.3.11): %q", line)
		}
	}
	unfolded := strings.ReplaceAll(text, "\r\n ", "")
	lines := strings.Split(strings.TrimSuffix(unfolded, "\r\n"), "\r\n")
	if lines[0] != "BEGIN:VCALENDAR" || lines[len(lines)-1] != "END:VCALENDAR" {
		t.Errorf("not one VCALENDAR (3.4): %q ... %q", lines[0], lines[len(lines)-1])
	}
	once(t, "VCALENDAR (3.6)", before(lines, "BEGIN:VEVENT"), "VERSION:2.0", "PRODID:")
	for _, line := range lines {
		if strings.HasPrefix(line, "METHOD") {
			t.Error("a METHOD, which invites (3.7.2)")
		}
		name, value, ok := strings.Cut(line, ":")
		if !ok {
			t.Errorf("no content line (3.1): %q", line)
		}
		params := strings.Split(name, ";")
		if slices.Sort(params); len(slices.Compact(slices.Clone(params))) != len(params) {
			t.Errorf("a parameter stands twice (3.2): %q", line)
		}
		if name == "SUMMARY" || name == "DESCRIPTION" || name == "LOCATION" {
			escaped(t, value)
		}
	}
	events := strings.Split(strings.Join(lines, "\r\n"), "BEGIN:VEVENT\r\n")[1:]
	if len(events) == 0 {
		t.Error("no component, and there must be one (3.6)")
	}
	for _, e := range events {
		once(t, "VEVENT (3.6.1)", strings.Split(e, "\r\n"), "UID:", "DTSTAMP:", "DTSTART;VALUE=DATE:", "DTEND;VALUE=DATE:", "SEQUENCE:", "SUMMARY:", "TRANSP:TRANSPARENT")
	}
}

func before(lines []string, mark string) (out []string) {
	for _, line := range lines {
		if line == mark {
			break
		}
		out = append(out, line)
	}
	return out
}

// once demands each property exactly once.
func once(t *testing.T, where string, lines []string, starts ...string) {
	t.Helper()
	for _, start := range starts {
		n := 0
		for _, line := range lines {
			if strings.HasPrefix(line, start) {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%s: %s stands %d times, want once", where, start, n)
		}
	}
}

// escaped demands that backslash, semicolon and comma of a TEXT are escaped
// (3.3.11).
func escaped(t *testing.T, value string) {
	t.Helper()
	for i := 0; i < len(value); i++ {
		switch value[i] {
		case '\\':
			if i++; i == len(value) || !strings.ContainsRune(`\;,nN`, rune(value[i])) {
				t.Errorf("a backslash that escapes nothing (3.3.11): %q", value)
			}
		case ';', ',':
			t.Errorf("%q is not escaped (3.3.11): %q", value[i], value)
		}
	}
}

func TestCalendarByTheRFC(t *testing.T) {
	for name, house := range map[string]func(day.Day, *day.Holidays) compliance.Batch{"full": demo.House, "small": demo.Small} {
		t.Run(name, func(t *testing.T) {
			w := Of(judged(t, house, now), made(t, now))
			_, text := written(t, w)
			byRFC(t, text)
			uids := make(map[string]bool)
			steps, lapses := 0, 0
			for _, e := range read(t, text).Events() {
				uid := textOf(t, e.Component, ical.PropUID)
				if uids[uid] {
					t.Errorf("UID %s stands twice", uid)
				}
				uids[uid] = true
				start, err := e.DateTimeStart(time.UTC)
				if err != nil || day.In(start, time.UTC) < w.From {
					t.Errorf("an event on %s, before the file was made: %v", start, err)
				}
				if strings.HasPrefix(textOf(t, e.Component, ical.PropSummary), "IF NOTHING IS DONE") {
					lapses++
				} else {
					steps++
				}
			}
			if steps < 3 || lapses < 3 {
				t.Errorf("%d steps and %d lapses: too few for this house", steps, lapses)
			}
		})
	}
}

// nasty are names that people might record.
var nasty = []string{
	"Naja kaouthia, female; the \"old\" one",
	`back\slash \n that is no line end`,
	"two\r\nlines\nand a\ttab",
	"🐍🐍🐍 emoji, 👩‍🔬 joined and e\u0301 combined",
	"אפעה; שלום, עולם",
	"الأفعى المقرنة، رقم ١٢",
	strings.Repeat("long name without an end ", 12) + "here",
	strings.Repeat("ÄÖÜ", 100),
	"bell\x07 escape\x1b[31m and \xff broken",
	":;,:;,",
	" begins and ends with a space ",
}

// TestNamesComeBackAsTheyWere: through folding and escaping, read by another
// library.
func TestNamesComeBackAsTheyWere(t *testing.T) {
	for i, name := range nasty {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			from := day.In(now, time.UTC)
			w := &Week{Made: made(t, now), House: name, From: from, Until: from.Add(6), house: inventory.NewID()}
			w.Now = []Task{{Item: notify.Item{Name: name, Site: name, Step: &notify.Step{Words: "renew the permit"}, Reasons: []string{name}}, Names: name}}
			_, text := written(t, w)
			byRFC(t, text)
			e := read(t, text).Events()[0]
			if got, want := textOf(t, e.Component, ical.PropLocation), plain(name); got != want {
				t.Errorf("place %q, want %q", got, want)
			}
			if got, want := textOf(t, e.Component, ical.PropSummary), "AT ONCE: Renew the permit: "+plain(name)+" ()"; got != want {
				t.Errorf("summary %q, want %q", got, want)
			}
			if got := textOf(t, e.Component, ical.PropDescription); !strings.Contains(got, plain(name)) {
				t.Errorf("text %q lacks %q", got, plain(name))
			}
		})
	}
}

// TestAnEmptyWeekIsNoEmptyCalendar: it says when it is too old.
func TestAnEmptyWeekIsNoEmptyCalendar(t *testing.T) {
	from := day.In(now, time.UTC)
	_, text := written(t, &Week{Made: made(t, now), From: from, Until: from.Add(6)})
	byRFC(t, text)
	events := read(t, text).Events()
	if len(events) != 1 {
		t.Fatalf("%d events", len(events))
	}
	start, err := events[0].DateTimeStart(time.UTC)
	if err != nil || day.In(start, time.UTC) != from.Add(7) || !strings.Contains(textOf(t, events[0].Component, ical.PropSummary), "nobody is watching") {
		t.Errorf("%v, %v", start, err)
	}
}

// seen is what a calendar program keeps of an event.
type seen struct {
	on       string
	sequence int
	summary  string
}

func remembered(t *testing.T, text string) map[string]seen {
	t.Helper()
	out := make(map[string]seen)
	for _, e := range read(t, text).Events() {
		sequence, err := e.Props.Get(ical.PropSequence).Int()
		if err != nil {
			t.Fatal(err)
		}
		out[textOf(t, e.Component, ical.PropUID)] = seen{e.Props.Get(ical.PropDateTimeStart).Value, sequence, textOf(t, e.Component, ical.PropSummary)}
	}
	return out
}

// TestAnEventKeepsItsNameWhenItMoves: a later file has the same UIDs, each
// with a higher SEQUENCE, also where the day moved; what ended is gone.
func TestAnEventKeepsItsNameWhenItMoves(t *testing.T) {
	r := judged(t, demo.Small, now)
	_, text := written(t, Of(r, made(t, now)))
	first := remembered(t, text)

	var drill compliance.Activity // the newest drill on bites of the site, overdue
	for a := range r.View.Activities.All() {
		if a.What == "drill.bite" && a.Subject.Kind == inventory.KindSite {
			drill = *a
		}
	}
	drill.ID, drill.On = inventory.NewID(), day.In(now, time.UTC).Add(-1)
	later := made(t, now.Add(time.Minute))
	_, text = written(t, Of(judged(t, demo.Small, now.Add(time.Minute), compliance.Record(drill)), later))
	second := remembered(t, text)

	gone, kept, moved := 0, 0, 0
	for uid, was := range first {
		is, still := second[uid]
		switch {
		case !still:
			gone++
		case is.sequence <= was.sequence:
			t.Errorf("%q: sequence %d after %d", is.summary, is.sequence, was.sequence)
		case is.on != was.on:
			moved++
		default:
			kept++
		}
	}
	if gone == 0 || kept < 3 {
		t.Errorf("after the drill %d events are gone, %d kept and %d moved", gone, kept, moved)
	}

	_, text = written(t, Of(judged(t, demo.Small, now.AddDate(0, 0, 1)), made(t, now.AddDate(0, 0, 1))))
	tomorrow := remembered(t, text)
	moved = 0
	for uid, was := range first {
		if is, still := tomorrow[uid]; still && is.on != was.on {
			moved++
			if is.sequence <= was.sequence {
				t.Errorf("%q moved from %s to %s with sequence %d after %d", is.summary, was.on, is.on, is.sequence, was.sequence)
			}
		}
	}
	if moved < 2 { // what is overdue, and the one that says that the file is old
		t.Errorf("%d events moved with the day", moved)
	}
}

// TestSequenceRisesWithTheJournalToo: at one instant, too, a file made from
// newer records counts.
func TestSequenceRisesWithTheJournalToo(t *testing.T) {
	w := &Week{Made: made(t, now)}
	was := w.sequence()
	if w.Entry++; w.sequence() <= was {
		t.Errorf("%d after %d", w.sequence(), was)
	}
	if far := (&Week{Made: Made{At: time.Date(5000, 1, 1, 0, 0, 0, 0, time.UTC), Entry: 1 << 28}}).sequence(); far > 1<<31-1 {
		t.Errorf("%d is more than an integer holds (3.3.8)", far)
	}
}
