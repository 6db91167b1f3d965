package answer

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"antidotary/compliance"
	"antidotary/daemon/demo"
	"antidotary/deploy"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

var (
	noon    = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC) // the same day at each site of the demo
	today   = day.MustParse("2026-11-25")
	horizon = day.MustParse("2027-12-31")
)

// house is the demo house, with more records where a test wants them.
func house(t testing.TB, more ...compliance.Change) (*compliance.Rulebook, *compliance.Snapshot) {
	t.Helper()
	book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		t.Fatal(err)
	}
	s, err := append(demo.House(today, book.Holidays), more...).Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	s.Pulse.Swept = noon
	return book, s
}

func asked(t testing.TB, on day.Day, a inventory.Assumptions, more ...compliance.Change) *compliance.Report {
	t.Helper()
	book, s := house(t, more...)
	return compliance.Evaluate(book, s, compliance.Ask{Now: noon, On: on, Until: horizon, Assumptions: a})
}

var assumptions = map[string]inventory.Assumptions{
	"nothing is done":     {},
	"plans come true":     {Plans: true},
	"the routine goes on": {Routine: true},
	"both":                {Plans: true, Routine: true},
}

// duty names one duty across two answers.
type duty struct{ requirement, subject, occurrence string }

func (t Turn) duty() duty { return duty{t.Requirement, t.Subject, t.Occurrence} }

// bad gives each duty that a check tells is not in order.
func bad(c *Check) map[duty]compliance.Standing {
	out := make(map[duty]compliance.Standing)
	for _, it := range c.Items {
		if it.Standing.Bad() {
			out[duty{it.Requirement, it.Subject, it.Occurrence}] = it.Standing
		}
	}
	return out
}

// What ahead says of a day, a check as of that day says too: ahead's turns,
// replayed from today's check, give every later check. A check knows nothing
// of a routine between today and its day, so that is not assumed here; and
// only a yearly duty may be asked for on the one day and not on the other.
func TestCheckOfADayIsWhatAheadSaidOfIt(t *testing.T) {
	for _, name := range []string{"nothing is done", "plans come true"} {
		t.Run(name, func(t *testing.T) {
			book, s := house(t)
			ask := compliance.Ask{Now: noon, Until: horizon, Assumptions: assumptions[name]}
			r := compliance.Evaluate(book, s, ask)
			turns := NewAhead(r, horizon).Turns
			want, changes := bad(NewCheck(r)), 0
			for d := today; d < today.Add(366); d = d.Add(3) {
				for len(turns) > 0 && turns[0].On <= d {
					if turns[0].To.Bad() {
						want[turns[0].duty()] = turns[0].To
					} else {
						delete(want, turns[0].duty())
					}
					turns, changes = turns[1:], changes+1
				}
				ask.On = d
				of := compliance.Evaluate(book, s, ask)
				ahead, check := onlyShared(t, want, of), onlyShared(t, bad(NewCheck(of)), r)
				if diff := gocmp.Diff(ahead, check, gocmp.AllowUnexported(duty{})); diff != "" {
					t.Fatalf("on %s (-ahead +check):\n%s", d, diff)
				}
			}
			if changes < 20 {
				t.Errorf("only %d turns in a year: the house shows too little", changes)
			}
		})
	}
}

// onlyShared leaves out the duties that the other report does not make.
func onlyShared(t *testing.T, of map[duty]compliance.Standing, other *compliance.Report) map[duty]compliance.Standing {
	t.Helper()
	made := make(map[duty]bool)
	for _, j := range other.Judgements {
		made[duty{j.Key.Requirement, j.Key.Subject.String(), j.Key.Occurrence}] = true
	}
	out := make(map[duty]compliance.Standing)
	for d, standing := range of {
		switch {
		case made[d]:
			out[d] = standing
		case d.occurrence == "":
			t.Fatalf("%v is asked for on one day and not on the other, and is not yearly", d)
		}
	}
	return out
}

