package notify

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/message"
)

var update = flag.Bool("update", false, "write the golden files anew")

const mailID = "3f0c9a52-7d0b-4d7e-9a39-2f3b1f0a6a11"

var from = From{Name: "antidotary of Larkspur", Address: "watch@larkspur.example"}

func compose(t testing.TB, w *world, letter *Digest) message.Mail {
	t.Helper()
	m, err := Compose(letter, w.report, from, mailID, w.now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.Bytes(); err != nil {
		t.Fatal(err)
	}
	return m
}

func TestDigestsGolden(t *testing.T) {
	w := newWorld(t, rules(t))
	first := w.sweep()
	check := func(name, to string, out Outcome) {
		t.Helper()
		letter := letterOf(out, to)
		if letter == nil {
			t.Fatalf("%s: %s has no digest", name, to)
		}
		golden(t, name, compose(t, w, letter))
	}
	check("first-administrator", "Ada Quill", first)
	check("first-curator-elsewhere", "Dee Fenn", first)
	check("first-head-elsewhere", "Eli Roe", first)

	w.wait(dayLong) // the drill comes nearer, the renewal is filed and granted
	renewed := permit("SR-114", larkspur, day.Until(d("2030-09-30")))
	renewed.Applications = []compliance.Application{{Posted: d("2030-06-04"), Received: d("2030-06-05"), Decided: d("2030-06-05"), Outcome: compliance.Granted}}
	next := permit("SR-300", larkspur, day.Until(d("2033-09-30")))
	next.From, next.Renews = d("2030-10-01"), renewed.ID
	w.change(compliance.Record(renewed), compliance.Record(next),
		compliance.Record(inventory.Lot{ID: id("lot"), Product: serum.ID, Number: "K-7", Labelled: day.Until(d("2030-10-31")),
			Movements: []inventory.Movement{{On: d("2030-01-07"), Place: fridge.ID, Vials: 12, Reason: inventory.Received, Condition: inventory.Checked},
				{On: d("2030-06-05"), Place: fridge.ID, Vials: -5, Reason: inventory.Discarded, Condition: inventory.Checked}}}))
	second := w.sweep()
	check("second-administrator", "Ada Quill", second)
	check("second-curator", "Ben Ash", second)
	check("second-head", "Cyd Moor", second)

	w.wait(80 * dayLong) // the drill is missed, and 80 days went by without a sweep
	third := w.sweep()
	check("third-head", "Cyd Moor", third)

	w.wait(dayLong) // a paper is suspended; what was told before still stands
	suspended := permit("SR-200", wren, day.Until(d("2031-12-31")))
	suspended.Suspensions = []compliance.Suspension{{From: d("2030-08-20")}}
	w.change(compliance.Record(suspended))
	check("fourth-head-elsewhere", "Eli Roe", w.sweep())
}

func golden(t *testing.T, name string, m message.Mail) {
	t.Helper()
	for ext, got := range map[string]string{".txt": "Subject: " + m.Subject + "\n\n" + m.Text, ".html": m.HTML} {
		if got == "" {
			continue // a mail of text alone
		}
		file := filepath.Join("testdata", name+ext+".golden")
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("%s: -want +got (go test -update writes anew)\n%s", file, diff)
		}
	}
	for line := range strings.Lines(m.Text) {
		if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > textWidth {
			t.Errorf("%s: line of %d columns: %q", name, n, line)
		}
	}
}
