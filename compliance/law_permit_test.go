package compliance

import (
	"testing"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

const part13 = `{class: keep, renewal: {lead: 30 days}, pending: {means: continues, citation: "50 CFR 13.22(c)"}}`
const part23 = `{class: keep, renewal: {lead: 30 days}, pending: {means: void, citation: "50 CFR 13.22(c)"}}`

// TestContinuationUnder50CFR13 checks what a permit that expires on
// 2026-12-31 is worth on 2027-01-15.
func TestContinuationUnder50CFR13(t *testing.T) {
	const source = "50 CFR 13.22(a), (c), text as of 8 Nov 2024 (R); cases derived from it (D)"
	for _, c := range []struct {
		name   string
		params string
		change func(*Permit)
		want   Standing
		state  Code
	}{
		{"filed on the last timely day continues", part13, filed("2026-12-01"), InOrder, PendingContinued},
		{"filed 29 days before is too late", part13, filed("2026-12-02"), OutOfOrder, PendingNotCovered},
		{"a CITES document is void on expiry", part23, filed("2026-12-01"), OutOfOrder, VoidOnExpiry},
		{"denied on 10 January", part13, decided("2026-12-01", "2027-01-10", Refused), OutOfOrder, PendingRefused},
		{"suspended after filing", part13, func(p *Permit) {
			filed("2026-12-01")(p)
			p.Suspensions = []Suspension{{From: d("2026-12-20")}}
		}, OutOfOrder, Suspended},
		{"not filed", part13, func(*Permit) {}, OutOfOrder, Lapsed},
		{"posted in time, no receipt", part13, func(p *Permit) { p.Applications = []Application{{Posted: d("2026-11-25")}} }, CannotTell, PendingNoReceipt},
		{"not known to be renewable", part13, func(p *Permit) {
			filed("2026-12-01")(p)
			p.Renewable = inventory.Unknown
		}, CannotTell, RenewableUnknown},
		{"not renewable", part13, func(p *Permit) {
			filed("2026-12-01")(p)
			p.Renewable = inventory.No
		}, OutOfOrder, PendingNotCovered},
		{"told that it is deficient (5 U.S.C. 558(c), note)", part13, func(p *Permit) {
			filed("2026-12-01")(p)
			p.Applications[0].Deficient = d("2026-12-20")
		}, OutOfOrder, PendingNotCovered},
		{"granted, the new paper not recorded", part13, decided("2026-12-01", "2027-01-10", Granted), CannotTell, GrantedNotRecorded},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			p := h.permit("P", day.Until(d("2026-12-31")))
			c.change(&p)
			h.put(Record(p))
			got := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", c.params)), h.snapshot(), "paper", a.Ref()).At(d("2027-01-15"))
			if got.Standing != c.want || got.State != c.state {
				t.Errorf("%s, %s; want %s, %s (%s)", got.Standing, got.State, c.want, c.state, source)
			}
		})
	}
}

func filed(on string) func(*Permit) {
	return func(p *Permit) { p.Applications = []Application{{Posted: d(on), Received: d(on)}} }
}

func decided(filedOn, on string, how Outcome) func(*Permit) {
	return func(p *Permit) {
		p.Applications = []Application{{Posted: d(filedOn), Received: d(filedOn), Decided: d(on), Outcome: how}}
	}
}

// TestDenialBitesFromItsDay: continued to the day before, out from the day.
func TestDenialBitesFromItsDay(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	p := h.permit("P", day.Until(d("2026-12-31")))
	decided("2026-12-01", "2027-01-10", Refused)(&p)
	h.put(Record(p))
	line := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), "paper", a.Ref())
	for on, want := range map[string]Code{"2026-12-31": InForce, "2027-01-01": PendingContinued, "2027-01-09": PendingContinued, "2027-01-10": PendingRefused} {
		if got := line.At(d(on)).State; got != want {
			t.Errorf("%s: %s, want %s (50 CFR 13.22(c), R)", on, got, want)
		}
	}
}

