package notify

import (
	"testing"
	"time"

	"antidotary/notify/message"
)

// TestWhoWaitsIsToldLater, whole, and the others now: nothing of theirs is
// written to the ledger before.
func TestWhoWaitsIsToldLater(t *testing.T) {
	w := newWorld(t, rules(t))
	whole := w.sweep()
	zones := make(map[string]bool)
	for i := range whole.Digests {
		zones[whole.Digests[i].To.Called] = true
	}
	w = newWorld(t, rules(t))
	in, _ := w.judge()
	early := make(map[string]bool)
	in.Waits = func(zone *time.Location) bool {
		return zone.String() == "Pacific/Auckland" || zone.String() == larkspur.Zone
	}
	some := Plan(in)
	for _, d := range some.Digests {
		early[d.To.Called] = true
	}
	if len(early) == 0 || len(early) >= len(zones) || early["Ada Quill"] {
		t.Fatalf("%v are told while a zone waits, of %v", early, zones)
	}
	in.Waits = func(*time.Location) bool { return false }
	if later := Plan(in); len(later.Digests) != len(whole.Digests) {
		t.Errorf("%d digests when nobody waits, want %d", len(later.Digests), len(whole.Digests))
	}
}

// proofOf makes the proof of life for the house of these tests.
func proofOf(t *testing.T, problem string) message.Mail {
	t.Helper()
	w := newWorld(t, rules(t))
	in, _ := w.judge()
	to := ProofTo(in.Report)
	if len(to) == 0 {
		t.Fatal("nobody would know that the watch is alive")
	}
	m, err := ComposeProof(Proof{Report: in.Report, Open: in.Open, Swept: w.now, Sent: 3, Entries: 41, Head: "41 0123abcd", Problem: problem, Next: w.now.AddDate(0, 0, 7)},
		to[0], d("2030-06-03"), from, mailID, w.now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.Bytes(); err != nil {
		t.Fatal(err)
	}
	return m
}

// TestProofOfLife says what was checked, the head to keep, when the next one
// is due, and the cautions; and cries where the journal does not hold.
func TestProofOfLife(t *testing.T) {
	golden(t, "proof", proofOf(t, ""))
	golden(t, "proof-broken", proofOf(t, "entry 7 does not follow from the one before it"))
}
