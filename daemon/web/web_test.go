package web

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// fixed is a source that shows what it is given.
type fixed struct {
	page  *Page
	life  *Life
	mails []Mail
	about *answer.Explain
}

func (f fixed) Now() time.Time { return noon }
func (f fixed) Page() *Page    { return f.page }
func (f fixed) Life() *Life    { return f.life }
func (f fixed) Mails() []Mail  { return f.mails }

func (f fixed) Explain(subject string) *answer.Explain {
	if f.about == nil || f.about.Subject != subject {
		return nil
	}
	return f.about
}

var (
	noon    = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)
	today   = day.MustParse("2026-11-25")
	officer = func(compliance.Role, string) []string { return []string{"Rowan Invented"} }
)

// drill is a duty that is overdue.
func drill() notify.Item {
	return notify.Item{Name: `<script>alert("x")</script>`, Subject: "site:1", Standing: compliance.OutOfOrder, StateWords: "it is overdue", Title: "A drill", Consequence: "Nobody knows the way.",
		Layer: compliance.Guidance, Severity: compliance.Serious, Rule: "x.r", Citation: "common practice, no source", Certainty: "from memory, unconfirmed",
		Step: &notify.Step{Words: "do it", By: day.MustParse("2026-11-01"), Missed: true, Owner: compliance.SafetyOfficer}}
}

func pageWith(items ...notify.Item) *Page {
	c := &answer.Check{AsOf: today, Now: noon, Items: items, Counts: answer.Counts{OutOf: len(items)}}
	return &Page{Check: c, Parts: Tasks(c, officer), Zone: time.UTC}
}

func TestPages(t *testing.T) {
	mails := []Mail{{To: "a@house.example", Subject: "Three & more", HTML: "<p>the HTML part</p>", Text: "as text <b>"}}
	something := pageWith(drill())
	something.Months = &Months{From: today, Until: today.EndOfMonth(), Rows: []Month{{First: today, Last: today.EndOfMonth(), Act: 3}}}
	why := &answer.Explain{Subject: "site:1", Name: "Wren <Cottage>", Today: today, Now: noon.Add(-time.Minute)}
	late := healthy()
	late.Swept = noon.AddDate(0, 0, -3)
	for _, c := range []struct {
		name, method, path, host string
		source                   fixed
		code                     int
		has, hasNot              []string
	}{
		{"nothing checked yet", "GET", "/", "", fixed{}, 200, []string{"Nothing has been checked yet", "not the same as in order", "Nothing is known of the watch itself"}, []string{"0 out of order"}},
		{"an answer", "GET", "/", "", fixed{page: something}, 200,
			[]string{"1 out of order", "<b>Do it</b>, should have been done by Sun 1 Nov 2026, 24 days ago", "Safety officer: Rowan Invented", "It is overdue.", "Nobody knows the way.",
				"common practice, no source (from memory, unconfirmed)", "&lt;script&gt;", `href="/subject/site:1"`, "No medical or legal advice"}, []string{"<script>"}},
		{"mails are listed", "GET", "/", "", fixed{page: something, mails: mails}, 200, []string{"Three &amp; more", "/mail/1"}, nil},
		{"a subject", "GET", "/subject/site:1", "", fixed{page: something, about: why, life: healthy()}, 200, []string{"Wren &lt;Cottage&gt;", "judged today at 11:59, 1 minute ago (UTC)", "No rule asks anything of it", "not the same as in order", "No medical or legal advice"}, []string{`class="alarm`}},
		{"a subject of a watch that is late", "GET", "/subject/site:1", "", fixed{page: something, about: why, life: late}, 200, []string{"nothing here is known to be so still"}, nil},
		{"a subject that is not there", "GET", "/subject/site:2", "", fixed{about: why}, 404, []string{"no such subject"}, nil},
		{"the picture", "GET", "/months/wide-light.svg", "", fixed{page: something}, 200, []string{"<svg", "Last days to act"}, []string{"<script"}},
		{"a picture that is not there", "GET", "/months/other.svg", "", fixed{page: something}, 404, []string{"no such picture"}, nil},
		{"a picture of nothing", "GET", "/months/wide-light.svg", "", fixed{}, 404, []string{"no such picture"}, nil},
		{"one mail", "GET", "/mail/1", "", fixed{mails: mails}, 200, []string{"as text &lt;b&gt;", `href="1/body"`}, []string{"the HTML part"}},
		{"one mail as HTML", "GET", "/mail/1/body", "", fixed{mails: mails}, 200, []string{"<p>the HTML part</p>"}, nil},
		{"a mail of plain text", "GET", "/mail/1", "", fixed{mails: []Mail{{Text: "plain"}}}, 200, []string{"plain"}, []string{`href="1/body"`}},
		{"a mail of plain text as HTML", "GET", "/mail/1/body", "", fixed{mails: []Mail{{Text: "plain"}}}, 404, []string{"it is plain text"}, nil},
		{"a mail that is not there", "GET", "/mail/2", "", fixed{mails: mails}, 404, []string{"no such mail"}, nil},
		{"a mail that is no number", "GET", "/mail/x/body", "", fixed{mails: mails}, 404, []string{"There is no such mail"}, nil},
		{"the style", "GET", "/style.css", "", fixed{}, 200, []string{"@media print"}, nil},
		{"another page", "GET", "/other", "", fixed{}, 404, nil, nil},
		{"nothing can be sent", "POST", "/", "", fixed{page: something}, 405, nil, nil},
		{"a name that is not this machine's", "GET", "/", "evil.example", fixed{page: something}, 421, []string{"localhost only"}, []string{"overdue"}},
		{"that of another on the way to this one", "GET", "/style.css", "127.0.0.1.evil.example:8732", fixed{}, 421, nil, nil},
		{"an address of another machine", "GET", "/", "192.0.2.1:8732", fixed{page: something}, 421, nil, []string{"overdue"}},
		{"this machine's over IPv6", "GET", "/", "[::1]:8732", fixed{page: something}, 200, nil, nil},
		{"nothing can be sent to a mail", "DELETE", "/mail/1", "", fixed{mails: mails}, 405, nil, nil},
		{"mail 0", "GET", "/mail/0", "", fixed{mails: mails}, 404, nil, nil},
		{"this machine's by another name", "GET", "/", "localhost:8732", fixed{page: something}, 200, nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := asked(c.source, c.method, c.path, c.host)
			if w.Code != c.code {
				t.Errorf("code %d, want %d", w.Code, c.code)
			}
			checkSays(t, w.Body.String(), c.has, c.hasNot)
			if c.code == http.StatusOK {
				checkHeaders(t, w.Header())
			}
		})
	}
}

func asked(source Source, method, path, host string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, "http://127.0.0.1:8732"+path, nil)
	if host != "" {
		r.Host = host
	}
	w := httptest.NewRecorder()
	Handler(source, http.NotFoundHandler()).ServeHTTP(w, r)
	return w
}

func checkSays(t *testing.T, body string, has, hasNot []string) {
	t.Helper()
	for _, want := range has {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q:\n%s", want, body)
		}
	}
	for _, not := range hasNot {
		if strings.Contains(body, not) {
			t.Errorf("the page says %q", not)
		}
	}
}

func checkHeaders(t *testing.T, h http.Header) {
	t.Helper()
	for name, want := range map[string]string{"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store"} {
		if !strings.Contains(h.Get(name), want) {
			t.Errorf("%s is %q, want %q in it", name, h.Get(name), want)
		}
	}
}
