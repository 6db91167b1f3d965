package intake

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// staffed is the recorded house with three people.
func staffed(t testing.TB) *compliance.Snapshot {
	t.Helper()
	was := recorded(t)
	var batch compliance.Batch
	for s := range was.Sites.All() {
		for _, name := range []string{"Ivo Marsh", "Odo Fern", "Ada Fern"} {
			batch = append(batch, compliance.Record(compliance.Person{ID: inventory.NewID(), Called: name, Site: s.ID}))
		}
	}
	after, err := batch.Apply(was)
	if err != nil {
		t.Fatal(err)
	}
	return after
}

const logHead = "date,trainee,mentor,species,animals,task,results,clean,prompted,stopped,from,to,signed,unsafe,note\n"

func logged(t testing.TB, was *compliance.Snapshot, rows ...string) *Plan {
	t.Helper()
	return planned(t, folder(t, map[string]string{"sessions.csv": logHead + strings.Join(rows, "\n") + "\n"}), was, later())
}

func personNamed(t testing.TB, s *compliance.Snapshot, name string) inventory.ID {
	t.Helper()
	for p := range s.People.All() {
		if p.Called == name {
			return p.ID
		}
	}
	t.Fatalf("%s is not recorded", name)
	return inventory.ID{}
}

// only gives the one session of a snapshot.
func only(t testing.TB, s *compliance.Snapshot) ladder.Session {
	t.Helper()
	if s.Sessions.Len() != 1 {
		t.Fatalf("%d sessions", s.Sessions.Len())
	}
	for x := range s.Sessions.All() {
		return *x
	}
	panic("there is one")
}

