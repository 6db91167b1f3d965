package web

import (
	"bytes"
	"embed"
	"html/template"
	"net"
	"net/http"
	"strconv"

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

// Source gives the pages what they show. It must be safe for concurrent use.
type Source interface {
	// Check gives the newest answer; nil before the first sweep.
	Check() *answer.Check
	// Mails gives the mails, newest first; nil where none are kept.
	Mails() []Mail
}

//go:embed page.html mail.html style.css
var files embed.FS

var pages = template.Must(template.New("").Funcs(template.FuncMap{
	"day": words.Day, "capital": words.Capital, "standing": words.Standing, "role": words.Role,
	"inc": func(i int) int { return i + 1 }, "caution": func() string { return words.Caution },
}).ParseFS(files, "page.html", "mail.html"))

// Handler serves the pages.
func Handler(source Source, metrics http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		render(w, "page.html", page{Check: source.Check(), Mails: source.Mails()})
	})
	mux.HandleFunc("GET /mail/{number}", func(w http.ResponseWriter, r *http.Request) {
		if m, ok := find(source.Mails(), r.PathValue("number")); ok {
			render(w, "mail.html", mailPage{m, r.PathValue("number")})
			return
		}
		http.Error(w, "There is no such mail.", http.StatusNotFound)
	})
	mux.HandleFunc("GET /mail/{number}/body", func(w http.ResponseWriter, r *http.Request) {
		m, ok := find(source.Mails(), r.PathValue("number"))
		if !ok {
			http.Error(w, "There is no such mail.", http.StatusNotFound)
			return
		}
		// A mail brings its own styles along; it may bring nothing else.
		w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; form-action 'none'; base-uri 'none'")
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(m.HTML))
	})
	mux.HandleFunc("GET /style.css", func(w http.ResponseWriter, r *http.Request) {
		http.ServeFileFS(w, r, files, "style.css")
	})
	mux.Handle("GET /metrics", metrics)
	return guard(mux)
}

type page struct {
	Check *answer.Check
	Mails []Mail
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
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}
