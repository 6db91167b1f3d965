package notify

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/inventory"
)

const dayLong = 24 * time.Hour

func mentions(letter *Digest, requirement string) (out []Mention) {
	if letter == nil {
		return nil
	}
	for _, it := range letter.News {
		if it.Requirement == requirement && !slices.Contains(out, it.Mention) {
			out = append(out, it.Mention)
		}
	}
	return out
}

func TestTwoSweepsTellOnce(t *testing.T) {
	w := newWorld(t, rules(t))
	if out := w.sweep(); len(out.Digests) == 0 {
		t.Fatal("nobody was told of anything")
	}
	if out := w.sweep(); len(out.Digests) != 0 {
		t.Errorf("the second sweep of the instant made %d digests", len(out.Digests))
	}
	w.wait(dayLong)
	for _, letter := range w.sweep().Digests {
		t.Errorf("nothing changed, and %s is told of %d duties", letter.To.Called, len(letter.News))
	}
}

func TestNewsOfTodayWaitsForTomorrow(t *testing.T) {
	w := newWorld(t, rules(t))
	w.sweep()
	w.wait(time.Hour)
	revoked := permit("SR-200", wren, untilDay("2031-12-31"))
	revoked.Revoked = d("2030-06-03")
	w.change(compliance.Record(revoked))
	if letter := letterOf(w.sweep(), "Dee Fenn"); letter != nil {
		t.Fatal("two digests on one local day")
	}
	w.wait(dayLong)
	if got := mentions(letterOf(w.sweep(), "Dee Fenn"), "paper.keep"); !slices.Equal(got, []Mention{New}) {
		t.Errorf("the next day tells it as %v", got)
	}
}

func TestTheDayIsThePersonsOwn(t *testing.T) {
	w := newWorld(t, rules(t))
	out := w.sweep()
	for name, want := range map[string]string{"Ada Quill": "2030-06-04", "Dee Fenn": "2030-06-03"} {
		if letter := letterOf(out, name); letter == nil || letter.Day != d(want) {
			t.Errorf("%s: %+v, want a digest of %s", name, letter, want)
		}
	}
}

func TestDownTimeTellsOnce(t *testing.T) {
	w := newWorld(t, rules(t))
	w.sweep()
	w.wait(82 * dayLong) // past 30 % and past 7 days: 3 days before 28 August
	letter := letterOf(w.sweep(), "Ada Quill")
	if got := mentions(letter, "paper.keep"); !slices.Equal(got, []Mention{Nearer}) {
		t.Fatalf("told as %v", got)
	}
	told := make(map[int]int)
	for _, r := range letter.Reminders {
		if r.Key.Requirement == "paper.keep" {
			told[r.Threshold]++
		}
	}
	if diff := cmp.Diff(map[int]int{30: 14, 7: 14}, told); diff != "" {
		t.Errorf("written to the ledger: -want +got\n%s", diff)
	}
	w.wait(dayLong)
	if got := mentions(letterOf(w.sweep(), "Ada Quill"), "paper.keep"); got != nil {
		t.Errorf("the next day tells it again as %v", got)
	}
}

// renew records that the renewal of the cobras' paper was granted.
func (w *world) renew() {
	renewed := permit("SR-114", larkspur, untilDay("2030-09-30"))
	renewed.Applications = []compliance.Application{{Posted: d("2030-06-04"), Received: d("2030-06-04"), Decided: d("2030-06-04"), Outcome: compliance.Granted}}
	next := permit("SR-300", larkspur, untilDay("2033-09-30"))
	next.From, next.Renews = d("2030-10-01"), renewed.ID
	w.change(compliance.Record(renewed), compliance.Record(next))
}

func TestEndingsAreToldToWhoHeard(t *testing.T) {
	w := newWorld(t, rules(t))
	w.sweep()
	w.wait(time.Hour)
	w.renew()
	w.sweep() // today's digest is out; the ending waits
	w.wait(dayLong)
	out := w.sweep()
	letter := letterOf(out, "Ada Quill")
	if letter == nil || len(letter.Ended) != 14 || letter.Ended[0].How != compliance.Met {
		t.Fatalf("Ada Quill hears of %+v", letter)
	}
	for _, other := range out.Digests {
		if other.To.Called != "Ada Quill" && len(other.Ended) > 0 {
			t.Errorf("%s hears of the end of what nobody had told", other.To.Called)
		}
	}
	w.wait(dayLong)
	if letter := letterOf(w.sweep(), "Ada Quill"); letter != nil {
		t.Errorf("the end is told again: %+v", letter.Ended)
	}
}

