package deploy

import (
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// place is one site with one wild snake of a foreign species and the papers
// that a case gives it. All lists are complete and fresh.
type place struct {
	org    inventory.Organisation
	site   inventory.Site
	snake  inventory.Animal
	office compliance.Authority
	batch  compliance.Batch
}

func newPlace(law, zone, calendar string, use inventory.SiteUse) *place {
	p := &place{}
	p.org = inventory.Organisation{ID: inventory.NewID(), Title: "House", Victims: 1}
	p.site = inventory.Site{ID: inventory.NewID(), Organisation: p.org.ID, Title: "Site", Zone: zone, Use: use, Jurisdiction: inventory.Always(law)}
	p.office = compliance.Authority{ID: inventory.NewID(), Title: "Office", Zone: zone, Calendar: calendar}
	enclosure := inventory.Enclosure{ID: inventory.NewID(), Site: p.site.ID, Code: "1"}
	cobra := inventory.Species{ID: inventory.NewID(), Accepted: "Naja kaouthia", Family: "Elapidae", Venomous: inventory.Yes, RangeKnown: inventory.Yes}
	long := day.MustParse("2015-01-01")
	p.snake = inventory.Animal{ID: inventory.NewID(), Accession: "A", Species: cobra.ID, Origin: inventory.Origin{Bred: inventory.No}, Arrived: long,
		Stays: []inventory.Stay{{Enclosure: enclosure.ID, From: long}}}
	p.batch = compliance.Batch{compliance.Record(p.org), compliance.Record(p.site), compliance.Record(p.office), compliance.Record(enclosure),
		compliance.Record(cobra), compliance.Record(p.snake)}
	for _, topic := range compliance.Topics {
		p.batch = append(p.batch, compliance.Record(compliance.Feed{ID: inventory.NewID(), Topic: topic, Keeper: compliance.Head,
			Complete: day.MustParse("2000-01-01"), Confirmed: []day.Day{day.MustParse("2026-01-01")}, MaxAge: 5000}))
	}
	return p
}

// paper gives the place a paper of a class that lists the snake, and returns
// it to be altered.
func (p *place) paper(class, from, expires string) compliance.Permit {
	return compliance.Permit{ID: inventory.NewID(), Number: class, Class: class, Authority: p.office.ID,
		Holder: p.org.Ref(), Sites: []inventory.ID{p.site.ID},
		Grants: []compliance.Grant{{Rank: compliance.RankAny}}, From: day.MustParse(from),
		Expires: day.Until(day.MustParse(expires)), Renewable: inventory.Yes}
}

// judge answers for one requirement of one subject on a day.
func (p *place) judge(t *testing.T, requirement string, subject inventory.Ref, occurrence, on string) compliance.Verdict {
	t.Helper()
	s, err := p.batch.Apply(&compliance.Snapshot{})
	if err != nil {
		t.Fatal(err)
	}
	d := day.MustParse(on)
	j := compliance.Evaluate(book(t), s, compliance.Ask{On: d}).Of(compliance.Key{Requirement: requirement, Subject: subject, Occurrence: occurrence})
	if j == nil {
		return compliance.Verdict{}
	}
	v, _ := j.At(d)
	return *v
}

// 50 CFR 13.22(a), at least 30 days before expiration; computed twice from
// the text. A Saturday stays the legal day, and the office is open on the day
// to act by.
func TestFederalRenewal(t *testing.T) {
	for _, c := range []struct{ expires, legal, by string }{
		{"2026-12-31", "2026-12-01", "2026-12-01"},
		{"2026-07-31", "2026-07-01", "2026-07-01"},
		{"2027-03-15", "2027-02-13", "2027-02-12"}, // Saturday
		{"2028-03-15", "2028-02-14", "2028-02-14"}, // leap year
	} {
		p := newPlace("us/fl", "America/New_York", "US-FED", inventory.UsePrivate)
		p.batch = append(p.batch, compliance.Record(p.paper("wildlife-permit", "2020-01-01", c.expires)))
		v := p.judge(t, "paper.wildlife-permit", p.snake.Ref(), "", "2026-06-01")
		if v.State != compliance.InForce || v.Step.Legal != day.MustParse(c.legal) || v.Step.By != day.MustParse(c.by) {
			t.Errorf("expires %s: %s, by %s, legal %s; want %s, %s", c.expires, v.State, v.Step.By, v.Step.Legal, c.by, c.legal)
		}
	}
}

// 50 CFR 13.22(c) and, for documents under CITES, 23.54: a paper that expired
// on 2026-12-31, looked at on 2027-01-15.
func TestFederalContinuation(t *testing.T) {
	for _, c := range []struct {
		name, class, filed, denied, suspended string
		want                                  compliance.Code
	}{
		{"30 days before", "wildlife-permit", "2026-12-01", "", "", compliance.PendingContinued},
		{"29 days before", "wildlife-permit", "2026-12-02", "", "", compliance.PendingNotCovered},
		{"denied since", "wildlife-permit", "2026-12-01", "2027-01-10", "", compliance.PendingRefused},
		{"suspended since", "wildlife-permit", "2026-12-01", "", "2026-12-20", compliance.Suspended},
		{"not filed", "wildlife-permit", "", "", "", compliance.Lapsed},
		{"a document under CITES", "cites-document", "2026-12-01", "", "", compliance.VoidOnExpiry},
	} {
		p := newPlace("us/fl", "America/New_York", "US-FED", inventory.UsePrivate)
		paper := p.paper(c.class, "2024-01-01", "2026-12-31")
		if c.filed != "" {
			a := compliance.Application{Posted: day.MustParse(c.filed), Received: day.MustParse(c.filed)}
			if c.denied != "" {
				a.Decided, a.Outcome = day.MustParse(c.denied), compliance.Refused
			}
			paper.Applications = []compliance.Application{a}
		}
		if c.suspended != "" {
			paper.Suspensions = []compliance.Suspension{{From: day.MustParse(c.suspended)}}
		}
		p.batch = append(p.batch, compliance.Record(paper))
		requirement, subject := "paper.wildlife-permit", p.snake.Ref()
		if c.class == "cites-document" {
			requirement, subject = "paper.trade-document", paper.Ref()
		}
		if v := p.judge(t, requirement, subject, "", "2027-01-15"); v.State != c.want {
			t.Errorf("%s: %s, want %s", c.name, v.State, c.want)
		}
	}
}

// 50 CFR 13.45: the report for a calendar year is due on 31 March after it.
func TestFederalYearlyReport(t *testing.T) {
	for year, due := range map[string]day.Day{"2026": day.Of(2027, time.March, 31), "2027": day.Of(2028, time.March, 31)} {
		p := newPlace("us", "America/New_York", "US-FED", inventory.UsePrivate)
		if v := p.judge(t, "report.wildlife-permit", p.site.Ref(), year, due.String()); v.State != compliance.NotYetDue || v.Step.Legal != due {
			t.Errorf("for %s on the day: %s, by %s", year, v.State, v.Step.Legal)
		}
		if v := p.judge(t, "report.wildlife-permit", p.site.Ref(), year, (due + 1).String()); v.State != compliance.Overdue {
			t.Errorf("for %s on the day after: %s", year, v.State)
		}
	}
}

// Section 379.374, Florida Statutes: who does not exhibit needs no bond.
func TestFloridaBond(t *testing.T) {
	for use, want := range map[inventory.SiteUse]compliance.Code{
		inventory.UseZoo: compliance.NoPaper, inventory.UsePrivate: "", "": compliance.ScopeUnknown,
	} {
		p := newPlace("us/fl", "America/New_York", "US-FED", use)
		if v := p.judge(t, "paper.exhibit-bond", p.site.Ref(), "", "2026-06-01"); v.State != want {
			t.Errorf("use %q: %q, want %q", use, v.State, want)
		}
	}
}

// Zoo Licensing Act 1981: four years beginning with the grant, renewal no
// later than six months before expiry; AddDate(0, -6, 0) is late in each case.
func TestZooLicence(t *testing.T) {
	for _, c := range []struct{ granted, last, legal string }{
		{"2023-06-01", "2027-05-31", "2026-11-30"},
		{"2022-09-01", "2026-08-31", "2026-02-28"}, // a Saturday
		{"2027-06-01", "2033-05-31", "2032-11-30"}, // six years
	} {
		p := newPlace("gb/eaw", "Europe/London", "GB-EAW", inventory.UseZoo)
		p.batch = append(p.batch, compliance.Record(p.paper("zoo-licence", c.granted, c.last)))
		v := p.judge(t, "paper.zoo-licence", p.site.Ref(), "", c.granted)
		if v.State != compliance.InForce || v.Step.Legal != day.MustParse(c.legal) || v.Step.By > v.Step.Legal {
			t.Errorf("ends %s: %s, by %s, legal %s; want %s", c.last, v.State, v.Step.By, v.Step.Legal, c.legal)
		}
	}
}

// A zoo needs no dangerous wild animals licence; the same animal at a private
// place does.
func TestZooIsExemptFromTheDangerousWildAnimalsLicence(t *testing.T) {
	for use, want := range map[inventory.SiteUse]compliance.Code{
		inventory.UseZoo: "", inventory.UsePrivate: compliance.NoPaper, "": compliance.ScopeUnknown,
	} {
		p := newPlace("gb/eaw", "Europe/London", "GB-EAW", use)
		if v := p.judge(t, "paper.dwa-licence", p.snake.Ref(), "", "2026-06-01"); v.State != want {
			t.Errorf("use %q: %q, want %q", use, v.State, want)
		}
	}
}

// A law goes no further than its place.
func TestLawEndsAtItsBorder(t *testing.T) {
	for _, c := range []struct {
		law, requirement string
		binds            bool
	}{
		{"us/fl", "paper.venomous-permit", true},
		{"us/ga", "paper.venomous-permit", false},
		{"us/ga", "paper.wildlife-permit", true},
		{"gb/sct", "paper.dwa-licence", false},
		{"gb/eaw", "paper.wildlife-permit", false},
		{"us/il", "paper.herptile-permit", true},
		{"us/tx", "paper.herptile-permit", false},
		{"us/tx", "paper.nonindigenous-snake-permit", true},
		{"us/la", "paper.venomous-permit", true},
		{"de/nw", "paper.liability-cover", true},
		{"de", "paper.liability-cover", false},
		{"ch/vs", "paper.keeping-permit", true},
		{"au/qld", "paper.dangerous-snake-licence", true},
		{"au/nsw", "paper.dangerous-snake-licence", false},
	} {
		p := newPlace(c.law, "UTC", "", inventory.UsePrivate)
		if v := p.judge(t, c.requirement, p.snake.Ref(), "", "2026-06-01"); (v.State == compliance.NoPaper) != c.binds {
			t.Errorf("%s in %s: %q", c.requirement, c.law, v.State)
		}
	}
}

// N.C. Gen. Stat. 14-417 asks for five things on a label, and 510 ILCS 68
// section 10-25 for others: each state's label is judged by its own list.
func TestLabelsByState(t *testing.T) {
	for _, c := range []struct {
		law    string
		fields []string
		want   compliance.Code
	}{
		{"us/nc", []string{"banner", "scientific-name", "common-name", "owner"}, compliance.WordingIncomplete}, // no antivenin
		{"us/nc", []string{"banner", "scientific-name", "common-name", "antivenin", "owner"}, compliance.WordingComplete},
		{"us/nc", nil, compliance.WordingNotListed},
		{"us/il", []string{"banner", "scientific-name", "common-name", "antivenin", "owner"}, compliance.WordingIncomplete},
		{"us/il", []string{"permittee-name", "permittee-address", "permittee-phone", "scientific-name", "common-name", "venomous",
			"antivenom-type", "antivenom-location", "antivenom-contact"}, compliance.WordingComplete},
		{"us/ga", []string{"banner"}, ""},
	} {
		p := newPlace(c.law, "UTC", "", inventory.UsePrivate)
		p.batch = append(p.batch, compliance.Record(compliance.Activity{ID: inventory.NewID(), What: "label.checked", Subject: p.snake.Ref(),
			On: day.MustParse("2026-05-01"), Passed: inventory.Yes, Fields: c.fields}))
		if v := p.judge(t, "label.enclosure", p.snake.Ref(), "", "2026-06-01"); v.State != c.want {
			t.Errorf("%v in %s: %q, want %q", c.fields, c.law, v.State, c.want)
		}
	}
}
