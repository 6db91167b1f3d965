package intake

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Settings say how a source is taken in.
type Settings struct {
	Mapping *Mapping // nil: nothing is remembered
	Now     time.Time
	// Site is the site of animals and vials whose row names none. It is made,
	// in Zone and under Law, where it is not recorded and Zone is given.
	Site, Zone, Law string
	House           string // the organisation, made where none is recorded
	Victims         int    // that a new house plans for; 0: one
	NewSpecies      bool   // species not recorded are made, everything else about them unknown
	NewProducts     bool
	NewAuthorities  string   // zone of the offices of authorities that are made; empty: none is made
	Classes         []string // of papers that the loaded rules ask for; empty: nobody knows
	// Progress is told now and then how many of all rows are done.
	Progress func(done, of int)
}

// Plan is what a source would change.
type Plan struct {
	Tables  []*Table
	Entries []*Entry
	Sheets  []Mistake // sheets that could not be read as the list that they are called
	NotRead []Note
	Made    []inventory.Record // new records that rows refer to, what is referred to first
	Batch   compliance.Batch
	Mapping Mapping // what a mapping file would say now
	Assumed []string
	// Exported says that the lists are those of an export.
	Exported bool
}

// errNothing: no list was found.
var errNothing = errors.New("no list of " + anyOf(listNames()) + " was found: antidotary import --template FOLDER writes empty ones with explanations")

// planner makes a plan.
type planner struct {
	Settings
	mapping *Mapping
	was     *compliance.Snapshot
	house   inventory.ID
	home    inventory.ID // the site that Settings name; zero: none
	founded []inventory.Record

	species, products, sites, authorities, holders, people *names

	accessions map[string]*inventory.Animal // recorded or in this source
	refused    map[string]bool              // accessions of refused rows
	permits    map[string]*compliance.Permit
	lots       map[inventory.NaturalKey]*inventory.Lot
	enclosures map[inventory.NaturalKey]inventory.Record
	places     map[inventory.NaturalKey]inventory.Record
	at         map[inventory.ID]inventory.ID // enclosure to site, those of this source too
	spelt      map[string]string             // how a number was written first, by field and folded number
	plan       *Plan
	doors      map[inventory.ID]string // enclosure to its code
	called     map[inventory.ID]string // animal to its accession
	unlisted   map[string]string       // what is wrong with a name on a paper
	days       map[inventory.ID]day.Day
	zones      map[inventory.ID]*time.Location
	sat        map[sameDay][]*ladder.Session // recorded
	met        map[inventory.ID]bool         // recorded sessions that a row is about
}

// NewPlan reads the lists of a source against what is recorded. Its error
// tells of settings that cannot be; what is wrong with cells is in the plan.
func NewPlan(src *Source, was *compliance.Snapshot, settings Settings) (*Plan, error) {
	mapping := cmp.Or(settings.Mapping, &Mapping{})
	if slices.ContainsFunc(src.Sheets, func(s *Sheet) bool { _, _, says := marked(s); return says != nil }) {
		return planWhole(src, was, settings, mapping)
	}
	p := &planner{Settings: settings, mapping: mapping, was: was, plan: &Plan{NotRead: src.NotRead, Sheets: src.Broken}}
	if err := p.found(); err != nil {
		return nil, err
	}
	p.indexRecords()
	for _, s := range src.Sheets {
		t, note, mistake := recognise(s, p.mapping)
		switch {
		case t != nil:
			p.plan.Tables = append(p.plan.Tables, t)
			p.plan.NotRead = append(p.plan.NotRead, t.unread()...)
		case note != nil:
			p.plan.NotRead = append(p.plan.NotRead, *note)
		default:
			p.plan.Sheets = append(p.plan.Sheets, *mistake)
		}
	}
	if len(p.plan.Tables) == 0 && len(p.plan.Sheets) == 0 {
		return nil, errNothing
	}
	p.enter()
	p.lists()
	p.gather()
	p.remember()
	return p.plan, nil
}

// Try gives the records as the changes would make them, without making them:
// for a preview. Its error says that the records would not take the changes.
func (p *Plan) Try(was *compliance.Snapshot) (*compliance.Snapshot, error) {
	after, err := p.Batch.Apply(was)
	if err != nil {
		return nil, fmt.Errorf("try the changes out: %w", err)
	}
	return after, nil
}

// Sessions gives the handling sessions that rows are about and that were taken
// or are recorded already.
func (p *Plan) Sessions() (all []inventory.ID) {
	for _, e := range p.Entries {
		if s, ok := e.record.(ladder.Session); ok && e.Fate != Refused {
			all = append(all, s.ID)
		} else if e.session != (inventory.ID{}) && e.Fate != Refused {
			all = append(all, e.session)
		}
	}
	return all
}

// enter makes an entry of each row, animals first, and counts the names that
// may be new.
func (p *planner) enter() {
	slices.SortStableFunc(p.plan.Tables, func(a, b *Table) int {
		return cmp.Compare(slices.Index(Lists, a.List), slices.Index(Lists, b.List))
	})
	for _, t := range p.plan.Tables {
		for _, r := range t.Body {
			p.plan.Entries = append(p.plan.Entries, &Entry{Table: t, Row: r})
		}
	}
	count := func(e *Entry, field string, n *names) {
		if i, ok := e.Table.at[field]; ok {
			name := tidy(e.Row.cell(i))
			if meaning, accepted := p.mapping.meaning(name); accepted {
				name = meaning
			}
			n.rows[name]++
		}
	}
	for _, e := range p.plan.Entries {
		switch e.Table.List {
		case Lists[0]:
			count(e, "species", p.species)
		case Lists[1]:
			count(e, "authority", p.authorities)
		case Lists[2]:
			count(e, "product", p.products)
		case sessionList:
			count(e, "species", p.species)
		}
	}
}

