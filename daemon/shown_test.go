package daemon

import (
	"context"
	"strings"
	"testing"

	"antidotary/compliance"
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
	for _, want := range []string{`antidotary_job_last_success_timestamp_seconds{job="sweep"}`, `antidotary_job_interval_seconds{job="sweep"} `,
		`antidotary_job_interval_seconds{job="confirm"} `, `antidotary_outbox_messages{state="sent"}`,
		`antidotary_findings{requirement="`, `antidotary_duties{standing="out_of_order"}`, `antidotary_records{kind="animal"}`, `antidotary_act_by_timestamp_seconds{severity="`,
		`antidotary_overdue_steps{severity="critical"}`, "antidotary_mail_held 0", "antidotary_judged_timestamp_seconds "} {
		if !strings.Contains(text, want) {
			t.Errorf("%s is missing in\n%s", want, text)
		}
	}
}
