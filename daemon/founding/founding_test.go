package founding

import (
	"bufio"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/inventory"
)

var laws = []Law{{"gb/eaw", "England and Wales"}, {"us/fl", "Florida"}}

func answered(t *testing.T, given map[string][]string) *Answers {
	t.Helper()
	a, err := (&Asker{Given: given, Out: io.Discard}).Answer(laws, "")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// least is as little as a house can begin with.
func least() map[string][]string {
	return map[string][]string{"house": {"Moss"}, "site": {"Moss House"}, "zone": {"Europe/London"}, "head": {"Ada Fern"}}
}

// TestNothingIsAssumed of what nobody answered: no record says that it is so.
func TestNothingIsAssumed(t *testing.T) {
	a := answered(t, least())
	now := time.Date(2026, time.November, 25, 23, 30, 0, 0, time.UTC)
	s := recorded(t, a, now)
	for site := range s.Sites.All() {
		if len(site.Jurisdiction) != 0 || site.Use != "" {
			t.Errorf("a law or a use was assumed: %+v", site)
		}
	}
	if s.Feeds.Len() != 0 {
		t.Error("a list is kept that nobody said is kept")
	}
	if h := s.House(); h.Mailed || h.Victims != 1 {
		t.Errorf("the house: %+v", h)
	}
	if s.NotWatched.Len() != 1 || s.People.Len() != 1 {
		t.Errorf("%d declarations, %d people; want one of each", s.NotWatched.Len(), s.People.Len())
	}
	r := compliance.Evaluate(&compliance.Rulebook{}, s, compliance.Ask{Now: now})
	for _, j := range r.Judgements {
		if v, _ := j.At(r.View.Today(j.Site(0))); v.Standing == compliance.InOrder {
			t.Errorf("%s reads as in order", j.Key.Requirement)
		}
	}
}

// TestTheHeadDoesWhatNobodyElseDoes; whoever is named twice is one person.
func TestTheHeadDoesWhatNobodyElseDoes(t *testing.T) {
	given := least()
	given["curator"], given["operations"] = []string{"Bo Lind <bo@moss.example>"}, []string{"Bo Lind"}
	given["second-contact"] = []string{"Uma Reed <uma@reed.example>"}
	s := recorded(t, answered(t, given), time.Now())
	has := make(map[string][]compliance.Role)
	for p := range s.People.All() {
		for _, o := range p.Offices {
			has[p.Called] = append(has[p.Called], o.Role)
		}
	}
	for name, want := range map[string][]compliance.Role{
		"Ada Fern": {compliance.Head, compliance.Administrator, compliance.LeadKeeper, compliance.SafetyOfficer},
		"Bo Lind":  {compliance.Curator, compliance.Operations},
		"Uma Reed": {compliance.SecondContact},
	} {
		if got := has[name]; len(got) != len(want) {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
	if len(has) != 3 {
		t.Errorf("people: %v", has)
	}
}

// TestFlagsOfSeveralSites: one zone for all, or one for each.
func TestFlagsOfSeveralSites(t *testing.T) {
	given := least()
	given["site"], given["zone"], given["law"] = []string{"A", "B", "C"}, []string{"Europe/London", "Europe/Berlin"}, []string{"gb/eaw"}
	a := answered(t, given)
	want := []Site{{Name: "A", Zone: "Europe/London", Law: "gb/eaw"}, {Name: "B", Zone: "Europe/Berlin", Law: "gb/eaw"}, {Name: "C", Zone: "Europe/Berlin", Law: "gb/eaw"}}
	for i, s := range a.Sites {
		if s != want[i] {
			t.Errorf("site %d: %+v, want %+v", i, s, want[i])
		}
	}
}

// TestWrongAnswers are refused with what is allowed.
func TestWrongAnswers(t *testing.T) {
	for flag, cases := range map[string]map[string]string{
		"zone":           {"Local": "IANA time zone", "GMT+1": "IANA time zone", "": "is needed"},
		"law":            {"US/FL": "lower-case", "florida!": "lower-case"},
		"use":            {"Zoo": "zoo, private, research or trade"},
		"victims":        {"0": "1 to 9", "two": "1 to 9"},
		"head":           {"ada@moss.example": "NAME <ADDRESS>", "Ada <nowhere>": "NAME <ADDRESS>", "": "is needed"},
		"second-contact": {"Uma": "an address is needed"},
		"mail-port":      {"0": "1 to 65535"},
		"mail-from":      {"watch": "is not an address"},
		"not-watched":    {"1000": "0 to 366"},
		"house":          {" ": "is needed"},
	} {
		for text, want := range cases {
			given := least()
			given["mail-host"], given["mail-from"] = []string{"mail.moss.example"}, []string{"w@moss.example"}
			given[flag] = []string{text}
			_, err := (&Asker{Given: given, Out: io.Discard}).Answer(laws, "")
			if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "--"+flag) {
				t.Errorf("--%s %q: %v, want %q", flag, text, err, want)
			}
		}
	}
	if _, err := (&Asker{Out: io.Discard}).Answer(laws, ""); !errors.Is(err, ErrMissing) {
		t.Errorf("nothing given: %v", err)
	}
}

// TestAskedUntilItIsAnAnswer: a wrong answer is said and asked again, and
// leaves nothing behind.
func TestAskedUntilItIsAnAnswer(t *testing.T) {
	answers := "\nMoss\nMoss House\nNowhere\nEurope/London\nGB\ngb/eaw\n\n\n3x\n2\nAda Fern\n\n\n\n\n\n\n\n\n"
	var said strings.Builder
	a, err := (&Asker{In: bufio.NewReader(strings.NewReader(answers)), Out: &said}).Answer(laws, "Europe/Berlin")
	if err != nil {
		t.Fatal(err, said.String())
	}
	if len(a.Sites) != 1 || a.Sites[0] != (Site{Name: "Moss House", Zone: "Europe/London", Law: "gb/eaw"}) || a.Victims != 2 || a.Until != 28 {
		t.Errorf("%+v", a)
	}
	for _, want := range []string{"An answer is needed", "[Europe/Berlin]", `"Nowhere" is not an IANA`, `"GB" is not allowed`, `"3x" is not a number`, "gb/eaw (England and", "NOBODY IS"} {
		if !strings.Contains(strings.Join(strings.Fields(said.String()), " "), want) {
			t.Errorf("it does not say %q:\n%s", want, said.String())
		}
	}
}

// TestTheConfigurationIsRead by the program's own reader, whatever is
// answered.
func TestTheConfigurationIsRead(t *testing.T) {
	given := least()
	given["house"] = []string{"Moss \"&\" Söhne # : {x}"}
	for _, port := range []string{"465", "587", "25", "2525"} {
		given["mail-host"], given["mail-port"] = []string{"mail.moss.example"}, []string{port}
		given["mail-from"], given["mail-username"] = []string{"w@moss.example"}, []string{`w"x`}
		a := answered(t, given)
		cfg, err := config.Parse("x.yaml", []byte(a.Config("antidotary.db")))
		if err != nil {
			t.Fatal(err)
		}
		if cfg.Mail.Host != "mail.moss.example" || cfg.Mail.Username != `w"x` || cfg.Mail.PasswordFile != PasswordFile || cfg.Mail.Security == "none" {
			t.Errorf("%+v", cfg.Mail)
		}
	}
	if cfg, err := config.Parse("x.yaml", []byte(answered(t, least()).Config("antidotary.db"))); err != nil || cfg.Mail.Mode != config.MailNone {
		t.Errorf("without mail: %+v, %v", cfg.Mail, err)
	}
}

func recorded(t *testing.T, a *Answers, now time.Time) *compliance.Snapshot {
	t.Helper()
	var batch compliance.Batch
	for _, rec := range a.Records(now) {
		batch = append(batch, compliance.Record[inventory.Record](rec))
	}
	s, err := batch.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}
