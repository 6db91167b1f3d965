package answer

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// Ladder answers where everybody stands at a site: who is nearest to what
// comes next and what is missing, what lapses when, which species hang on few
// people, and which sessions wait for a signature.
type Ladder struct {
	Telling
	Format int          `json:"format"`
	Now    time.Time    `json:"now"`
	Sites  []LadderSite `json:"sites"`
}

// LadderSite is one site's ladder.
type LadderSite struct {
	Site       string          `json:"site"`
	On         day.Day         `json:"on"`
	Ladder     string          `json:"ladder,omitempty"`
	Source     string          `json:"source,omitempty"`
	CannotTell []string        `json:"cannot_tell,omitempty"`
	People     []LadderPerson  `json:"people"`   // nearest to the next stage first
	Lapses     []LadderLapse   `json:"lapses"`   // earliest first
	Thin       []LadderThin    `json:"thin"`     // species with fewer than three people
	Unsigned   []LadderSession `json:"unsigned"` // waiting for a signature
}

// LadderPerson is where somebody stands, and what is missing for the next
// stage.
type LadderPerson struct {
	Name    string        `json:"name"`
	Stage   string        `json:"stage"`
	Next    int           `json:"next,omitempty"` // stage; 0: the highest is held
	Ready   inventory.Tri `json:"ready"`
	Share   float64       `json:"share"` // of what is needed that is there for sure
	Missing []string      `json:"missing,omitempty"`
	Signs   []string      `json:"signs,omitempty"`
	id      inventory.ID
}

// LadderLapse is an authorisation that lapses.
type LadderLapse struct {
	Person  string  `json:"person"`
	Species string  `json:"species"`
	Last    day.Day `json:"last"`
	Why     string  `json:"why"`
}

// LadderThin is a species that hangs on few people.
type LadderThin struct {
	Species string   `json:"species"`
	People  []string `json:"people"`
	// If is what follows if one of them leaves.
	If string `json:"if_one_leaves"`
}

func (t LadderThin) words() string {
	if len(t.People) == 0 {
		return t.Species + ": " + t.If
	}
	return t.Species + ": " + strings.Join(t.People, " and ") + "; if one leaves: " + t.If
}

// LadderSession is a session that waits.
type LadderSession struct {
	Trainee string  `json:"trainee"`
	Mentor  string  `json:"mentor,omitempty"`
	On      day.Day `json:"on"`
	By      day.Day `json:"by"`
}

// NewLadder makes the answer for the sites.
func NewLadder(r *compliance.Report, sites []inventory.ID) *Ladder {
	v := r.View
	l := &Ladder{Telling: Telling{!v.House().Mailed}, Format: Format, Now: v.Ask.Now.UTC(), Sites: []LadderSite{}}
	for _, site := range sites {
		l.Sites = append(l.Sites, ladderAt(v, site))
	}
	return l
}

func ladderAt(v *compliance.View, site inventory.ID) LadderSite {
	on := v.Today(site)
	out := LadderSite{Site: v.Site(site).Title, On: on, People: []LadderPerson{}, Lapses: []LadderLapse{}, Thin: []LadderThin{}, Unsigned: []LadderSession{}}
	s := v.Standings(site)
	if s == nil {
		out.CannotTell = append(out.CannotTell, "no ladder says how people are brought on here")
		return out
	}
	out.Ladder, out.Source = s.Ladder().Title, s.Ladder().Source
	for _, reason := range v.HandlingDoubt(site, on) {
		out.CannotTell = append(out.CannotTell, words.Reason(reason))
	}
	people, held := v.Handlers(site), v.HeldAt(site, on)
	for _, p := range people {
		if p.Here(on) {
			out.People = append(out.People, personOn(s, p, on))
		}
	}
	slices.SortStableFunc(out.People, func(a, b LadderPerson) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), strings.Compare(a.Name, b.Name))
	})
	for _, species := range held {
		out.species(v, s, people, species, on)
	}
	slices.SortStableFunc(out.Lapses, func(a, b LadderLapse) int { return int(a.Last - b.Last) })
	for _, w := range s.Waiting(on, 0) {
		if w.Site != site {
			continue
		}
		out.Unsigned = append(out.Unsigned, LadderSession{personName(v, w.Trainee), personName(v, w.Mentor), w.On, w.By})
	}
	return out
}