func TestAnotherStepIsNoWorsening(t *testing.T) {
	w := newWorld(t, rules(t))
	w.sweep()
	w.wait(dayLong)
	posted := permit("SR-114", larkspur, untilDay("2030-09-30"))
	posted.Applications = []compliance.Application{{Posted: d("2030-06-05")}}
	w.change(compliance.Record(posted))
	if got := mentions(letterOf(w.sweep(), "Ada Quill"), "paper.keep"); !slices.Equal(got, []Mention{NextStep}) {
		t.Errorf("that the receipt is wanted now is told as %v", got)
	}
	w.wait(dayLong)
	posted.Suspensions = []compliance.Suspension{{From: d("2030-06-05")}}
	w.change(compliance.Record(posted))
	if got := mentions(letterOf(w.sweep(), "Ada Quill"), "paper.keep"); !slices.Equal(got, []Mention{Worse}) {
		t.Errorf("the suspension is told as %v", got)
	}
}

func TestWhatOpenedAgainHasNotEnded(t *testing.T) {
	w := newWorld(t, rules(t))
	drill := func(name, on string) compliance.Change {
		return compliance.Record(compliance.Activity{ID: id(name), What: "drill.escape", Subject: wren.Ref(), On: d(on), Passed: inventory.Yes})
	}
	w.sweep() // the drill was never done
	w.wait(time.Hour)
	w.change(drill("first", "2030-06-01"))
	w.sweep() // closed, and not told yet
	w.wait(time.Hour)
	w.change(compliance.Record(compliance.Activity{ID: id("first"), What: "drill.escape", Subject: wren.Ref(), On: d("2030-06-01"), Passed: inventory.No}))
	w.sweep() // it was a mistake: open again
	w.wait(dayLong)
	if letter := letterOf(w.sweep(), "Eli Roe"); letter != nil && len(letter.Ended) > 0 {
		t.Errorf("Eli Roe hears that %s ended, and it has not", letter.Ended[0].Title)
	}
}

func TestANewEpisodeIsNews(t *testing.T) {
	w := newWorld(t, rules(t))
	w.sweep()
	w.wait(dayLong)
	w.change(compliance.Record(compliance.Activity{ID: id("first"), What: "drill.escape", Subject: wren.Ref(), On: d("2030-06-01"), Passed: inventory.Yes}))
	w.sweep()
	w.wait(200 * dayLong)
	if got := mentions(letterOf(w.sweep(), "Eli Roe"), "drill.escape"); !slices.Equal(got, []Mention{New}) {
		t.Errorf("the second episode is told as %v", got)
	}
}

func TestWhoLeftHearsNothing(t *testing.T) {
	w := newWorld(t, rules(t))
	w.sweep()
	w.wait(dayLong)
	gone := people()[0]
	gone.Leaves = d("2030-06-05")
	w.change(compliance.Record(gone))
	w.renew() // what the person heard of ends
	for range 40 {
		for _, letter := range w.sweep().Digests {
			if letter.To.Called == gone.Called {
				t.Fatalf("a mail to somebody who left: %+v", letter)
			}
		}
		w.wait(dayLong)
	}
}

func TestNobodyIsTold(t *testing.T) {
	w := newWorld(t, rules(t))
	silent := org
	silent.Mailed = false
	w.change(compliance.Record(silent))
	if out := w.sweep(); !out.NobodyTold || len(out.Digests) > 0 {
		t.Errorf("a house without mail: nobody told %v, %d digests", out.NobodyTold, len(out.Digests))
	}
}

func TestUnreachable(t *testing.T) {
	w := newWorld(t, rules(t))
	out := w.sweep()
	if len(out.Unreachable) != 1 || out.Unreachable[0].Role != compliance.SafetyOfficer || out.Unreachable[0].Finding.Site != tern.ID {
		t.Fatalf("unreachable: %+v", out.Unreachable)
	}
	for _, name := range []string{"Ada Quill", "Eli Roe"} {
		if letter := letterOf(out, name); len(letter.Nobody) != 1 {
			t.Errorf("%s could mend that, and sees %d of it", name, len(letter.Nobody))
		}
	}
	w.wait(90 * dayLong)
	if letter := letterOf(w.sweep(), "Ben Ash"); letter == nil || len(letter.Nobody) != 0 {
		t.Errorf("the curator: %+v", letter)
	}
}

// TestTwoEndingsOfOneDay: a duty that was met, found not to be, and met again
// within a day has two episodes whose reminders are named alike. Each is told
// once, or the ledger would refuse the whole sweep.
func TestTwoEndingsOfOneDay(t *testing.T) {
	w := newWorld(t, rules(t))
	drill := func(passed inventory.Tri) compliance.Change {
		return compliance.Record(compliance.Activity{ID: id("first"), What: "drill.escape", Subject: wren.Ref(), On: d("2030-06-01"), Passed: passed})
	}
	w.sweep() // the drill was never done
	w.wait(dayLong)
	for _, passed := range []inventory.Tri{inventory.Yes, inventory.No, inventory.Yes, inventory.No, inventory.Yes} {
		w.change(drill(passed))
		w.sweep()
		w.wait(time.Minute)
	}
	for range 3 {
		w.wait(dayLong)
		out := w.sweep()
		for _, letter := range out.Digests {
			seen := make(map[Reminder]bool)
			for _, r := range letter.Reminders {
				if seen[r] {
					t.Fatalf("%s would be told twice: %+v", letter.To.Called, r)
				}
				seen[r] = true
			}
		}
	}
}
