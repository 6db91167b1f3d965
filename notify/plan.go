package notify

import (
	"cmp"
	"slices"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Input is what a plan rests on.
type Input struct {
	Now    time.Time
	Report *compliance.Report
	Open   []compliance.Finding // as of this sweep
	Closed []compliance.Finding // lately; whoever heard of them hears that they ended
	Ledger []Reminder           // what was told before
	// Mailed says whether somebody's digest of a local day was queued already.
	Mailed func(recipient inventory.ID, on day.Day) bool
}

// Outcome is what to do.
type Outcome struct {
	Digests     []Digest
	Unreachable []Unreachable
	NobodyTold  bool // the house sends no mail
}

// Digest is one person's mail of one local day.
type Digest struct {
	To        *compliance.Person
	Day       day.Day
	News      []Item // opened, worse, or a threshold has come
	Standing  []Item // told before, and still so
	Ended     []Item
	Reminders []Reminder // to be written to the ledger with it
}

// Plan decides who is told what. The order of the input does not matter.
func Plan(in Input) Outcome {
	p := &planner{in: in, ledger: newLedger(in.Ledger), roster: newRoster(in.Report.View.Snapshot), drafts: make(map[inventory.ID]*draft)}
	out := Outcome{NobodyTold: !in.Report.View.House().Mailed}
	for i := range in.Open {
		f := &in.Open[i]
		today := in.Report.View.Today(f.Site)
		people := p.roster.told(f, p.owner(f), today)
		if len(people) == 0 {
			out.Unreachable = append(out.Unreachable, Unreachable{*f, p.owner(f)})
		}
		opened := day.In(f.Opened, p.zone(f.Site))
		for _, person := range people {
			p.open(person, f, Due(f, opened, today))
		}
	}
	for i := range in.Closed {
		p.closed(&in.Closed[i])
	}
	if !out.NobodyTold {
		out.Digests = p.digests()
	}
	slices.SortFunc(out.Unreachable, func(a, b Unreachable) int { return a.Finding.Key.Compare(b.Finding.Key) })
	return out
}

type planner struct {
	in     Input
	ledger *ledger
	roster *roster
	drafts map[inventory.ID]*draft
}

// draft is a digest before its items are put into words, which is done only
// if it is sent.
type draft struct {
	to                    *compliance.Person
	news, standing, ended []*compliance.Finding
	reminders             []Reminder
}

// owner is whom the step is for, or else the rule.
func (p *planner) owner(f *compliance.Finding) compliance.Role {
	if f.Verdict.Step.Owner != "" {
		return f.Verdict.Step.Owner
	}
	if j := p.in.Report.Of(f.Key); j != nil {
		if rule := j.Binding(p.in.Report.View.Today(f.Site)).Rule; rule != nil {
			return rule.Owner
		}
	}
	return compliance.Head
}

func (p *planner) zone(site inventory.ID) *time.Location {
	zone, err := time.LoadLocation(p.in.Report.View.Site(site).Zone)
	if err != nil { // records refuse such a zone
		return time.UTC
	}
	return zone
}

func (p *planner) draft(to *compliance.Person) *draft {
	d := p.drafts[to.ID]
	if d == nil {
		d = &draft{to: to}
		p.drafts[to.ID] = d
	}
	return d
}

func (p *planner) open(to *compliance.Person, f *compliance.Finding, due []int) {
	d := p.draft(to)
	untold := p.ledger.untold(f, to.ID, due)
	if len(untold) == 0 {
		d.standing = append(d.standing, f)
		return
	}
	d.news = append(d.news, f)
	d.reminders = append(d.reminders, untold...)
}

// closed tells whoever had heard of the finding.
func (p *planner) closed(f *compliance.Finding) {
	for _, to := range p.roster.people {
		if !p.ledger.anyone[about{f.Key, to.ID}] {
			continue
		}
		if untold := p.ledger.untold(f, to.ID, []int{toldClosed}); len(untold) > 0 {
			d := p.draft(to)
			d.ended = append(d.ended, f)
			d.reminders = append(d.reminders, untold...)
		}
	}
}

// digests makes the mails of those who have news and no digest today.
func (p *planner) digests() (out []Digest) {
	for _, d := range p.drafts {
		today := p.localDay(d.to)
		if len(d.news)+len(d.ended) == 0 || p.in.Mailed(d.to.ID, today) {
			continue
		}
		digest := Digest{To: d.to, Day: today, Reminders: d.reminders,
			News: p.items(d.news), Standing: p.items(d.standing), Ended: p.items(d.ended)}
		slices.SortFunc(digest.Reminders, compareReminders)
		out = append(out, digest)
	}
	slices.SortFunc(out, func(a, b Digest) int { return slices.Compare(a.To.ID[:], b.To.ID[:]) })
	return out
}

// localDay is the person's own: that of the site where the person works, or
// of the house's reckoning where none is recorded.
func (p *planner) localDay(to *compliance.Person) day.Day {
	return day.In(p.in.Now, p.zone(to.Site))
}

func (p *planner) items(findings []*compliance.Finding) []Item {
	var out []Item
	for _, f := range findings {
		out = append(out, Describe(p.in.Report, *f))
	}
	Sort(out)
	return out
}

func compareReminders(a, b Reminder) int {
	return cmp.Or(a.Key.Compare(b.Key), cmp.Compare(a.Do, b.Do), a.Instance.Compare(b.Instance), cmp.Compare(a.Arm, b.Arm),
		cmp.Compare(b.Threshold, a.Threshold), slices.Compare(a.Recipient[:], b.Recipient[:]))
}