// TestLastDayToFile checks the last timely and the last safe day of a renewal.
func TestLastDayToFile(t *testing.T) {
	for _, c := range []struct {
		name, renewal, expires string
		post                   int
		legal, safe            string
		source                 string
	}{
		{"30 days before the year's end", "{lead: 30 days}", "2026-12-31", 0, "2026-12-01", "2026-12-01", "50 CFR 13.22(a) (R), date D"},
		{"30 days before 31 July", "{lead: 30 days}", "2026-07-31", 0, "2026-07-01", "2026-07-01", "50 CFR 13.22(a) (R), date D"},
		{"a Saturday moves earlier where the rule says so", "{lead: 30 days, moves_to_working_day: true}", "2027-03-15", 0, "2027-02-12", "2027-02-12", "50 CFR 13.22(a) (R), date D"},
		{"a Saturday stays the legal day, but the office is shut", "{lead: 30 days}", "2027-03-15", 0, "2027-02-13", "2027-02-12", "50 CFR 13.22(a) (R), date D"},
		{"a leap year", "{lead: 30 days}", "2028-03-15", 0, "2028-02-14", "2028-02-14", "50 CFR 13.22(a) (R), date D"},
		{"six months before 31 May", "{lead: 6 months}", "2027-05-31", 0, "2026-11-30", "2026-11-30", "Zoo Licensing Act s.6 as in councils' guidance (R2), date D"},
		{"six months before 31 August", "{lead: 6 months}", "2026-08-31", 0, "2026-02-28", "2026-02-27", "Zoo Licensing Act s.6 as in councils' guidance (R2), date D; 28 Feb 2026 is a Saturday"},
		{"six months before 31 May 2033", "{lead: 6 months}", "2033-05-31", 0, "2032-11-30", "2032-11-30", "Zoo Licensing Act s.6 as in councils' guidance (R2), date D"},
		{"E1: five working days of post over Memorial Day", "{lead: 30 days}", "2026-06-30", 5, "2026-05-31", "2026-05-21", "worked example E1 of this project's job description, common practice, no source"},
		{"posting counts, so post costs nothing", "{lead: 30 days, counts: posting}", "2026-06-30", 5, "2026-05-31", "2026-05-29", "E1 without post"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			h.auth.PostDays = c.post
			p := h.permit("P", day.Until(d(c.expires)))
			h.put(Record(h.auth), Record(p))
			step := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep, renewal: "+c.renewal+"}")),
				h.snapshot(), "paper", a.Ref()).At(d(c.expires)).Step
			if step.Do != FileRenewal || step.Legal != d(c.legal) || step.By != d(c.safe) {
				t.Errorf("%s by %s, legally by %s; want by %s, legally by %s (%s)", step.Do, step.By, step.Legal, c.safe, c.legal, c.source)
			}
		})
	}
}

// TestStrictlyConstrued: permits name numbers and kinds.
func TestStrictlyConstrued(t *testing.T) {
	const source = "50 CFR 13.42, 70 FR 18320 (2005) (R)"
	for _, c := range []struct {
		name    string
		species []string
		want    []Code
	}{
		{"two of two", []string{"Naja kaouthia", "Naja kaouthia"}, []Code{InForce, InForce}},
		{"three where two are listed", []string{"Naja kaouthia", "Naja kaouthia", "Naja kaouthia"}, []Code{OverNumber, OverNumber, OverNumber}},
		{"another kind of the genus", []string{"Naja kaouthia", "Naja atra"}, []Code{InForce, NoPaper}},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			byName := map[string]inventory.Species{}
			var animals []inventory.Animal
			for _, name := range c.species {
				if _, ok := byName[name]; !ok {
					byName[name] = h.species(name, "Elapidae")
				}
				animals = append(animals, h.animal(byName[name]))
			}
			p := h.permit("P", day.Until(d("2027-12-31")))
			p.Grants = []Grant{{Rank: RankSpecies, Taxon: "Naja kaouthia", Max: 2}}
			h.put(Record(p))
			s, b := h.snapshot(), book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13))
			for i, a := range animals {
				if got := lineOf(t, b, s, "paper", a.Ref()).At(d("2026-06-15")).State; got != c.want[i] {
					t.Errorf("animal %d: %s, want %s (%s)", i, got, c.want[i], source)
				}
			}
		})
	}
}

