package daemon

import (
	"context"
	"fmt"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/daemon/store"
	"antidotary/inventory"
)

// TestEachIsToldInTheirMorning: in a house with sites in two zones nobody is
// mailed at the hour of another site; a sweep that was missed is made good by
// the next one after it.
func TestEachIsToldInTheirMorning(t *testing.T) {
	times, err := timesOf(defaults(t, ""))
	if err != nil {
		t.Fatal(err)
	}
	waits := times.waits(times.sweep)
	for _, c := range []struct {
		zone, now string
		want      bool
	}{
		{"Europe/London", "2026-11-25T05:30:00Z", false},
		{"America/New_York", "2026-11-25T05:30:00Z", true},  // half past midnight there
		{"America/New_York", "2026-11-25T10:30:00Z", false}, // half past five there
		{"America/New_York", "2026-11-25T20:00:00Z", false}, // later that day
		{"America/New_York", "2026-11-25T04:59:59Z", false}, // still yesterday there
		{"Australia/Sydney", "2026-11-25T05:30:00Z", false}, // the afternoon there
		{"Africa/Cairo", "2026-04-23T22:30:00Z", true},      // midnight did not exist there
		{"America/New_York", "2026-03-08T09:00:00Z", true},  // the clocks went forward at night
		{"America/New_York", "2026-03-08T09:30:00Z", false},
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		now, err := time.Parse(time.RFC3339, c.now)
		if err != nil {
			t.Fatal(err)
		}
		if got := waits(zone, now); got != c.want {
			t.Errorf("%s at %s: waits %t, want %t", c.zone, now.In(zone), got, c.want)
		}
	}
	one, err := timesOf(defaults(t, "Europe/London"))
	if err != nil || one.waits(one.sweep) != nil {
		t.Errorf("with one zone for all somebody waits (%v)", err)
	}
}

func TestTheScheduleCountsInEverySitesZone(t *testing.T) {
	opt, _ := watched(t)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Stop(context.Background())
	before := fmt.Sprint(d.zones())
	records, _, err := d.store.Snapshot(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	site := inventory.Site{ID: inventory.NewID(), Organisation: records.House().ID, Title: "A new one", Zone: "Pacific/Apia", Use: inventory.SiteUse("zoo")}
	for s := range records.Sites.All() {
		site.Use = s.Use
	}
	if _, err := d.store.Commit(t.Context(), store.Actor{ID: "test"}, compliance.Record(site)); err != nil {
		t.Fatal(err)
	}
	if after := fmt.Sprint(d.zones()); after == before || len(d.zones()) < 2 {
		t.Errorf("%s, then %s: the new site's zone does not count", before, after)
	}
}

// TestAStartIsARunOfItsOwn: the sweep at the start is recorded, and so is what
// was missed while nobody ran.
func TestAStartIsARunOfItsOwn(t *testing.T) {
	opt, _ := watched(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	for _, missed := range []int{0, 9} {
		d, err := New(opt)
		if err != nil {
			t.Fatal(err)
		}
		if err := d.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		runs, err := d.store.Runs(t.Context(), jobSweep, 1)
		if err != nil || len(runs) != 1 || runs[0].State != store.RunDone || !runs[0].Slot.Equal(now) || runs[0].Missed < missed {
			t.Errorf("%+v, %v; want a run at %s that stands for %d", runs, err, now, missed)
		}
		if err := d.Stop(context.Background()); err != nil {
			t.Fatal(err)
		}
		now = now.AddDate(0, 0, 10)
	}
}

func defaults(t *testing.T, zone string) config.Config {
	t.Helper()
	c := config.Default()
	c.Zone = zone
	return c
}
