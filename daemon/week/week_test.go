package week

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/deploy"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

var update = flag.Bool("update", false, "write the golden files anew")

var now = time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC)

func london(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// judged judges a demo house.
func judged(t testing.TB, house func(day.Day, *day.Holidays) compliance.Batch, at time.Time, and ...compliance.Change) *compliance.Report {
	t.Helper()
	book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		t.Fatal(err)
	}
	batch := house(day.In(now, time.UTC), book.Holidays)
	s, err := append(batch, and...).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	s.Pulse.Swept = at
	return compliance.Evaluate(book, s, compliance.Ask{Now: at})
}

func made(t testing.TB, at time.Time) Made {
	return Made{At: at, Zone: london(t), Entry: 412, NobodyTold: true}
}

func written(t testing.TB, w *Week) (sheet, calendar string) {
	t.Helper()
	var s, c bytes.Buffer
	if err := w.WriteSheet(&s); err != nil {
		t.Fatal(err)
	}
	if err := w.WriteCalendar(&c); err != nil {
		t.Fatal(err)
	}
	return s.String(), c.String()
}

func TestWeekGolden(t *testing.T) {
	sheet, calendar := written(t, Of(judged(t, demo.Small, now), made(t, now)))
	for name, got := range map[string]string{"week.html.golden": sheet, "duties.ics.golden": calendar} {
		file := filepath.Join("testdata", name)
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
}

// TestNothingThatNeedsSomebodyIsLost: every duty that needs somebody is in one
// task, and every task is on the sheet or, if it is due later, in the calendar.
func TestNothingThatNeedsSomebodyIsLost(t *testing.T) {
	for name, house := range map[string]func(day.Day, *day.Holidays) compliance.Batch{"full": demo.House, "small": demo.Small} {
		t.Run(name, func(t *testing.T) {
			r := judged(t, house, now)
			w := Of(r, made(t, now))
			placed := slices.Concat(w.Now, w.Unknown, w.Later)
			for _, d := range w.Days {
				for _, task := range d.Tasks {
					if task.Step.By != d.On {
						t.Errorf("%s is due on %s and stands at %s", task.Names, task.Step.By, d.On)
					}
				}
				placed = append(placed, d.Tasks...)
			}
			count := 0
			for _, task := range placed {
				count += task.Count
			}
			want := 0
			for _, j := range r.Judgements {
				f, needed := r.Finding(j)
				if !needed {
					continue
				}
				want++
				if !slices.ContainsFunc(placed, func(task Task) bool {
					return task.of == ofStep(&f) && task.Standing == f.Verdict.Standing && task.State == f.Verdict.State
				}) {
					t.Errorf("%v is in no task", f.Key)
				}
			}
			if count != want || want == 0 {
				t.Errorf("%d duties in tasks, %d need somebody", count, want)
			}
			for _, task := range w.Later {
				if task.Step.By <= w.Until || task.Standing == compliance.CannotTell {
					t.Errorf("%s is not for later: %+v", task.Names, task.Step)
				}
			}
		})
	}
}

// TestSheetSaysWhatMustStayVisible: whoever finds the sheet sees whether it
// can still be trusted.
func TestSheetSaysWhatMustStayVisible(t *testing.T) {
	r := judged(t, demo.House, now)
	w := Of(r, made(t, now))
	w.MailHeld = "restored"
	sheet, calendar := written(t, w)
	for _, want := range []string{words.NobodyTold, "MAIL IS HELD, AND NOBODY IS BEING TOLD: restored", "Cannot be told", "Unknown is not in order",
		"older than a week and NOBODY IS WATCHING", "Wed 25 Nov 2026, 09:00 GMT (&#43;00:00)", "journal entry 412", "By the end of Tue 1 Dec 2026",
		words.Caution, "Not watched:", `class="box"`, "done on", "size: A4"} {
		if !strings.Contains(sheet, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
	flat := strings.NewReplacer("\r\n ", "", `\,`, ",", `\n`, " ").Replace(calendar)
	for _, want := range []string{words.NobodyTold, "MAIL IS HELD", "NOBODY IS WATCHING", "What has ended is not in this file any more", "journal entry 412", words.Caution} {
		if !strings.Contains(flat, want) {
			t.Errorf("%q is not in the calendar", want)
		}
	}
	if bad := regexp.MustCompile(`(?i)<script|<img|<link|src=|href=|url\(|@import|https?:`).FindString(sheet); bad != "" {
		t.Errorf("the sheet loads or runs something: %q", bad)
	}
	w.NobodyTold, w.MailHeld = false, ""
	if sheet, calendar = written(t, w); strings.Contains(sheet+calendar, words.NobodyTold) {
		t.Error("a house with mail says that nobody is told")
	}
}

// TestASheetForAnotherDaySaysSo: it is too old a week after it was made, not
// after the week that it is about.
func TestASheetForAnotherDaySaysSo(t *testing.T) {
	on := now.AddDate(0, 0, 30)
	w := Of(judged(t, demo.Small, on), made(t, now))
	sheet, calendar := written(t, w)
	for _, want := range []string{"This was made on Wed 25 Nov 2026 for another day", "If it is after Tue 1 Dec 2026", "week from Fri 25 Dec 2026"} {
		if !strings.Contains(sheet, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
	if !strings.Contains(calendar, "DTSTART;VALUE=DATE:20261202\r\n") {
		t.Error("the calendar does not say when it is too old")
	}
	if w = Of(judged(t, demo.Small, now), made(t, now)); w.OtherDay() != "" {
		t.Errorf("a sheet for today: %s", w.OtherDay())
	}
}

// TestNamesCannotBreakTheSheet: they are text, whatever they hold.
func TestNamesCannotBreakTheSheet(t *testing.T) {
	w := &Week{Made: made(t, now), House: `</title><script>alert("x")</script>`, From: day.In(now, time.UTC), Until: day.In(now, time.UTC).Add(6)}
	w.Unwatched = []Unwatched{{Name: `<b onclick="x">`, By: "&amp;", Why: `</style>`}}
	if sheet, _ := written(t, w); strings.Contains(sheet, "<script") || strings.Contains(sheet, "<b onclick") || strings.Count(sheet, "</style>") != 1 {
		t.Errorf("a name became markup:\n%s", sheet)
	}
}

// TestWhoeverHoldsTheRoleIsNamed: also whoever cannot be mailed, and that
// nobody does.
func TestWhoeverHoldsTheRoleIsNamed(t *testing.T) {
	r := judged(t, demo.Small, now)
	if got := whose(r, compliance.Head, inventory.ID{}); got != "head of collection: Hester Nettlecombe" {
		t.Errorf("the head: %s", got)
	}
	if got := whose(r, compliance.Trainee, inventory.ID{}); !strings.Contains(got, "NOBODY holds this role") {
		t.Errorf("a role that nobody holds: %s", got)
	}
}
