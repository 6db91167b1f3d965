package daemon

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"antidotary/daemon/answer"
	"antidotary/daemon/web"
	"antidotary/inventory/day"
)

// What the browser's tests need: axe.min.js of axe-core, which .ci/browser
// fetches together with Chromium. Where shotsVariable names a folder, what the
// browser sees is left there for people to look at.
const (
	axeVariable   = "ANTIDOTARY_AXE"
	shotsVariable = "ANTIDOTARY_SHOTS"
)

// browserLimit is how long all that one test asks of the browser may take, on
// a machine that is very busy.
const browserLimit = 8 * time.Minute

// browser starts Chromium, and gives the text of axe-core.
func browser(t *testing.T) (ctx context.Context, axe string) {
	t.Helper()
	program := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil && program == "" {
			program = found
		}
	}
	file := os.Getenv(axeVariable)
	if program == "" || file == "" {
		t.Skipf("NOT TESTED IN A BROWSER: Chromium is found: %t, %s is set: %t; see DEVELOPERS.md, Tests", program != "", axeVariable, file != "")
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program), chromedp.UserDataDir(t.TempDir()), chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.WSURLReadTimeout(browserLimit))
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // it has none for root
	}
	limited, cancel := context.WithTimeout(t.Context(), browserLimit)
	t.Cleanup(cancel)
	alloc, end := chromedp.NewExecAllocator(limited, options...)
	t.Cleanup(end)
	ctx, closeTab := chromedp.NewContext(alloc)
	t.Cleanup(closeTab)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatalf("start the browser: %v", err)
	}
	return ctx, string(text)
}

// listen begins to note.
func (w *witness) listen(t *testing.T, tab context.Context) {
	t.Helper()
	if err := chromedp.Listen(tab, w.hear); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(tab, log.Enable, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(tab, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
}

// witness notes what a page asks for, and what the browser says against it.
type witness struct {
	mu       sync.Mutex
	asked    []string
	problems []string
}

func (w *witness) hear(event any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		w.asked = append(w.asked, e.Request.URL)
	case *log.EventEntryAdded:
		w.problems = append(w.problems, string(e.Entry.Level)+": "+e.Entry.Text+" "+e.Entry.URL)
	case *runtime.EventConsoleAPICalled:
		w.problems = append(w.problems, "console: "+string(e.Type))
	case *runtime.EventExceptionThrown:
		w.problems = append(w.problems, e.ExceptionDetails.Text)
	}
}

func (w *witness) check(t *testing.T, host string) {
	t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, p := range w.problems {
		t.Errorf("the browser says: %s", p)
	}
	if len(w.asked) == 0 {
		t.Error("it was not seen to ask for the page")
	}
	for _, asked := range w.asked {
		if u, err := url.Parse(asked); err != nil || u.Host != host {
			t.Errorf("it asked %s, which is another place than %s", asked, host)
		}
	}
}

// screen is one way in which people look at a page.
type screen struct {
	name    string
	width   int64
	scheme  string
	media   string
	picture string // that fits it
}

var screens = []screen{
	{"desk", 1280, "light", "screen", "wide-light.svg"}, {"desk-dark", 1280, "dark", "screen", "wide-dark.svg"},
	{"phone", 375, "light", "screen", "narrow-light.svg"}, {"phone-dark", 375, "dark", "screen", "narrow-dark.svg"},
	{"print", 700, "light", "print", "wide-light.svg"},
}

// look sets the browser up as that screen.
func (s screen) look(t *testing.T, tab context.Context) {
	t.Helper()
	as := emulation.SetEmulatedMediaParams{Media: s.media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: s.scheme}}}
	if _, err := chromedp.Call(tab, emulation.SetEmulatedMedia, as); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(tab, chromedp.EmulateViewport(s.width, 900)); err != nil {
		t.Fatal(err)
	}
}