// lists takes each list in: keys first, so that rows with one key are refused
// before anything is made of them.
func (p *planner) lists() {
	byList := make(map[*List][]*Entry)
	for _, e := range p.plan.Entries {
		byList[e.Table.List] = append(byList[e.Table.List], e)
	}
	done := 0
	each := func(list *List, do func(*Entry)) {
		for _, e := range byList[list] {
			do(e)
			if done++; p.Progress != nil {
				p.Progress(done, len(p.plan.Entries))
			}
		}
	}
	for _, e := range byList[Lists[0]] {
		e.key = e.text("accession")
		p.alike(e, "accession")
	}
	once(byList[Lists[0]], "accession")
	each(Lists[0], p.animal)
	for _, e := range byList[Lists[1]] {
		e.key = e.text("number")
		p.alike(e, "number")
	}
	once(byList[Lists[1]], "number")
	each(Lists[1], p.paper)
	p.vials(byList[Lists[2]], each)
	p.sessions(byList[sessionList], each)
}

// once refuses rows with the same key: which of them counts would be a guess.
func once(entries []*Entry, field string) {
	onceSaying(entries, field, func(e *Entry, other Position) string {
		return fmt.Sprintf("%q stands here and at %s; one row each is allowed, and neither was taken", e.text(field), other)
	})
}

func onceSaying(entries []*Entry, field string, say func(e *Entry, other Position) string) {
	first := make(map[string]*Entry)
	for _, e := range entries {
		if e.key == "" {
			continue
		}
		other, twice := first[e.key]
		if !twice {
			first[e.key] = e
			continue
		}
		at := func(x *Entry) Position { return x.Table.Sheet.at(x.Row, x.Table.at[field]) }
		if !slices.ContainsFunc(other.Mistakes, func(m Mistake) bool { return m.Field == field }) {
			other.refuse(field, "%s", say(other, at(e)))
		}
		e.refuse(field, "%s", say(e, at(other)))
	}
}

// gather makes the batch: what rows refer to first, and only what a row that
// is taken refers to.
func (p *planner) gather() {
	taken := make(map[inventory.Ref]bool)
	need := func(records []inventory.Record) {
		for _, rec := range records {
			if !taken[rec.Ref()] {
				taken[rec.Ref()] = true
				p.plan.Made = append(p.plan.Made, rec)
			}
		}
	}
	need(p.founded)
	var own compliance.Batch
	changed := make(map[inventory.Ref]bool)
	for _, e := range p.plan.Entries {
		if e.bad() {
			e.Fate = Refused
			continue
		}
		need(e.needs)
		if e.change != nil && !changed[e.record.Ref()] {
			changed[e.record.Ref()] = true
			own = append(own, e.change)
		}
	}
	slices.SortStableFunc(p.plan.Made, func(a, b inventory.Record) int { return cmp.Compare(a.Ref().Kind, b.Ref().Kind) })
	for _, rec := range p.plan.Made {
		p.plan.Batch = append(p.plan.Batch, compliance.Record(rec))
	}
	p.plan.Batch = append(p.plan.Batch, own...)
}

// remember makes the mapping that a file would keep.
func (p *planner) remember() {
	p.plan.Mapping = Mapping{Format: 1, Dates: p.mapping.Dates, Accept: p.mapping.Accept}
	for _, t := range p.plan.Tables {
		p.plan.Mapping.Sheets = append(p.plan.Mapping.Sheets, t.mapping())
	}
	for _, s := range p.mapping.Sheets { // of sheets that are not here today
		if !slices.ContainsFunc(p.plan.Mapping.Sheets, func(x SheetMapping) bool { return x.Sheet == s.Sheet }) {
			p.plan.Mapping.Sheets = append(p.plan.Mapping.Sheets, s)
		}
	}
	p.assume()
}

// Counts says how many entries of a table have each fate.
func (p *Plan) Counts(t *Table) map[Fate]int {
	out := make(map[Fate]int)
	for _, e := range p.Entries {
		if e.Table == t {
			out[e.Fate]++
		}
	}
	return out
}

// Refusals gives every mistake, in the order of the source.
func (p *Plan) Refusals() (all []Mistake) {
	all = slices.Clone(p.Sheets)
	for _, e := range p.Entries {
		all = append(all, e.Mistakes...)
	}
	return all
}

// today gives the day it is at a site. It is looked up once a site: to load a
// zone for each row took a third of the time of a long import.
func (p *planner) today(site inventory.ID) day.Day {
	if d, known := p.days[site]; known {
		return d
	}
	if p.days == nil {
		p.days = make(map[inventory.ID]day.Day)
	}
	p.days[site] = day.In(p.Now, p.zoneAt(site))
	return p.days[site]
}

// zoneAt gives the zone of a site, looked up once a site as well.
func (p *planner) zoneAt(site inventory.ID) *time.Location {
	if at, known := p.zones[site]; known {
		return at
	}
	if p.zones == nil {
		p.zones = make(map[inventory.ID]*time.Location)
	}
	zone := "UTC"
	if s, ok := p.was.Sites.Get(site); ok {
		zone = s.Zone
	} else if site == p.home && p.Zone != "" {
		zone = p.Zone
	}
	at, err := time.LoadLocation(zone)
	if err != nil { // a zone that was checked when it was recorded
		at = time.UTC
	}
	p.zones[site] = at
	return at
}