// A duty's turns hang together: each begins with what the one before left,
// on a later day, and the first with what a check says today.
func TestTurnsHangTogether(t *testing.T) {
	for name, assumed := range assumptions {
		t.Run(name, func(t *testing.T) {
			r := asked(t, 0, assumed)
			a := NewAhead(r, horizon)
			now := bad(NewCheck(r))
			last := make(map[duty]Turn)
			for _, turn := range a.Turns {
				before, known := last[turn.duty()]
				switch {
				case turn.From == turn.To:
					t.Errorf("%s of %s turns on %s and stays %s", turn.Requirement, turn.Name, turn.On, turn.To)
				case turn.On <= today || turn.On > horizon:
					t.Errorf("%s of %s turns on %s, outside the question", turn.Requirement, turn.Name, turn.On)
				case known && (turn.From != before.To || turn.On <= before.On):
					t.Errorf("%s of %s: %s on %s follows %s on %s", turn.Requirement, turn.Name, turn.From, turn.On, before.To, before.On)
				case !known && turn.From.Bad() && now[turn.duty()] != turn.From, !known && !turn.From.Bad() && now[turn.duty()] != 0:
					t.Errorf("%s of %s turns from %s, and is %s today", turn.Requirement, turn.Name, turn.From, now[turn.duty()])
				}
				last[turn.duty()] = turn
			}
		})
	}
}

func TestTurnsComeInOrder(t *testing.T) {
	a := NewAhead(asked(t, 0, inventory.Assumptions{}), horizon)
	sorted := slices.IsSortedFunc(a.Turns, func(x, y Turn) int { return cmp.Or(cmp.Compare(x.On, y.On), cmp.Compare(y.To, x.To)) })
	if !sorted || len(a.Turns) < 50 {
		t.Errorf("%d turns, by day and the worst first: %t", len(a.Turns), sorted)
	}
}

// The first lapse is the first day on which anything leaves in order, whether
// for out of order or for cannot tell.
func TestFirstLapse(t *testing.T) {
	for name, assumed := range assumptions {
		r := asked(t, 0, assumed)
		var want day.Day
		for _, j := range r.Judgements {
			for d := today + 1; d <= horizon; d++ {
				was, _ := j.At(d - 1)
				is, _ := j.At(d)
				if was.Standing == compliance.InOrder && is.Standing.Bad() && (want == 0 || d < want) {
					want = d
				}
			}
		}
		if got := NewAhead(r, horizon).FirstLapse; got != want || want == 0 {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
}

func TestNothingLapsesInAnEmptyQuestion(t *testing.T) {
	a := NewAhead(asked(t, 0, inventory.Assumptions{}), today)
	if !a.FirstLapse.IsZero() || a.Turns == nil || len(a.Turns) != 0 {
		t.Errorf("first lapse %s, %d turns", a.FirstLapse, len(a.Turns))
	}
	if text := written(t, a); !strings.Contains(text, "nothing changes") {
		t.Errorf("the text is\n%s", text)
	}
}

// What prevents a turn is the step that its own cause asks for: a stale list
// is confirmed, whatever else is to be done about the duty one day.
func TestWhatPreventsATurn(t *testing.T) {
	found := make(map[compliance.Code]int)
	for _, turn := range NewAhead(asked(t, 0, inventory.Assumptions{}), horizon).Turns {
		if !turn.To.Bad() {
			continue
		}
		found[turn.State]++
		want, fixed := map[compliance.Code]compliance.Code{
			compliance.ListStale:  compliance.ConfirmList,
			compliance.OverNumber: compliance.ReduceNumber,
			compliance.Overdue:    compliance.HoldActivity,
		}[turn.State]
		if fixed && (turn.Step == nil || turn.Step.Do != want) {
			t.Fatalf("on %s %s of %s is %s: the step is %+v, want %s", turn.On, turn.Requirement, turn.Name, turn.State, turn.Step, want)
		}
	}
	for _, state := range []compliance.Code{compliance.ListStale, compliance.Overdue} {
		if found[state] == 0 {
			t.Errorf("nothing becomes %s: %v", state, slices.Collect(maps.Keys(found)))
		}
	}
}

// Planned gains are believed only where that is asked for; planned losses
// always, and then they are told with their day.
func TestAPlannedArrivalIsTold(t *testing.T) {
	a := NewAhead(asked(t, 0, inventory.Assumptions{Routine: true}), horizon)
	arrives := today.Add(75)
	var names []string
	for _, turn := range a.Turns {
		if turn.On == arrives && turn.State == compliance.OverNumber {
			names = append(names, turn.Name)
		}
	}
	slices.Sort(names)
	if diff := gocmp.Diff([]string{"animal WC-013", "animal WC-014"}, names); diff != "" {
		t.Errorf("over number on %s (-want +got):\n%s", arrives, diff)
	}
}