// found asks the page for something.
func found[T any](t *testing.T, tab context.Context, action chromedp.Action[T]) T {
	t.Helper()
	got, err := chromedp.Run(tab, action)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// violation is what axe-core finds wrong.
type violation struct {
	ID, Help string
	Nodes    []struct{ HTML, FailureSummary string }
}

// runAxe judges the page by every rule. A mail is shown as it was sent: a mail
// program puts it into a page of its own, which has the landmarks and heading.
const runAxe = `axe.run(document, {resultTypes: ["violations"], rules: location.pathname.endsWith("/body") ?
	{"landmark-one-main": {enabled: false}, "page-has-heading-one": {enabled: false}, "region": {enabled: false}} : {}}).then(r => JSON.stringify(r.violations.map(v =>
	({id: v.id, help: v.help, nodes: v.nodes.map(n => ({html: n.html, failureSummary: n.failureSummary}))}))))`

// TestEveryPageInABrowser: on desk, phone and paper, by day and by night, no
// page breaks a rule of axe-core, is wider than its screen, asks another place
// for anything, or has the browser complain.
func TestEveryPageInABrowser(t *testing.T) {
	ctx, axe := browser(t)
	_, kinds := pagesToSee(t)
	for _, kind := range kinds {
		for _, s := range screens {
			t.Run(kind.name+"/"+s.name, func(t *testing.T) {
				tab, end := chromedp.NewContext(ctx)
				defer end()
				w := &witness{}
				w.listen(t, tab)
				s.look(t, tab)
				found(t, tab, chromedp.Navigate("http://"+kind.host+kind.path))
				if width := found(t, tab, chromedp.Evaluate[int](`document.documentElement.scrollWidth`)); width > int(s.width) {
					t.Errorf("the page is %d pixels wide on a screen of %d", width, s.width)
				}
				drawn := found(t, tab, chromedp.Evaluate[string](`[...document.images].filter(i => i.complete && i.naturalWidth > 0).map(i => i.currentSrc).join(" ")`))
				if want := s.picture; kind.picture && !strings.HasSuffix(drawn, "/months/"+want) || !kind.picture && drawn != "" {
					t.Errorf("drawn is %q, want %t: %s", drawn, kind.picture, want)
				}
				found(t, tab, chromedp.Evaluate[chromedp.Void](axe))
				checkAxe(t, found(t, tab, chromedp.Evaluate[string](runAxe, chromedp.EvalAwaitPromise)))
				w.check(t, kind.host)
				keepShot(t, tab, kind.name, s)
			})
		}
	}
}

// kindOfPage is a page to look at.
type kindOfPage struct {
	name, host, path string
	picture          bool // it has one
}

// posed is what a watch shows, with another page or state of the watch.
type posed struct {
	*shown
	page  *web.Page
	life  *web.Life
	mails []web.Mail
}

func (p posed) Page() *web.Page   { return p.page }
func (p posed) Life() *web.Life   { return p.life }
func (p posed) Mails() []web.Mail { return p.mails }

// digests are the mails that have HTML, as they are now: others may arrive
// while the test reads.
func digests(d *Daemon) (out []web.Mail) {
	for _, m := range d.shown.Mails() {
		if m.HTML != "" {
			out = append(out, m)
		}
	}
	return out
}

// served gives the address of a page that shows a source.
func served(t *testing.T, source web.Source) (host string) {
	t.Helper()
	server := httptest.NewServer(web.Handler(source, http.NotFoundHandler()))
	t.Cleanup(server.Close)
	return server.Listener.Addr().String()
}

// pagesToSee starts a watch, and gives every kind of page that it has.
func pagesToSee(t *testing.T) (*Daemon, []kindOfPage) {
	t.Helper()
	opt, box := watched(t)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Stop(context.Background()) })
	d.shown.box = box
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	item := d.shown.Check().Items[0]
	empty := &answer.Check{AsOf: day.In(morning, time.UTC), Now: morning.AddDate(0, 0, -3)}
	nothing := &web.Page{Check: empty, Parts: web.Tasks(empty, nil)}
	stale := served(t, posed{&d.shown, nothing, &web.Life{Read: morning, NoMail: true, Held: "restored from a backup", SweepProblem: "disk full"}, nil})
	mails := served(t, posed{&d.shown, nothing, nil, digests(d)})
	return d, []kindOfPage{
		{"page", d.Addr(), "/", true},
		{"subject", d.Addr(), "/subject/" + item.Subject, false},
		{"nothing-asked", d.Addr(), "/subject/" + unasked(t, d), false},
		{"mail", mails, "/mail/1", false},
		{"mail-body", mails, "/mail/1/body", false},
		{"stale", stale, "/", false},
		{"unknown", served(t, posed{shown: &d.shown}), "/", false},
	}
}

