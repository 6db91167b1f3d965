package web

import (
	"bytes"
	"embed"
	"html/template"
	"net"
	"net/http"
	"strconv"
	"time"

	"antidotary/daemon/answer"
	"antidotary/notify/words"
)

// Mail is one mail as the page shows it.
type Mail struct {
	To, Subject string
	State       string // queued, sent, ...
	HTML        string // the mail's own HTML, shown as a page of its own
	Text        string
}

// Page is one finished answer. It is made once for each judging, and nothing
// alters it.
type Page struct {
	Check  *answer.Check
	Parts  []Part  // what needs doing
	Since  *Since  // nil: not known
	Months *Months // nil: not known
	Covers Covers
	Zone   *time.Location // whose clock times are told by
}

// Source gives the pages what they show. It must be safe for concurrent use.
type Source interface {
	// Now gives the clock by which ages are told.
	Now() time.Time
	// Page gives the newest answer; nil before the first judging.
	Page() *Page
	// Life gives what is known of the watch itself; nil where nothing is.
	Life() *Life
	// Explain says why, of one subject (kind:uuid); nil where there is none.
	Explain(subject string) *answer.Explain
	// Mails gives the mails, newest first; nil where none are kept.
	Mails() []Mail
}

//go:embed *.html style.css icon.svg
var files embed.FS

var pages = template.Must(template.New("").Funcs(template.FuncMap{
	"day": words.Day, "relative": words.Relative, "capital": words.Capital, "standing": words.Standing, "layer": words.Layer,
	"role": words.Role, "state": words.State, "count": words.Count, "inc": func(i int) int { return i + 1 }, "caution": func() string { return words.Caution },
}).ParseFS(files, "*.html"))

// Handler serves the pages.
func Handler(source Source, metrics http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { render(w, "page.html", shownNow(source)) })
	mux.HandleFunc("GET /months/{sheet}", func(w http.ResponseWriter, r *http.Request) { servePicture(w, source.Page(), r.PathValue("sheet")) })
	mux.HandleFunc("GET /subject/{subject}", func(w http.ResponseWriter, r *http.Request) {
		if e := source.Explain(r.PathValue("subject")); e != nil {
			render(w, "subject.html", subjectNow(source, e))
			return
		}
		http.Error(w, "There is no such subject, or nothing has been checked yet.", http.StatusNotFound)
	})
	mux.HandleFunc("GET /mail/{number}", func(w http.ResponseWriter, r *http.Request) {
		if m, ok := find(source.Mails(), r.PathValue("number")); ok {
			render(w, "mail.html", mailPage{m, r.PathValue("number")})
			return
		}
		http.Error(w, "There is no such mail.", http.StatusNotFound)
	})
	mux.HandleFunc("GET /mail/{number}/body", func(w http.ResponseWriter, r *http.Request) { serveBody(w, source.Mails(), r.PathValue("number")) })
	for _, name := range []string{"style.css", "icon.svg"} {
		mux.HandleFunc("GET /"+name, func(w http.ResponseWriter, r *http.Request) { http.ServeFileFS(w, r, files, name) })
	}
	mux.Handle("GET /metrics", metrics)
	return guard(mux)
}

// shown is the page at the instant of a request.
type shown struct {
	*Page
	Alarms []string
	Signs  []sign
	Zone   string
	Mails  []Mail
}

func shownNow(source Source) shown {
	s := shown{Page: source.Page(), Mails: source.Mails()}
	c, check := readAt(source, s.Page)
	life := source.Life()
	s.Alarms, s.Signs, s.Zone = life.alarms(check, c), life.signs(check, c), c.zone.String()
	return s
}

// readAt gives the clock of a request, and the check of the page if there is
// one.
func readAt(source Source, p *Page) (clock, *answer.Check) {
	c := clock{source.Now(), time.UTC}
	if p == nil {
		return c, nil
	}
	if p.Zone != nil {
		c.zone = p.Zone
	}
	return c, p.Check
}

// subject is an explanation at the instant of a request: how old it is counts
// as much as on the page.
type subject struct {
	*answer.Explain
	Alarms       []string
	Judged, Zone string
}

func subjectNow(source Source, e *answer.Explain) subject {
	c, check := readAt(source, source.Page())
	return subject{e, source.Life().alarms(check, c), c.when(e.Now), c.zone.String()}
}

// own is what a document may bring that has styles of its own: those, and
// nothing else.
const own = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; form-action 'none'; base-uri 'none'"

func serveBody(w http.ResponseWriter, mails []Mail, number string) {
	m, ok := find(mails, number)
	if !ok || m.HTML == "" {
		http.Error(w, "There is no such mail, or it is plain text.", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Security-Policy", own)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write([]byte(m.HTML))
}

func servePicture(w http.ResponseWriter, page *Page, name string) {
	s, ok := sheets[name]
	if !ok || page == nil || page.Months == nil {
		http.Error(w, "There is no such picture.", http.StatusNotFound)
		return
	}
	svg, err := page.Months.picture(s)
	if err != nil {
		http.Error(w, "This picture could not be drawn; the table has its numbers.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Security-Policy", own)
	w.Header().Set("Content-Type", "image/svg+xml")
	_, _ = w.Write(svg)
}

type mailPage struct {
	Mail
	Number string
}

func find(mails []Mail, number string) (Mail, bool) {
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > len(mails) {
		return Mail{}, false
	}
	return mails[n-1], true
}

func render(w http.ResponseWriter, name string, data any) {
	var out bytes.Buffer
	if err := pages.ExecuteTemplate(&out, name, data); err != nil {
		http.Error(w, "This page could not be made; the service goes on.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = out.WriteTo(w)
}

// guard refuses names that are not this machine's, so that a page elsewhere
// cannot read ours through a name that it points here, and sets the headers.
func guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.Host)
		if err != nil {
			host = r.Host
		}
		if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
			http.Error(w, "This page answers to localhost only.", http.StatusMisdirectedRequest)
			return
		}
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}
