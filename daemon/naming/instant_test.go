package naming

import (
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
)

func TestInstants(t *testing.T) {
	org := inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}
	site := inventory.Site{ID: inventory.NewID(), Organisation: org.ID, Title: "Site", Zone: "America/New_York"}
	s, err := compliance.Batch{compliance.Record(org), compliance.Record(site)}.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	n := &Names{Snapshot: s, Now: time.Date(2027, 6, 1, 0, 0, 0, 0, time.UTC)}
	for text, want := range map[string]string{
		"2026-10-31 20:00":          "2026-11-01T00:00:00Z",
		"2026-11-01 20:00":          "2026-11-02T01:00:00Z",
		"2026-10-31T20:00-04:00":    "2026-11-01T00:00:00Z",
		"2026-10-31T20:00:30-04:00": "2026-11-01T00:00:30Z",
		"2026-11-01T01:30-05:00":    "2026-11-01T06:30:00Z",
		"2026-11-01 01:30":          "comes twice",
		"2027-03-14 02:30":          "left out",
		"2027-06-01 20:00":          "in the future",
		"20:00":                     "is no instant",
		"2026-02-30 20:00":          "is no instant",
	} {
		got, err := n.Instant(text, site.ID)
		if err != nil {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %v, want %q", text, err, want)
			}
			continue
		}
		if got.Format(time.RFC3339) != want {
			t.Errorf("%s: %s, want %s", text, got.Format(time.RFC3339), want)
		}
	}
}
