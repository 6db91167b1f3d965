package notify

import (
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
	Ledger *Ledger              // what was told before, of each of these
	// Mailed says whether somebody's digest of a local day was queued already.
	Mailed func(recipient inventory.ID, on day.Day) bool
	// Waits says that the day's first sweep is still to come in a zone: whoever
	// works there is told then, in the morning, not at the hour of another
	// site. nil: nobody waits.
	Waits func(zone *time.Location) bool
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
	Nobody    []Item     // of which nobody can be told; for those who can mend that
	Unknown   int        // duties of the whole house that cannot be told
	Reminders []Reminder // to be written to the ledger with it
}

// Plan decides who is told what. The order of the input does not matter.
func Plan(in Input) Outcome {
	p := &planner{in: in, roster: newRoster(in.Report.View.Snapshot),
		zones: make(map[inventory.ID]*time.Location), drafts: make(map[inventory.ID]*draft),
		tellings: make(map[*compliance.Finding]*telling), words: make(map[*compliance.Finding]Item), ended: make(map[Reminder]bool)}
	out := Outcome{NobodyTold: !in.Report.View.House().Mailed}
	open := make(map[compliance.Key]bool, len(in.Open))
	for i := range in.Open {
		f := &in.Open[i]
		open[f.Key] = true
		if f.Verdict.Standing == compliance.CannotTell {
			p.unknown++
		}
		p.open(f)
	}
	for i := range in.Closed {
		if f := &in.Closed[i]; !open[f.Key] { // it may have opened again: then it has not ended
			p.closed(f)
		}
	}
	for _, f := range p.nobody {
		out.Unreachable = append(out.Unreachable, Unreachable{*f, p.owner(f)})
	}
	slices.SortFunc(out.Unreachable, func(a, b Unreachable) int { return a.Finding.Key.Compare(b.Finding.Key) })
	if !out.NobodyTold {
		out.Digests = p.digests()
	}
	return out
}

type planner struct {
	in       Input
	roster   *roster
	zones    map[inventory.ID]*time.Location // by site; see zone
	drafts   map[inventory.ID]*draft
	tellings map[*compliance.Finding]*telling
	words    map[*compliance.Finding]Item // of findings told, with their facts
	ended    map[Reminder]bool            // told in this plan
	nobody   []*compliance.Finding        // can be told of these
	unknown  int
}

// draft is a digest before its items are put into words, which is done only
// if it is sent.
type draft struct {
	to        *compliance.Person
	news      []mentioned
	standing  []*compliance.Finding
	ended     []*compliance.Finding
	reminders []Reminder
}

type mentioned struct {
	*compliance.Finding
	why Mention
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

// zone is looked up once for each site: a network asks for it again with
// every finding.
func (p *planner) zone(site inventory.ID) *time.Location {
	if zone, known := p.zones[site]; known {
		return zone
	}
	zone, err := time.LoadLocation(p.in.Report.View.Site(site).Zone)
	if err != nil { // records refuse such a zone
		zone = time.UTC
	}
	p.zones[site] = zone
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

// open drafts what is to be said of an open finding, to each who is told.
func (p *planner) open(f *compliance.Finding) {
	today := p.in.Report.View.Today(f.Site)
	t := p.roster.told(f, p.owner(f), today)
	p.tellings[f] = t
	if len(t.people) == 0 {
		p.nobody = append(p.nobody, f)
	}
	known := p.in.Ledger.about(f, Due(f, day.In(f.Opened, p.zone(f.Site)), today)...)
	for _, to := range t.people {
		d := p.draft(to)
		untold := known.untold(to.ID)
		if len(untold) == 0 {
			d.standing = append(d.standing, f)
			continue
		}
		d.news = append(d.news, mentioned{f, known.mention(to.ID, untold)})
		d.reminders = append(d.reminders, untold...)
	}
}

// closed tells whoever heard of the finding and still works here.
func (p *planner) closed(f *compliance.Finding) {
	known := p.in.Ledger.about(f, toldClosed)
	if len(known.news) == 0 {
		return // nobody heard of it
	}
	for _, to := range p.roster.people {
		if known.heard(to.ID) < 0 || !to.Here(p.localDay(to)) {
			continue
		}
		for _, r := range known.untold(to.ID) {
			if p.ended[r] { // another episode of that day may have the same
				continue
			}
			p.ended[r] = true
			d := p.draft(to)
			d.ended = append(d.ended, f)
			d.reminders = append(d.reminders, r)
		}
	}
}

// digests makes the mails of those who have news and no digest today.
func (p *planner) digests() (out []Digest) {
	for _, d := range p.drafts {
		today := p.localDay(d.to)
		if len(d.news)+len(d.ended) == 0 || p.in.Mailed(d.to.ID, today) || p.in.Waits != nil && p.in.Waits(p.zone(workplace(d.to))) {
			continue
		}
		out = append(out, p.digest(d, today))
	}
	slices.SortFunc(out, func(a, b Digest) int { return slices.Compare(a.To.ID[:], b.To.ID[:]) })
	return out
}

func (p *planner) digest(d *draft, today day.Day) Digest {
	out := Digest{To: d.to, Day: today, Reminders: d.reminders, Unknown: p.unknown}
	for _, n := range d.news {
		it, t := p.described(n.Finding), p.tellings[n.Finding]
		it.Mention, it.Whose, it.Then = n.why, t.whose(d.to), t.then(n.Finding)
		out.News = append(out.News, it)
	}
	out.Standing, out.Ended = p.brief(d.standing), p.brief(d.ended)
	if mends(d.to, today) {
		out.Nobody = p.brief(p.nobody)
	}
	Sort(out.News)
	slices.SortFunc(out.Reminders, Reminder.Compare)
	return out
}

// mends says whether somebody can see to it that a role is held by a person
// with a mail address.
func mends(p *compliance.Person, today day.Day) bool {
	return p.HasAnywhere(compliance.Head, today) || p.HasAnywhere(compliance.Administrator, today) || p.HasAnywhere(compliance.Operations, today)
}

// localDay is the person's own, at the workplace; in UTC where none is
// recorded.
func (p *planner) localDay(to *compliance.Person) day.Day {
	return day.In(p.in.Now, p.zone(workplace(to)))
}

// workplace is the site where the person works, or else the first site in
// which the person holds an office.
func workplace(p *compliance.Person) inventory.ID {
	site := p.Site
	for _, o := range p.Offices {
		if site == (inventory.ID{}) {
			site = o.Site
		}
	}
	return site
}

// described puts a finding into words once, however many are told.
func (p *planner) described(f *compliance.Finding) Item {
	it, known := p.words[f]
	if !known {
		it = Describe(p.in.Report, *f)
		p.words[f] = it
	}
	return it
}

func (p *planner) brief(findings []*compliance.Finding) []Item {
	var out []Item
	for _, f := range findings {
		out = append(out, brief(p.in.Report, *f))
	}
	Sort(out)
	return out
}
