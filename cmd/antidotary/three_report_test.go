//go:build unix

package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// tally counts what was done, and what came of it.
type tally struct {
	starts, failedStarts, ends, kills, stops, holds, cuts, armed, terminated, mailFaults int
	attempted, committed, sweeps, mails, duplicates, unclear, told                       int
}

// wrong is what no daemon may ever say: a panic, and that only the database's
// own rules kept two of them apart.
var wrong = []string{"panicked", "panic:", "fatal error:", "it conflicts with what is recorded"}

// checkLogs reads what the daemons wrote.
func (w *trial) checkLogs() {
	for name, line := range w.lines {
		if slices.ContainsFunc(wrong, func(s string) bool { return strings.Contains(line, s) }) {
			w.t.Errorf("%s: %s", name, line)
		}
	}
}

// lines gives all lines of all logs, with their file's name.
func (w *trial) lines(yield func(name, line string) bool) {
	files, err := filepath.Glob(filepath.Join(w.t.ArtifactDir(), "*.log"))
	if err != nil {
		w.t.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			w.t.Fatal(err)
		}
		for line := range strings.Lines(string(text)) {
			if !yield(filepath.Base(file), strings.TrimSpace(line)) {
				return
			}
		}
	}
}

// troubles gives the errors of each daemon's last lines, for whoever reads why
// the test failed.
func (w *trial) troubles() string {
	var out []string
	for name, line := range w.lines {
		if !strings.Contains(line, "level=INFO") {
			out = append(out, name+": "+line)
		}
	}
	return strings.Join(out[max(0, len(out)-40):], "\n")
}

// report says what happened, and refuses a trial in which too little did.
func (w *trial) report() {
	n := w.tally
	fired := 0
	for _, c := range w.children {
		fired += c.proxy.Fired()
	}
	w.t.Logf("in %s, on clocks %d times as fast: %d starts (%d failed), %d ends, %d kills, %d stops, %d times no network, %d cuts of all, %d of %d cuts at a text, %d sessions ended, %d faults of the mail server",
		time.Since(w.began).Round(time.Second), speed, n.starts, n.failedStarts, n.ends, n.kills, n.stops, n.holds, n.cuts, fired, n.armed, n.terminated, n.mailFaults)
	w.t.Logf("%d of %d changes acknowledged, %d sweeps, %d mails, %d of them again (%d attempts unclear), %d reminders told",
		n.committed, n.attempted, n.sweeps, n.mails, n.duplicates, n.unclear, n.told)
	if n.kills < 3 || n.stops < 2 || n.cuts < 2 || fired < 1 || n.terminated < 3 || n.committed < 20 || n.sweeps < 2 || n.mails < 20 {
		w.t.Error("too little happened to learn anything")
	}
}