func personOn(s *ladder.Standings, p *compliance.Person, on day.Day) LadderPerson {
	out := LadderPerson{Name: p.Called, Stage: stageWords(s.Stages(p.ID, on)), id: p.ID}
	goal, ok := s.Next(p.ID, on)
	if !ok {
		out.Ready = inventory.Yes
		return out
	}
	out.Next, out.Ready, out.Share, out.Signs = goal.Stage, goal.Met, goal.Share, goal.Signs
	for _, g := range goal.Worst {
		if !g.Met {
			out.Missing = append(out.Missing, words.Gap(g))
		}
	}
	return out
}

// species adds what lapses of a species, and whether it hangs on few.
func (l *LadderSite) species(v *compliance.View, s *ladder.Standings, people []*compliance.Person, species inventory.ID, on day.Day) {
	name := v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: species})
	var able []string
	for _, p := range people {
		if s.May(p.ID, species, ladder.Hook, on, 0).May != inventory.Yes {
			continue
		}
		able = append(able, p.Called)
		if lapse := s.Lapses(p.ID, species, ladder.Hook, on); !lapse.On.IsZero() {
			l.Lapses = append(l.Lapses, LadderLapse{p.Called, name, lapse.On - 1, words.Refusal(lapse.Why)})
		}
	}
	if len(able) > 2 {
		return
	}
	then := "it stays shut: nobody may open it alone"
	switch len(able) {
	case 0:
		then = "nobody may open it now"
	case 1:
		then = "nobody is left who may open it"
	}
	l.Thin = append(l.Thin, LadderThin{name, able, then})
}

// WriteText writes the answer for a terminal.
func (l *Ladder) WriteText(w io.Writer) error {
	p := &printer{w: w}
	for i := range l.Sites {
		l.Sites[i].write(p)
	}
	if len(l.Sites) == 0 {
		p.text("No site is recorded.")
	}
	p.text("Whoever has done everything may nothing more until it is signed; the lead and the head decide. " + words.Caution)
	return p.err
}

func (l *LadderSite) write(p *printer) {
	p.line("%s, %s", l.Site, words.Day(l.On))
	if l.Ladder != "" {
		p.field("ladder", l.Ladder+" ("+l.Source+")")
	}
	for _, why := range l.CannotTell {
		p.field("CANNOT TELL", why+" What follows is by the records alone.")
	}
	p.line("Next stage, nearest first")
	for _, person := range l.People {
		p.indented("%s: %s", person.Name, person.words())
	}
	p.line("What lapses, if nothing more is recorded")
	for _, like := range notify.Together(l.Lapses, func(x LadderLapse) LadderLapse { return LadderLapse{x.Person, "", x.Last, x.Why} }) {
		x, names := like[0], []string{}
		for _, one := range like {
			names = append(names, one.Species)
		}
		p.indented("%s: %s, %s; then: %s", words.Day(x.Last), x.Person, strings.Join(names, ", "), x.Why)
	}
	p.line("Species that hang on one or two people")
	for _, like := range notify.Together(l.Thin, func(t LadderThin) string { return strings.Join(t.People, " and ") }) {
		thin, names := like[0], []string{}
		for _, one := range like {
			names = append(names, one.Species)
		}
		thin.Species = strings.Join(names, ", ")
		p.indented("%s", thin.words())
	}
	if len(l.Unsigned) > 0 {
		p.line("Sessions that wait for a signature")
	}
	for _, u := range l.Unsigned {
		p.indented("%s of %s, by %s: last day to sign %s", u.Trainee, words.Day(u.On), cmp.Or(u.Mentor, "a mentor who is not recorded"), words.Day(u.By))
	}
	p.line("")
}

func (l LadderPerson) words() string {
	switch {
	case l.Next == 0:
		return l.Stage + ", the highest"
	case l.Ready == inventory.Yes:
		return fmt.Sprintf("%s; everything for stage %d is there: signatures of %s are missing", l.Stage, l.Next, strings.Join(l.Signs, ", "))
	}
	return fmt.Sprintf("%s; for stage %d: %s", l.Stage, l.Next, strings.Join(l.Missing, "; "))
}
