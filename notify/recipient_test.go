package notify

import (
	"slices"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory"
)

func idOf(people []compliance.Person, name string) inventory.ID {
	for _, p := range people {
		if p.Called == name {
			return p.ID
		}
	}
	panic("nobody is called " + name)
}

func TestWhoIsTold(t *testing.T) {
	today := d("2030-06-04")
	bad := compliance.Finding{Site: larkspur.ID, Severity: compliance.Serious, Verdict: compliance.Verdict{Standing: compliance.OutOfOrder}}
	with := func(change func(*compliance.Finding)) compliance.Finding {
		f := bad
		change(&f)
		return f
	}
	without := func(names ...string) []compliance.Person {
		return slices.DeleteFunc(people(), func(p compliance.Person) bool { return slices.Contains(names, p.Called) })
	}
	changed := func(name string, change func(*compliance.Person)) []compliance.Person {
		all := people()
		for i := range all {
			if all[i].Called == name {
				change(&all[i])
			}
		}
		return all
	}
	withContact := append(people(), person("Uma Outside", larkspur.ID, compliance.SecondContact))
	for _, c := range []struct {
		name   string
		f      compliance.Finding
		owner  compliance.Role
		people []compliance.Person
		want   []string
	}{
		{"who holds the role at the site", bad, compliance.Curator, people(), []string{"Ben Ash"}},
		{"of the other site", with(func(f *compliance.Finding) { f.Site = wren.ID }), compliance.Curator, people(), []string{"Dee Fenn"}},
		{"of the whole house: at any site", with(func(f *compliance.Finding) { f.Site = inventory.ID{} }), compliance.Administrator, people(), []string{"Ada Quill", "Dee Fenn"}},
		{"of no recorded place: at any site", with(func(f *compliance.Finding) { f.Site = inventory.Nowhere }), compliance.Administrator, people(), []string{"Ada Quill", "Dee Fenn"}},
		{"nobody holds the role: the head", bad, compliance.LeadKeeper, people(), []string{"Cyd Moor"}},
		{"who holds it has no mail: the head", bad, compliance.SafetyOfficer, people(), []string{"Cyd Moor"}},
		{"who holds it has an address that cannot be used: the head", bad, compliance.Curator,
			changed("Ben Ash", func(p *compliance.Person) { p.Email = "b.mail@larkspur.example, all@larkspur.example" }), []string{"Cyd Moor"}},
		{"who holds it leaves today: the head", bad, compliance.Curator, changed("Ben Ash", func(p *compliance.Person) { p.Leaves = today }), []string{"Cyd Moor"}},
		{"who holds it leaves tomorrow", bad, compliance.Curator, changed("Ben Ash", func(p *compliance.Person) { p.Leaves = today + 1 }), []string{"Ben Ash"}},
		{"whose last day in the role was yesterday: the head", bad, compliance.Curator,
			changed("Ben Ash", func(p *compliance.Person) { p.Offices[0].Last = today - 1 }), []string{"Cyd Moor"}},
		{"no head either: the administrator", bad, compliance.Curator, without("Ben Ash", "Cyd Moor"), []string{"Ada Quill"}},
		{"nobody at all", bad, compliance.Curator, without("Ben Ash", "Cyd Moor", "Ada Quill"), nil},
		{"a missed step: the head too", with(func(f *compliance.Finding) { f.Missed = true }), compliance.Curator, people(), []string{"Ben Ash", "Cyd Moor"}},
		{"critical and out of order: the head too", with(func(f *compliance.Finding) { f.Severity = compliance.Critical }), compliance.Curator, people(), []string{"Ben Ash", "Cyd Moor"}},
		{"critical and cannot be told: not yet", with(func(f *compliance.Finding) {
			f.Severity, f.Verdict.Standing = compliance.Critical, compliance.CannotTell
		}), compliance.Curator, people(), []string{"Ben Ash"}},
		{"not missed: the second contact hears nothing", bad, compliance.Curator, withContact, []string{"Ben Ash"}},
		{"a missed step: the second contact too", with(func(f *compliance.Finding) { f.Missed = true }), compliance.Curator, withContact, []string{"Ben Ash", "Cyd Moor", "Uma Outside"}},
		{"nobody inside can be told: the second contact", bad, compliance.Curator, withContact[len(people()):], []string{"Uma Outside"}},
		{"whose own the step is too, beside the owner", with(func(f *compliance.Finding) {
			f.Verdict.Step.Told = [2]inventory.ID{idOf(people(), "Dee Fenn"), idOf(people(), "Ben Ash")}
		}), compliance.Curator, people(), []string{"Ben Ash", "Dee Fenn"}},
		{"whose own it is and who has left: the owner alone", with(func(f *compliance.Finding) {
			f.Verdict.Step.Told = [2]inventory.ID{idOf(people(), "Dee Fenn")}
		}), compliance.Curator, changed("Dee Fenn", func(p *compliance.Person) { p.Leaves = today }), []string{"Ben Ash"}},
		{"the head's own, missed: told once", with(func(f *compliance.Finding) { f.Missed = true }), compliance.Head, people(), []string{"Cyd Moor"}},
	} {
		s := &compliance.Snapshot{}
		for _, p := range c.people {
			s.People = s.People.With(p)
		}
		var got []string
		for _, p := range newRoster(s).told(&c.f, c.owner, today).people {
			got = append(got, p.Called)
		}
		slices.Sort(got)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// TestWhoIsToldNext: a mail says who hears of it once the step is missed.
func TestWhoIsToldNext(t *testing.T) {
	today := d("2030-06-04")
	f := compliance.Finding{Site: larkspur.ID, Verdict: compliance.Verdict{Standing: compliance.InOrder, Step: compliance.Step{Do: compliance.FileRenewal, By: today + 3}}}
	contact := person("Uma Outside", larkspur.ID, compliance.SecondContact)
	for _, c := range []struct {
		owner  compliance.Role
		people []compliance.Person
		want   string
	}{
		{compliance.Curator, people(), "from Sat 8 Jun 2030 on the head of collection is told too"},
		{compliance.Curator, append(people(), contact), "from Sat 8 Jun 2030 on the head of collection and the second contact outside the house are told too"},
		{compliance.Head, append(people(), contact), "from Sat 8 Jun 2030 on the second contact outside the house is told too"},
		{compliance.Head, people(), ""},
	} {
		s := &compliance.Snapshot{}
		for _, p := range c.people {
			s.People = s.People.With(p)
		}
		told := newRoster(s).told(&f, c.owner, today)
		if got := told.then(&f); got != c.want {
			t.Errorf("%s: %q, want %q", c.owner, got, c.want)
		}
	}
}

// TestWhoGetsTheProof: the second contact too, who alone notices when nobody
// in the house reads it any more.
func TestWhoGetsTheProof(t *testing.T) {
	contact := person("Uma Outside", larkspur.ID, compliance.SecondContact)
	for _, c := range []struct {
		name   string
		people []compliance.Person
		want   []string
	}{
		{"the administrators", people(), []string{"Ada Quill", "Dee Fenn"}},
		{"and the second contact", append(people(), contact), []string{"Ada Quill", "Dee Fenn", "Uma Outside"}},
		{"who is told where nobody else can be", []compliance.Person{contact}, []string{"Uma Outside"}},
	} {
		s := &compliance.Snapshot{}
		for _, p := range c.people {
			s.People = s.People.With(p)
		}
		r := compliance.Evaluate(&compliance.Rulebook{}, s, compliance.Ask{Now: start})
		var got []string
		for _, p := range ProofTo(r) {
			got = append(got, p.Called)
		}
		slices.Sort(got)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
