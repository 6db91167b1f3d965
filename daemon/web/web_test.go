package web

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// fixed is a source that shows what it is given.
type fixed struct {
	check *answer.Check
	mails []Mail
}

func (f fixed) Check() *answer.Check { return f.check }
func (f fixed) Mails() []Mail        { return f.mails }

var something = &answer.Check{AsOf: day.MustParse("2026-11-25"), NobodyTold: true, Counts: answer.Counts{OutOf: 1},
	Items: []notify.Item{{Name: `<script>alert("x")</script>`, Standing: compliance.OutOfOrder, StateWords: "it is overdue", Title: "A drill", Consequence: "Nobody knows the way.",
		Rule: "x.r", Citation: "common practice, no source", Step: &notify.Step{Words: "do it", By: day.MustParse("2026-11-01"), Missed: true, Owner: compliance.SafetyOfficer}}}}

func TestPages(t *testing.T) {
	mails := []Mail{{To: "a@house.example", Subject: "Three & more", HTML: "<p>the HTML part</p>", Text: "as text <b>"}}
	for _, c := range []struct {
		name, method, path, host string
		source                   fixed
		code                     int
		has, hasNot              []string
	}{
		{"nothing checked yet", "GET", "/", "", fixed{}, 200, []string{"Nothing has been checked yet", "not the same as in order"}, []string{"0 out of order"}},
		{"an answer", "GET", "/", "", fixed{check: something}, 200,
			[]string{"1 out of order", "nobody is being told", "Do it, should have been done by Sun 1 Nov 2026, 24 days ago (safety officer)", "Nobody knows the way.", "&lt;script&gt;", "No medical or legal advice"}, []string{"<script>"}},
		{"mails are listed", "GET", "/", "", fixed{check: something, mails: mails}, 200, []string{"Three &amp; more", "/mail/1"}, nil},
		{"one mail", "GET", "/mail/1", "", fixed{mails: mails}, 200, []string{"as text &lt;b&gt;", `href="1/body"`}, []string{"the HTML part"}},
		{"one mail as HTML", "GET", "/mail/1/body", "", fixed{mails: mails}, 200, []string{"<p>the HTML part</p>"}, nil},
		{"a mail that is not there", "GET", "/mail/2", "", fixed{mails: mails}, 404, []string{"no such mail"}, nil},
		{"a mail that is no number", "GET", "/mail/x/body", "", fixed{mails: mails}, 404, []string{"no such mail"}, nil},
		{"the style", "GET", "/style.css", "", fixed{}, 200, []string{"@media print"}, nil},
		{"another page", "GET", "/other", "", fixed{}, 404, nil, nil},
		{"nothing can be sent", "POST", "/", "", fixed{check: something}, 405, nil, nil},
		{"a name that is not this machine's", "GET", "/", "evil.example", fixed{check: something}, 421, []string{"localhost only"}, []string{"overdue"}},
		{"that of another on the way to this one", "GET", "/style.css", "127.0.0.1.evil.example:8732", fixed{}, 421, nil, nil},
		{"an address of another machine", "GET", "/", "192.0.2.1:8732", fixed{check: something}, 421, nil, []string{"overdue"}},
		{"this machine's over IPv6", "GET", "/", "[::1]:8732", fixed{check: something}, 200, nil, nil},
		{"nothing can be sent to a mail", "DELETE", "/mail/1", "", fixed{mails: mails}, 405, nil, nil},
		{"mail 0", "GET", "/mail/0", "", fixed{mails: mails}, 404, nil, nil},
		{"this machine's by another name", "GET", "/", "localhost:8732", fixed{check: something}, 200, nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := httptest.NewRequest(c.method, "http://127.0.0.1:8732"+c.path, nil)
			if c.host != "" {
				r.Host = c.host
			}
			w := httptest.NewRecorder()
			Handler(c.source, http.NotFoundHandler()).ServeHTTP(w, r)
			body := w.Body.String()
			if w.Code != c.code {
				t.Errorf("code %d, want %d", w.Code, c.code)
			}
			for _, want := range c.has {
				if !strings.Contains(body, want) {
					t.Errorf("the page does not say %q:\n%s", want, body)
				}
			}
			for _, not := range c.hasNot {
				if strings.Contains(body, not) {
					t.Errorf("the page says %q", not)
				}
			}
			if c.code == http.StatusOK {
				checkHeaders(t, w.Header())
			}
		})
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