// TestRenewalRunsFromTheOldEnd: a renewal applied for before expiry and
// granted later leaves no gap, once it is recorded.
func TestRenewalRunsFromTheOldEnd(t *testing.T) {
	const source = "SI 2010/839: a renewal applied for before expiry runs from the old licence's end (R2), dates D"
	h := newHouse(t).lists()
	a := h.animal(h.species("Vipera berus", "Viperidae"))
	old := h.permit("OLD", day.Until(d("2028-03-09")))
	decided("2028-02-20", "2028-04-05", Granted)(&old)
	next := h.permit("NEW", day.Until(d("2030-03-09")))
	next.Issued, next.From, next.Renews = d("2028-04-05"), d("2028-03-10"), old.ID
	h.put(Record(old), Record(next))
	line := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep}")), h.snapshot(), "paper", a.Ref())
	for on := d("2028-03-01"); on <= d("2030-03-09"); on++ {
		if got := line.At(on); got.Standing != InOrder {
			t.Fatalf("%s: %s, %s (%s)", on, got.Standing, got.State, source)
		}
	}
	if got := line.At(d("2030-03-10")); got.Standing != OutOfOrder {
		t.Errorf("2030-03-10: %s (%s)", got.Standing, source)
	}
}

// TestPostedLateIsNotCovered is E14: from the day after expiry until the
// grant nothing covers.
func TestPostedLateIsNotCovered(t *testing.T) {
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	p := h.permit("P", day.Until(d("2026-06-30")))
	p.Applications = []Application{{Posted: d("2026-06-10"), Received: d("2026-06-11")}} // ten days late
	h.put(Record(p))
	line := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), "paper", a.Ref())
	if line.At(d("2026-06-30")).Standing != InOrder || line.At(d("2026-07-01")).State != PendingNotCovered {
		t.Error("E14 of this project's job description, common practice, no source")
	}
}

// TestHolderPlaceAndNumberUnknown: what is not known never reads as fine.
func TestHolderPlaceAndNumberUnknown(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Permit)
		state  Code
	}{
		{"holder", func(p *Permit) { p.Holder = inventory.Ref{} }, HolderUnknown},
		{"place", func(p *Permit) { p.Sites = nil }, PlaceUnknown},
		{"species list", func(p *Permit) { p.Grants = nil }, TaxonUnknown},
		{"begin", func(p *Permit) { p.From, p.Issued = 0, 0 }, StartUnknown},
		{"end", func(p *Permit) { p.Expires = day.End{} }, ExpiryUnknown},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := newHouse(t).lists()
			a := h.animal(h.species("Naja kaouthia", "Elapidae"))
			p := h.permit("P", day.Until(d("2027-06-30")))
			c.change(&p)
			h.put(Record(p))
			got := lineOf(t, book(t, "law", "us", rule("test.r", "paper", "animal", "permit", part13)), h.snapshot(), "paper", a.Ref()).At(d("2026-06-15"))
			if got.Standing != CannotTell || got.State != c.state {
				t.Errorf("%s, %s; want cannot tell, %s", got.Standing, got.State, c.state)
			}
		})
	}
}

// TestHandingInAndPostingAreToldApart is E1 with a margin of the house: the
// last day to hand the renewal in at the office, the last day to post it, and
// the day to act by are three.
func TestHandingInAndPostingAreToldApart(t *testing.T) {
	const source = "worked example E1 of this project's job description, common practice, no source; 31 May 2026 is a Sunday, 25 May a holiday"
	h := newHouse(t).lists()
	a := h.animal(h.species("Naja kaouthia", "Elapidae"))
	h.auth.PostDays = 5
	h.put(Record(h.auth), Record(h.permit("P", day.Until(d("2026-06-30")))))
	r := Evaluate(book(t, "law", "us", rule("test.r", "paper", "animal", "permit", "{class: keep, renewal: {lead: 30 days, margin_days: 7}}")), h.snapshot(), Ask{Now: noon})
	found := map[string]string{}
	for _, reason := range r.Why(r.Of(Key{Requirement: "paper", Subject: a.Ref()}), d("2026-05-01")) {
		if reason.Code == "paper-lead" {
			for _, arg := range reason.Args {
				found[arg.Name] = arg.Value
			}
		}
	}
	for name, want := range map[string]string{"legal": "2026-05-31", "handed": "2026-05-29", "post": "2026-05-21", "safe": "2026-05-14"} {
		if found[name] != want {
			t.Errorf("%s: %s, want %s (%s)", name, found[name], want, source)
		}
	}
}