// unasked gives somebody of whom no rule asks anything.
func unasked(t *testing.T, d *Daemon) string {
	t.Helper()
	for p := range d.shown.report.View.People.All() {
		if e := d.shown.Explain(p.Ref().String()); e != nil && len(e.Duties) == 0 {
			return e.Subject
		}
	}
	t.Fatal("something is asked of everybody")
	return ""
}

func checkAxe(t *testing.T, text string) {
	t.Helper()
	var list []violation
	if err := json.Unmarshal([]byte(text), &list); err != nil {
		t.Fatalf("axe-core answers %q: %v", text, err)
	}
	for _, v := range list {
		for _, n := range v.Nodes {
			t.Errorf("%s: %s\n%s\n%s", v.ID, v.Help, n.HTML, n.FailureSummary)
		}
	}
}

// keepShot leaves a picture of the page, and a PDF of what is printed, where
// somebody wants to look at them.
func keepShot(t *testing.T, tab context.Context, name string, s screen) {
	t.Helper()
	folder := os.Getenv(shotsVariable)
	if folder == "" {
		return
	}
	ending, take := "png", chromedp.CaptureScreenshot()
	if s.media == "print" {
		ending, take = "pdf", chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize())
	}
	found(t, tab, chromedp.EmulateViewport(s.width, found(t, tab, chromedp.Evaluate[int64](`document.documentElement.scrollHeight`))))
	if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%s-%s.%s", name, s.name, ending)), found(t, tab, take), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestReadingThePage: a reader finds the watch alive, what is to be done with
// its numbers, goes from there to why, and back by the keyboard.
func TestReadingThePage(t *testing.T) {
	ctx, _ := browser(t)
	d, _ := pagesToSee(t)
	screens[0].look(t, ctx)
	found(t, ctx, chromedp.Navigate("http://"+d.Addr()+"/"))
	life, doing := found(t, ctx, chromedp.Text(chromedp.CSS(".life"))), found(t, ctx, chromedp.Text(chromedp.CSS("main")))
	entries := found(t, ctx, chromedp.Evaluate[int](`document.querySelectorAll(".entries > li").length`))
	rows := found(t, ctx, chromedp.Evaluate[int](`document.querySelectorAll("#months ~ .wide tbody tr").length`))
	first := found(t, ctx, chromedp.Text(chromedp.CSS(".entries a")))
	found(t, ctx, chromedp.Click(chromedp.CSS(".entries a")))
	found(t, ctx, chromedp.WaitVisible(chromedp.CSS(".duty")))
	title, why := found(t, ctx, chromedp.Text(chromedp.CSS("h1"))), found(t, ctx, chromedp.Text(chromedp.CSS("main")))
	found(t, ctx, chromedp.Focus(chromedp.CSS("nav a")))
	found(t, ctx, chromedp.KeyEvent("\r"))
	found(t, ctx, chromedp.WaitVisible(chromedp.CSS(".entries")))
	back := found(t, ctx, chromedp.Text(chromedp.CSS("h1")))
	shown := 0
	for _, p := range d.shown.Page().Parts {
		shown += len(p.Entries)
	}
	if entries != shown || entries < 10 || rows != monthsAhead {
		t.Errorf("%d entries and %d months are on the page, want %d and %d", entries, rows, shown, monthsAhead)
	}
	for text, wants := range map[string][]string{
		life:  {"Last sweep ended today at", "Next sweep", "Judged today", "Mail nothing waits", "Journal checked"},
		doing: {"Do it and record it", "WP-105", "out of order", "Rule packs", "Not watched yet"},
		why:   {"Cited", "Facts", "By law", "check against the law in force"},
		title: {first}, back: {"What needs doing"},
	} {
		for _, want := range wants {
			if !strings.Contains(text, want) {
				t.Errorf("a reader does not find %q in\n%s", want, text)
			}
		}
	}
}
