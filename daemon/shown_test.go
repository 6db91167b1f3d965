package daemon

import (
	"context"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/daemon/store"
	"antidotary/inventory"
)

// TestThePageKeepsUp: what another process changes, and a hold on mail, show
// without a sweep of this daemon.
func TestThePageKeepsUp(t *testing.T) {
	opt, _ := watched(t)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	if err := d.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	d.refresh(t.Context())
	first := d.shown.Check()
	d.refresh(t.Context())
	if d.shown.Check() != first {
		t.Error("it judged again, and nothing had changed")
	}
	if _, err := d.store.Commit(t.Context(), store.Actor{ID: "test"}, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja fictitia"})); err != nil {
		t.Fatal(err)
	}
	d.refresh(t.Context())
	if d.shown.Check() == first {
		t.Error("a change of the records does not show")
	}
}

// onAPage is a watch that has swept, with its page and its clock to move. Its
// loops do not run: nothing happens but what the test does.
func onAPage(t *testing.T, change func(*Options)) (d *Daemon, now *time.Time, page func() string) {
	t.Helper()
	opt, _ := watched(t)
	at := morning
	opt.Clock = func() time.Time { return at }
	change(&opt)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Stop(context.Background()) })
	if err := d.first(t.Context()); err != nil {
		t.Fatal(err)
	}
	host := served(t, &d.shown)
	return d, &at, func() string { return get(t, "http://"+host+"/") }
}

// TestAWatchThatStandsStill says so, whatever it found last: the clock of the
// request tells, not the watch that stands still.
func TestAWatchThatStandsStill(t *testing.T) {
	d, now, page := onAPage(t, func(*Options) {})
	checkPage(t, page(), []string{"ended today at 04:00, just now", "nothing waits", "WP-105"}, []string{`class="alarm`})
	if err := d.store.Close(); err != nil {
		t.Fatal(err)
	}
	*now = morning.Add(time.Hour)
	d.refresh(t.Context())
	checkPage(t, page(), []string{"The watch stands still: it last read its own state today at 04:00, 1 hour ago", "not known"}, []string{"nothing waits"})
}

// TestALateSweep is said at the top, also where all else goes on.
func TestALateSweep(t *testing.T) {
	d, now, page := onAPage(t, func(*Options) {})
	*now = morning.AddDate(0, 0, 3)
	d.refresh(t.Context())
	checkPage(t, page(), []string{"The watch has not swept for too long: nothing here is known to be so still. The last sweep ended Wed 25 Nov 2026 at 04:00, 3 days ago"}, nil)
}

// TestADayLater the page tells of what changed, and the day after that of
// nothing.
func TestADayLater(t *testing.T) {
	d, now, page := onAPage(t, func(*Options) {})
	all := []string{"The watch is no older, so everything is new to it"}
	checkPage(t, page(), all, nil)
	*now = morning.AddDate(0, 0, 40)
	if _, err := d.store.Commit(t.Context(), store.Actor{ID: "rowan", Name: "Rowan Invented"}, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Naja fictitia"})); err != nil {
		t.Fatal(err)
	}
	if err := d.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	d.refresh(t.Context())
	checkPage(t, page(), []string{"Since the start of Sun 3 Jan 2027, by the clock of America/New_York", "rowan (Rowan Invented)", "species 1", "has passed", "was in order, is"}, all)
	*now = now.AddDate(0, 0, 3)
	d.refresh(t.Context())
	checkPage(t, page(), []string{"Nothing new needs somebody.", "Nothing that was open became worse.", "Nothing that was open has ended.", "Nobody recorded anything."}, nil)
}

// TestAHouseWithoutMail says on its page that nobody is being told.
func TestAHouseWithoutMail(t *testing.T) {
	_, _, page := onAPage(t, func(o *Options) { o.Config.Mail = config.Mail{Mode: config.MailNone} })
	checkPage(t, page(), []string{"This house sends no mail: nobody is being told", "none is sent, and nobody is being told"}, nil)
}

// TestPagesOfSubjects: there is one for whatever is recorded, and none for
// what is not, whatever its kind.
func TestPagesOfSubjects(t *testing.T) {
	d, _, _ := onAPage(t, func(*Options) {})
	v := d.shown.report.View
	for rec := range v.Permits.All() {
		if d.shown.Explain(rec.Ref().String()) == nil {
			t.Errorf("there is no page for %s", v.NameOf(rec.Ref()))
		}
	}
	for _, holding := range v.Holdings() {
		if d.shown.Explain(holding.String()) == nil {
			t.Errorf("there is no page for %s", v.NameOf(holding))
		}
	}
	for _, none := range []string{"", "permit", "permit:x", inventory.Ref{Kind: inventory.KindPermit, ID: inventory.NewID()}.String(),
		inventory.Holding(inventory.NewID(), inventory.NewID()).String(), inventory.Holding(v.Holdings()[0].ID, inventory.NewID()).String()} {
		if e := d.shown.Explain(none); e != nil {
			t.Errorf("there is a page for %q: %s", none, e.Name)
		}
	}
}

func checkPage(t *testing.T, page string, has, hasNot []string) {
	t.Helper()
	for _, want := range has {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q:\n%s", want, page)
		}
	}
	for _, not := range hasNot {
		if strings.Contains(page, not) {
			t.Errorf("the page says %q", not)
		}
	}
}

// TestMetricsAreServed beside the page, and know of the runs.
func TestMetricsAreServed(t *testing.T) {
	opt, _ := watched(t)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	text := get(t, "http://"+d.Addr()+"/metrics")
	for _, want := range []string{`antidotary_job_last_success_timestamp_seconds{task="sweep"}`, `antidotary_job_interval_seconds{task="sweep"} `,
		`antidotary_job_interval_seconds{task="confirm"} `, `antidotary_outbox_messages{state="sent"}`,
		`antidotary_findings{owner="`, `antidotary_duties{standing="out_of_order"}`, `antidotary_records{kind="animal"}`, `antidotary_act_by_timestamp_seconds{owner="`,
		`antidotary_overdue_steps{owner="curator",severity="critical"}`, "antidotary_mail_held 0", "antidotary_judged_timestamp_seconds "} {
		if !strings.Contains(text, want) {
			t.Errorf("%s is missing in\n%s", want, text)
		}
	}
}
