package daemon

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"antidotary/daemon/config"
	"antidotary/daemon/demo"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// paper is a house without mail that wants its week in a folder.
func paper(t *testing.T) Options {
	t.Helper()
	opt := Options{Config: config.Default(), Clock: func() time.Time { return morning }}
	opt.Config.Database = filepath.Join(t.TempDir(), "house.db")
	opt.Config.Listen = "127.0.0.1:0"
	opt.Config.WeekFolder = filepath.Join(t.TempDir(), "week")
	if err := record(t.Context(), opt, demo.Small(day.In(morning, time.UTC), day.Embedded())); err != nil {
		t.Fatal(err)
	}
	return opt
}

func weekFiles(t *testing.T, folder string) (sheet, calendar string) {
	t.Helper()
	files, err := os.ReadDir(folder)
	if err != nil || len(files) != 2 {
		t.Fatalf("in the folder: %v, %v", files, err)
	}
	for name, text := range map[string]*string{sheetFile: &sheet, calendarFile: &calendar} {
		file := filepath.Join(folder, name)
		info, err := os.Stat(file)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, others may read it", name, info.Mode())
		}
		got, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		*text = string(got)
	}
	return sheet, calendar
}

// TestEachSweepWritesTheWeek: by a daemon and by a single sweep, in the place
// of the files of before, whoever could read those.
func TestEachSweepWritesTheWeek(t *testing.T) {
	opt := paper(t)
	now := morning
	opt.Clock = func() time.Time { return now }
	if _, err := SweepOnce(t.Context(), opt); err != nil {
		t.Fatal(err)
	}
	sheet, calendar := weekFiles(t, opt.Config.WeekFolder)
	for _, want := range []string{words.NobodyTold, "Thornbury Lane collection", "Made</dt><dd>Wed 25 Nov 2026, 09:00 GMT", "journal entry"} {
		if !strings.Contains(sheet, want) {
			t.Errorf("%q is not on the sheet:\n%s", want, sheet)
		}
	}
	if !strings.Contains(calendar, "DTSTAMP:20261125T090000Z") {
		t.Errorf("the calendar:\n%s", calendar)
	}
	if err := os.Chmod(filepath.Join(opt.Config.WeekFolder, sheetFile), 0o644); err != nil {
		t.Fatal(err)
	}

	now = now.AddDate(0, 0, 1)
	d, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := d.Stop(t.Context()); err != nil {
		t.Error(err)
	}
	sheet, calendar = weekFiles(t, opt.Config.WeekFolder)
	if !strings.Contains(sheet, "Made</dt><dd>Thu 26 Nov 2026") || !strings.Contains(calendar, "DTSTAMP:20261126T090000Z") {
		t.Errorf("the next day's are not there:\n%s", sheet)
	}
}

// TestASweepGoesOnWithoutTheWeek: what cannot be written is logged, and no
// half file is left.
func TestASweepGoesOnWithoutTheWeek(t *testing.T) {
	opt := paper(t)
	var log lockedBuffer
	opt.Err = &log
	if err := os.WriteFile(opt.Config.WeekFolder, []byte("a file in its place"), 0o600); err != nil {
		t.Fatal(err)
	}
	swept, err := SweepOnce(t.Context(), opt)
	if err != nil || len(swept.Changes) == 0 {
		t.Errorf("%+v, %v", swept, err)
	}
	if !strings.Contains(log.String(), "those in the folder are old") {
		t.Errorf("the log does not tell:\n%s", log.String())
	}
}

// TestReplaceLeavesTheOldFileOrTheNew: where the new one cannot take its
// place, nothing else is left beside the old.
func TestReplaceLeavesTheOldFileOrTheNew(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "week.html")
	if err := os.MkdirAll(filepath.Join(file, "a folder"), 0o700); err != nil { // no file takes its place
		t.Fatal(err)
	}
	if err := replace(file, []byte("new")); err == nil {
		t.Error("a folder was replaced")
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) != 1 {
		t.Errorf("left: %v, %v", left, err)
	}
}

type lockedBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}