func utc(t testing.TB, text string) time.Time {
	t.Helper()
	if text == "" {
		return time.Time{}
	}
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// TestSessionCells: what each cell means.
func TestSessionCells(t *testing.T) {
	was := staffed(t)
	ivo, odo := personNamed(t, was, "Ivo Marsh"), personNamed(t, was, "Odo Fern")
	a1 := animalCalled(t, was, "A1")
	base := ladder.Session{Trainee: ivo, Mentor: odo, Watched: inventory.Yes, Species: a1.Species, Level: ladder.Hook, On: day.MustParse("2026-11-20")}
	for s := range was.Sites.All() {
		base.Site = s.ID
	}
	for _, c := range []struct {
		name, row string
		want      func(*ladder.Session)
	}{
		{"little is known", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,,,", func(*ladder.Session) {}},
		{"everything", "20 Nov 2026,Ivo Marsh,Odo Fern,Naja kaouthia,A1,HOOK,\"C, c p\",,,,10:00,2:30 pm,2026-11-20 17:30,no,calm", func(s *ladder.Session) {
			s.Animals, s.Results, s.Unsafe, s.Note = []inventory.ID{a1.ID}, "ccp", inventory.No, "calm"
			s.Begun, s.Ended, s.Signed = utc(t, "2026-11-20T10:00:00Z"), utc(t, "2026-11-20T14:30:00Z"), utc(t, "2026-11-20T17:30:00Z")
		}},
		{"nobody knows who watched", "2026-11-20,Ivo Marsh,?,Naja kaouthia,,hook,,,,,,,,,", func(s *ladder.Session) { s.Mentor, s.Watched = inventory.ID{}, inventory.Unknown }},
		{"alone", "2026-11-20,Ivo Marsh,Alone,Naja kaouthia,,look,,,,,,,,,", func(s *ladder.Session) { s.Mentor, s.Watched, s.Level = inventory.ID{}, inventory.No, ladder.Look }},
		{"nobody", "2026-11-20,Ivo Marsh,nobody,Naja kaouthia,,hook,,,,,,,no,,", func(s *ladder.Session) { s.Mentor, s.Watched = inventory.ID{}, inventory.No }},
		{"counts: the worst last", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,3,1,2,,,,,", func(s *ladder.Session) { s.Results = "cccpss" }},
		{"letters that agree with counts", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,scc,2,0,1,,,,,", func(s *ladder.Session) { s.Results = "scc" }},
		{"signed on a day: its end", "2026-10-24,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,2026-10-24,,", func(s *ladder.Session) {
			s.On, s.Signed = day.MustParse("2026-10-24"), utc(t, "2026-10-24T22:59:59Z") // summer time
		}},
		{"signed today: not later than now", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,2026-11-25,,", func(s *ladder.Session) { s.Signed = utc(t, "2026-11-25T12:00:00Z") }},
		{"past midnight", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,23:30,2026-11-21 00:15,,yes,", func(s *ladder.Session) {
			s.Begun, s.Ended, s.Unsafe = utc(t, "2026-11-20T23:30:00Z"), utc(t, "2026-11-21T00:15:00Z"), inventory.Yes
		}},
		{"the second time of two", "2026-10-25,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,2026-10-25T01:30+00:00,,,,", func(s *ladder.Session) {
			s.On, s.Begun = day.MustParse("2026-10-25"), utc(t, "2026-10-25T01:30:00Z")
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := logged(t, was, c.row)
			wantFates(t, p, map[Fate]int{New: 1})
			want := base
			c.want(&want)
			got := only(t, applied(t, p, was))
			want.ID = got.ID
			if diff := cmp.Diff(want, got); diff != "" {
				t.Error(diff)
			}
			if ids := p.Sessions(); len(ids) != 1 || ids[0] != got.ID {
				t.Errorf("the plan names %v", ids)
			}
		})
	}
}

// TestBadSessions: each is refused at its cell, with what is allowed.
func TestBadSessions(t *testing.T) {
	was := staffed(t)
	for _, c := range []struct{ name, row, want string }{
		{"a mistyped mentor", "2026-11-20,Ivo Marsh,Odo Fer,Naja kaouthia,,hook,,,,,,,,,", `sessions.csv:2:22: mentor: "Odo Fer" is not a recorded person; did you mean "Odo Fern"`},
		{"a mentor whom nobody knows", "2026-11-20,Ivo Marsh,Zelda Quince,Naja kaouthia,,hook,,,,,,,,,", `mentor: "Zelda Quince" is not a recorded person; record the person first: antidotary person joined NAME`},
		{"no trainee", "2026-11-20,,Odo Fern,Naja kaouthia,,hook,,,,,,,,,", `sessions.csv:2:12: trainee: is blank`},
		{"for himself", "2026-11-20,Ivo Marsh,Ivo Marsh,Naja kaouthia,,hook,,,,,,,,,", `sessions.csv:2:22: mentor: must be somebody else than the trainee`},
		{"a species that is not recorded", "2026-11-20,Ivo Marsh,Odo Fern,N. kaouthia,,hook,,,,,,,,,", `species: "N. kaouthia" is not a recorded species; did you mean "Naja kaouthia"`},
		{"no date", ",Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,,,", `sessions.csv:2:1: date: is blank`},
		{"a date both ways", "03/02/2026,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,,,", `date: "03/02/2026" may be 2026-02-03 or 2026-03-02`},
		{"a date with a time", "2026-11-20 10:00,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,,,", `date: "2026-11-20 10:00" has a time of day; write that in the column from`},
		{"a day to come", "2026-11-26,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,,,", `is after today, 2026-11-25`},
		{"no task", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,,,,,,,,,,", `task: is blank`},
		{"an unknown task", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,juggle,,,,,,,,,", `task: "juggle" is not allowed; allowed: look, closed, hook, tube, restrain, extract, pack, recapture`},
		{"an unknown result", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,ccx,,,,,,,,", `results: "ccx" is not allowed; a letter for each repetition`},
		{"letters against counts", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,ccp,3,0,0,,,,,", `results: "ccp" does not agree with the columns clean`},
		{"half a count", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,3,,0,,,,,", `prompted: is blank beside the others; 0 is required where there was none`},
		{"about four", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,~4,0,0,,,,,", `clean: "~4" is an estimate`},
		{"more than a session has", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,5000,0,0,,,,,", `clean: 5000 is more than a session has`},
		{"an animal of another species", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,A2,hook,,,,,,,,,", `animals: A2 is Vipera berus; a row for each species is required`},
		{"an animal that was not here", "2024-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,A1,hook,,,,,,,,,", `animals: A1 arrived on 2025-01-05, after the session`},
		{"an animal that is not recorded", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,A7,hook,,,,,,,,,", `animals: "A7" is not a recorded animal`},
		{"half past two, some time", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,2:30,,,,", `from: "2:30" is no time; it may be 02:30 or 14:30`},
		{"no time", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,noon,,,,", `from: "noon" is no time; a time by the clock of the site is required`},
		{"a time that comes twice", "2026-10-25,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,01:30,,,,", `from: "01:30" comes twice on 2026-10-25 by the change of the clock in Europe/London; write which one, 2026-10-25T01:30:00+01:00 or 2026-10-25T01:30:00Z`},
		{"a time that never was", "2026-03-29,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,01:30,,,,", `from: "01:30" is left out on 2026-03-29 by the change of the clock`},
		{"another day", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,2026-11-19 10:00,,,,", `from: is on 2026-11-19 by the clock of the site, and date says 2026-11-20`},
		{"an end before the beginning", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,23:30,00:15,,,", `to: is before it began; where that was after midnight, the day is required with it`},
		{"all day and night", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,06:00,23:30,,,", `to: must be within 16 hours`},
		{"an end to come", "2026-11-25,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,11:00,13:00,,,", `to: 2026-11-25T13:00:00Z is to come`},
		{"signed, nobody says when", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,yes,,", `signed: "yes" does not say when the mentor signed`},
		{"signed at a time of no day", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,17:30,,", `signed: "17:30" does not say on which day`},
		{"signed too early", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,10:00,11:00,2026-11-20 10:30,,", `signed: 2026-11-20T10:30:00Z is before the session was over`},
		{"signed the day before", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,2026-11-18,,", `signed: must not be before the session`},
		{"signed tomorrow", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,2026-11-26,,", `signed: 2026-11-26 is after today`},
		{"signed by nobody", "2026-11-20,Ivo Marsh,alone,Naja kaouthia,,hook,,,,,,,2026-11-20,,", `signed: is given, and mentor says that nobody watched`},
		{"unsafe, perhaps", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,,maybe,", `unsafe: "maybe" is not allowed; allowed: yes, no`},
		{"a failed formula", "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,#REF!,0,0,,,,,", `clean: "#REF!" is a formula that failed`},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := logged(t, was, c.row)
			if got := told(p); !strings.Contains(got, c.want) {
				t.Errorf("told: %s\nwant: %s", got, c.want)
			}
			wantFates(t, p, map[Fate]int{Refused: 1})
			if len(p.Batch) > 0 || len(p.Sessions()) > 0 {
				t.Error("a refused row makes a change")
			}
		})
	}
	p := planned(t, folder(t, map[string]string{"log.csv": "date,trainee,species,task\n2026-11-20,Ivo Marsh,Naja kaouthia,hook\n"}), was, Settings{Now: noon})
	wantFates(t, p, map[Fate]int{New: 1}) // at the trainee's own site
}

// TestSessionsAgain: a session is known again, and never recorded twice.
func TestSessionsAgain(t *testing.T) {
	const timed = "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,ccp,,,,10:00,,,,"
	const untimed = "2026-11-19,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,,,,,,,,,"
	const unwatched = "2026-11-18,Ivo Marsh,,Naja kaouthia,,hook,,,,,10:00,,2026-11-19,,"
	house := staffed(t)
	p := logged(t, house, timed, untimed, unwatched)
	wantFates(t, p, map[Fate]int{New: 3})
	was := applied(t, p, house)
	for _, c := range []struct {
		name, row string
		fate      Fate
		diff      string
	}{
		{"the same", timed, Same, ""},
		{"the same without a time", untimed, Same, ""},
		{"the same, unwatched", unwatched, Same, ""},
		{"another time", strings.Replace(timed, "10:00", "11:00", 1), New, ""},
		{"another mentor of no known time", strings.Replace(untimed, "Odo", "Ada", 1), New, ""},
		{"another species", strings.Replace(untimed, "Naja kaouthia", "Vipera berus", 1), New, ""},
		{"signed since", strings.Replace(timed, "10:00,,", "10:00,,2026-11-21 09:00", 1), Changed, "signed:  -> 2026-11-21T09:00:00Z"},
		{"another task", strings.Replace(timed, "hook", "look", 1), Changed, "task: hook -> look"},
		{"other results", strings.Replace(timed, "ccp", "cps", 1), Changed, "results: ccp -> cps"},
		{"an animal", strings.Replace(timed, ",,hook", ",A1,hook", 1), Changed, "animals:  -> A1"},
		{"the mentor became known", strings.Replace(unwatched, "Marsh,,", "Marsh,Odo Fern,", 1), Changed, "mentor:  -> Odo Fern"},
		{"nobody watched, it turned out, although it is signed", strings.Replace(unwatched, "Marsh,,", "Marsh,alone,", 1), Refused, "signed: is given, and mentor says that nobody watched"},
		{"the day of a signature with its time", strings.Replace(unwatched, "2026-11-19", "2026-11-19 08:00", 1), Refused, "signed: 2026-11-19T23:59:59Z is recorded for this session"},
		{"another mentor at that time", strings.Replace(timed, "Odo", "Ada", 1), Refused, "mentor: Odo Fern is recorded for this session"},
		{"nobody knows what is recorded", strings.Replace(timed, "ccp", "?", 1), Refused, `results: "?" says that nobody knows, but ccp is recorded`},
		{"nobody knows who is recorded", strings.Replace(timed, "Odo Fern", "?", 1), Refused, `mentor: "?" says that nobody knows, but Odo Fern is recorded`},
		{"perhaps the one without a time", strings.Replace(untimed, ",hook,,,,,,", ",hook,,,,,09:00,", 1), Refused, "date: a session of that day is recorded that may be this one: from is not known, mentor Odo Fern"},
		{"perhaps the one with a time", strings.Replace(timed, "10:00", "", 1), Refused, "may be this one: from 10:00:00, mentor Odo Fern"},
		{"perhaps the one with a mentor", strings.Replace(untimed, "Odo Fern", "", 1), Refused, "may be this one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := logged(t, was, c.row)
			wantFates(t, p, map[Fate]int{c.fate: 1})
			e := p.Entries[0]
			switch c.fate {
			case Refused:
				if !strings.Contains(told(p), c.diff) {
					t.Errorf("told %s; want %s", told(p), c.diff)
				}
				return
			case Changed:
				if len(e.Diffs) != 1 || e.Diffs[0].Field+": "+e.Diffs[0].Old+" -> "+e.Diffs[0].New != c.diff {
					t.Errorf("differences %v; want %s", e.Diffs, c.diff)
				}
			}
			if len(p.Sessions()) != 1 {
				t.Errorf("the plan names %d sessions", len(p.Sessions()))
			}
			if again := logged(t, applied(t, p, was), c.row); len(again.Batch) > 0 {
				t.Errorf("the same once more makes %d changes", len(again.Batch))
			}
		})
	}
	if p := logged(t, was, timed); len(p.Assumed) != 1 || p.Assumed[0] != "2 recorded sessions are in no row: they stay as they are recorded." {
		t.Errorf("assumed %q", p.Assumed)
	}
	// The day of a signature alone is the one that is recorded with its time.
	signed := applied(t, logged(t, was, strings.Replace(timed, "10:00,,", "10:00,,2026-11-21 09:00", 1)), was)
	wantFates(t, logged(t, signed, strings.Replace(timed, "10:00,,", "10:00,,2026-11-21", 1)), map[Fate]int{Same: 1})
}

// TestSessionsGivenTwice: neither row is taken, for they would count twice.
func TestSessionsGivenTwice(t *testing.T) {
	was := staffed(t)
	const row = "2026-11-19,Ivo Marsh,Odo Fern,Naja kaouthia,,hook,ccc,,,,,,,,"
	p := logged(t, was, row, strings.Replace(row, "ccc", "cp", 1), strings.Replace(row, "Odo", "Ada", 1))
	wantFates(t, p, map[Fate]int{New: 1, Refused: 2})
	for _, want := range []string{"sessions.csv:2:1: date: the session stands here and at sessions.csv:3:1", "sessions.csv:3:1: date: the session stands here and at sessions.csv:2:1", "write when each began"} {
		if !strings.Contains(told(p), want) {
			t.Errorf("not told: %s\n%s", want, told(p))
		}
	}
	at := func(from, mentor string) string {
		return "2026-11-19,Ivo Marsh," + mentor + ",Naja kaouthia,,hook,ccc,,,," + from + ",,,,"
	}
	wantFates(t, logged(t, was, at("10:00", "Odo Fern"), at("11:00", "Odo Fern")), map[Fate]int{New: 2})
	wantFates(t, logged(t, was, at("10:00", "Odo Fern"), at("10:00", "Ada Fern")), map[Fate]int{Refused: 2})
}

// TestSessionsBesideAnimals: animals of the same source can be handled, and
// those of refused rows cannot.
func TestSessionsBesideAnimals(t *testing.T) {
	was := staffed(t)
	p := planned(t, folder(t, map[string]string{
		"animals.csv":  "accession,species,arrived\nA8,Naja kaouthia,2026-01-05\nA9,Naja kaouthia,soon\n",
		"sessions.csv": "date,trainee,species,animals,task\n2026-11-20,Ivo Marsh,Naja kaouthia,A8,hook\n2026-11-21,Ivo Marsh,Naja kaouthia,A8; A9,hook\n",
	}), was, later())
	wantFates(t, p, map[Fate]int{New: 2, Refused: 2})
	after := applied(t, p, was)
	if s := only(t, after); len(s.Animals) != 1 || s.Animals[0] != animalCalled(t, after, "A8").ID {
		t.Errorf("%+v", s)
	}
	if !strings.Contains(told(p), `the row of animal "A9" was refused, so this one is too`) {
		t.Error(told(p))
	}
}

// TestSessionsOfAWorkbook: times that a spreadsheet keeps as parts of a day.
func TestSessionsOfAWorkbook(t *testing.T) {
	was := staffed(t)
	f := excelize.NewFile()
	defer f.Close()
	const sheet = "Training log"
	sheetOf(t, f, sheet, map[string]any{"A1": "WHO HANDLED WHAT", "A2": "Day", "B2": "Keeper", "C2": "Supervisor", "D2": "Latin name", "E2": "Level", "F2": "Start", "G2": "End", "H2": "Mentor signed", "I2": "Result", "J2": "Animal",
		"B3": "Ivo Marsh", "C3": "Odo Fern", "D3": "Naja kaouthia", "E3": "tube", "I3": "cc", "J3": "A1",
		"A4": "2026-11-20", "B4": "Ivo Marsh", "C4": "Odo Fern", "D4": "Naja kaouthia", "E4": "juggle"})
	dated(t, f, sheet, "A3", 46346, "dd/mm/yyyy") // 20 November 2026: 45429 is 17 May 2024, 917 days before
	dated(t, f, sheet, "F3", 14.5/24, "h:mm AM/PM")
	dated(t, f, sheet, "G3", (15.0*3600+20)/86400, "hh:mm:ss")
	dated(t, f, sheet, "H3", 46346+17.25/24, "dd/mm/yyyy hh:mm")
	p := planned(t, sourceOf(t, f), was, later())
	wantFates(t, p, map[Fate]int{New: 1, Refused: 1})
	if !strings.Contains(told(p), `house.xlsx:Training log!E4: task: "juggle" is not allowed`) {
		t.Error(told(p))
	}
	s := only(t, applied(t, p, was))
	if s.On != day.MustParse("2026-11-20") || !s.Begun.Equal(utc(t, "2026-11-20T14:30:00Z")) || !s.Ended.Equal(utc(t, "2026-11-20T15:00:20Z")) ||
		!s.Signed.Equal(utc(t, "2026-11-20T17:15:00Z")) || s.Level != ladder.Tube || s.Results != "cc" || len(s.Animals) != 1 {
		t.Errorf("%+v", s)
	}
}

// TestSessionsComeBack: sessions that are written by the template's columns are
// read as the same sessions.
func TestSessionsComeBack(t *testing.T) {
	was := staffed(t)
	ivo, odo, a1 := personNamed(t, was, "Ivo Marsh"), personNamed(t, was, "Odo Fern"), animalCalled(t, was, "A1")
	site := was.SiteOf(a1.Stays[0].Enclosure)
	rapid.Check(t, func(t *rapid.T) {
		s := ladder.Session{Trainee: ivo, Site: site, Species: a1.Species, On: day.MustParse("2026-11-24").Add(-rapid.IntRange(0, 600).Draw(t, "days")),
			Level: ladder.Level(rapid.IntRange(0, int(ladder.LastLevel)).Draw(t, "level")), Results: rapid.StringMatching(`[cps]{0,9}`).Draw(t, "results"),
			Unsafe: inventory.Tri(rapid.IntRange(0, 2).Draw(t, "unsafe")), Note: words(t, "note")}
		row := map[string]string{"date": s.On.String(), "trainee": "Ivo Marsh", "site": "Thornbury Lane", "species": "Naja kaouthia", "task": s.Level.String(),
			"results": s.Results, "note": s.Note}
		if s.Unsafe != inventory.Unknown {
			row["unsafe"] = s.Unsafe.String()
		}
		switch s.Watched = inventory.Tri(rapid.IntRange(0, 2).Draw(t, "watched")); s.Watched {
		case inventory.Yes:
			s.Mentor, row["mentor"] = odo, "Odo Fern"
		case inventory.No:
			row["mentor"] = "alone"
		}
		if rapid.Bool().Draw(t, "animals") {
			s.Animals, row["animals"] = []inventory.ID{a1.ID}, "A1"
		}
		noonOf := day.StartOf(s.On, time.UTC).Add(12 * time.Hour)
		if rapid.Bool().Draw(t, "timed") {
			s.Begun = noonOf.Add(time.Duration(rapid.IntRange(-9*3600, 9*3600).Draw(t, "begun")) * time.Second)
			s.Ended = s.Begun.Add(time.Duration(rapid.IntRange(1, 3600).Draw(t, "lasted")) * time.Second)
			row["from"], row["to"] = s.Begun.Format(time.RFC3339), s.Ended.Format(time.RFC3339)
		}
		if s.Watched != inventory.No && rapid.Bool().Draw(t, "signed") {
			s.Signed = noonOf.Add(12 * time.Hour)
			row["signed"] = s.Signed.Format("2006-01-02T15:04:05-07:00")
		}
		src, err := Read("sessions.csv", []byte(written(t, "sessions", row)))
		if err != nil {
			t.Fatal(err)
		}
		p, err := NewPlan(src, was, Settings{Now: noon})
		if err != nil || len(p.Refusals()) > 0 {
			t.Fatalf("%v\n%s", err, told(p))
		}
		after, err := p.Batch.Apply(was)
		if err != nil {
			t.Fatal(err)
		}
		for got := range after.Sessions.All() {
			s.ID = got.ID
			same(t, s, *got)
		}
		if again, err := NewPlan(src, after, Settings{Now: noon}); err != nil || after.Sessions.Len() != 1 || len(again.Batch) > 0 {
			t.Fatalf("%v: %d sessions, and the same once more makes %d changes", err, after.Sessions.Len(), len(again.Batch))
		}
	})
}

// TestExampleRows: the invented rows of the template can be taken in.
func TestExampleRows(t *testing.T) {
	was := staffed(t)
	files := make(map[string]string)
	for _, l := range Lists {
		files[l.Name+".csv"] = l.example()
	}
	s := later()
	s.NewProducts = true
	p := planned(t, folder(t, files), was, s)
	wantFates(t, p, map[Fate]int{New: len(Lists)})
	x := only(t, applied(t, p, was))
	if x.Results != "cccpc" || x.Signed.IsZero() || x.Begun.IsZero() || len(x.Animals) != 1 {
		t.Errorf("%+v", x)
	}
	files2, err := Template()
	must(t, err)
	if text := string(files2[len(files2)-1].Data); !strings.Contains(text, "2026-11-20,Ivo Marsh,Odo Fern,Naja kaouthia,TL-001,hook,cccpc,10:00,10:40,2026-11-20 17:30,no\n") {
		t.Error(text)
	}
}
