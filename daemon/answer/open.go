package answer

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Open answers who may open an enclosure for a task, and why nobody else may.
// It is authorised by the records of an instant; the lead decides.
type Open struct {
	Telling
	Format    int           `json:"format"`
	Now       time.Time     `json:"now"`
	Enclosure string        `json:"enclosure"`
	Site      string        `json:"site"`
	On        day.Day       `json:"on"`
	At        time.Time     `json:"at"`
	Task      string        `json:"task"`
	May       inventory.Tri `json:"may"`
	// Never: the task is never blocked by paperwork. What stands against it is
	// said all the same.
	Never   bool          `json:"never_blocked,omitempty"`
	Behind  []OpenAnimal  `json:"behind"`
	Stage   string        `json:"stage,omitempty"`
	Needs   string        `json:"needs,omitempty"` // how many people, in words
	Pairs   []OpenPair    `json:"pairs"`
	Against []OpenAgainst `json:"against"` // of the house and of cover
	People  []OpenPerson  `json:"people"`
	// CannotTell is why nothing of the people is sure.
	CannotTell []string `json:"cannot_tell,omitempty"`
	// Withheld: reasons about people are for themselves and the lead.
	Withheld bool `json:"withheld,omitempty"`
}

// OpenAnimal is an animal behind the door.
type OpenAnimal struct {
	Accession string `json:"accession"`
	Species   string `json:"species"`
}

// OpenPair is a primary and a back-up.
type OpenPair struct {
	Primary string `json:"primary"`
	BackUp  string `json:"back_up,omitempty"`
	Sure    bool   `json:"sure"`
}

// OpenAgainst is what stands against opening.
type OpenAgainst struct {
	Side     compliance.Side  `json:"side"`
	May      inventory.Tri    `json:"may"`
	What     string           `json:"what"`
	Rule     string           `json:"rule,omitempty"`
	Layer    compliance.Layer `json:"layer,omitempty"`
	Citation string           `json:"citation,omitempty"`
}

// OpenPerson is what somebody may do at the door.
type OpenPerson struct {
	Name    string        `json:"name"`
	Primary inventory.Tri `json:"primary"`
	BackUp  inventory.Tri `json:"back_up"`
	Reasons []string      `json:"reasons,omitempty"` // why not; none where they are withheld
}

// Reader is who reads an answer about people. Reasons go to the person and the
// lead; everybody else reads that somebody is not authorised.
type Reader struct {
	Person inventory.ID // zero: nobody in particular
	Lead   bool
}

// ReaderOf says what a person may read about others at a site.
func ReaderOf(v *compliance.View, p *compliance.Person, site inventory.ID) Reader {
	today := v.Today(site)
	return Reader{p.ID, p.Has(compliance.LeadKeeper, site, today) || p.Has(compliance.Head, site, today)}
}

func (r Reader) sees(person inventory.ID) bool {
	return r.Lead || r.Person == person && r.Person != (inventory.ID{})
}

// NewOpen makes the answer.
func NewOpen(r *compliance.Report, a *compliance.Access, at time.Time, reader Reader) *Open {
	v := r.View
	o := &Open{Telling: Telling{!v.House().Mailed}, Format: Format, Now: v.Ask.Now.UTC(), Enclosure: a.Enclosure.Code, Site: v.Site(a.Site).Title,
		On: a.On, At: at.UTC(), Task: a.Task.String(), May: a.May, Never: a.Opens.Never, Behind: []OpenAnimal{}, Pairs: []OpenPair{}, Against: []OpenAgainst{}, People: []OpenPerson{}}
	for _, an := range a.Animals {
		o.Behind = append(o.Behind, OpenAnimal{an.Accession, v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: an.Species})})
	}
	for _, b := range a.Blocks {
		o.Against = append(o.Against, against(v, b))
	}
	if a.NoLadder {
		o.CannotTell = append(o.CannotTell, "no ladder says how people are brought on here")
		return o
	}
	for _, reason := range a.Doubt {
		o.CannotTell = append(o.CannotTell, words.Reason(reason))
	}
	o.Stage, o.Needs = stageWords(a.Opens.Stage), needs(a)
	for _, pair := range a.Opens.Pairs {
		o.Pairs = append(o.Pairs, OpenPair{personName(v, pair.Primary), personName(v, pair.BackUp), pair.Sure})
	}
	for _, hand := range a.Opens.Hands {
		o.people(v, a, hand, reader)
	}
	slices.SortFunc(o.People, func(x, y OpenPerson) int { return strings.Compare(x.Name, y.Name) })
	return o
}

func personName(v *compliance.View, id inventory.ID) string {
	if p, ok := v.People.Get(id); ok {
		return p.Called
	}
	return ""
}

func stageWords(at ladder.Place) string {
	if at.Least == at.Most {
		return fmt.Sprintf("stage %d", at.Most)
	}
	return fmt.Sprintf("stage %d to %d: not all that places it is recorded", at.Least, at.Most)
}

func needs(a *compliance.Access) string {
	switch {
	case a.Opens.Third:
		return "three people: whoever handles, a back-up, and a third"
	case a.Opens.Alone:
		return "one person"
	}
	return "two people: whoever handles, and a back-up in the room"
}

func against(v *compliance.View, b compliance.Block) OpenAgainst {
	out := OpenAgainst{Side: b.Side, May: b.May}
	switch {
	case b.Judgement != nil:
		out.What = v.NameOf(b.Judgement.Key.Subject) + ": " + b.Rule.Title + ": " + words.State(b.Verdict.State)
		out.Rule, out.Layer, out.Citation = b.Rule.ID, b.Rule.Layer, b.Rule.Citation.Text
	case b.Empty:
		out.What = "no animal is recorded in it: look before you open"
	case b.State == "":
		out.What = "whether the enclosure is in service is not recorded"
	default:
		out.What = "the enclosure is " + strings.ReplaceAll(string(b.State), "-", " ")
	}
	return out
}

// people adds a person, with the reasons that the reader may read.
func (o *Open) people(v *compliance.View, a *compliance.Access, hand ladder.Hand, reader Reader) {
	p := OpenPerson{Name: personName(v, hand.Person), Primary: hand.Primary.May, BackUp: hand.BackUp}
	reasons := reasonsOf(a, hand)
	switch {
	case len(reasons) == 0:
	case reader.sees(hand.Person):
		p.Reasons = reasons
	default:
		o.Withheld = true
	}
	o.People = append(o.People, p)
}

// reasonsOf gives every reason why somebody may not open, first the ladder's.
func reasonsOf(a *compliance.Access, hand ladder.Hand) (reasons []string) {
	if no := hand.Primary.Worst; no != ladder.MayOpen {
		text := words.Refusal(no)
		if hand.Primary.Best == ladder.MayOpen {
			text += ", unless what is not recorded says otherwise"
		}
		reasons = append(reasons, text)
	}
	if hand.Why != ladder.MayOpen && hand.Why != hand.Primary.Worst {
		reasons = append(reasons, "as a back-up: "+words.Refusal(hand.Why))
	}
	for _, b := range a.ByPerson[hand.Person] {
		reasons = append(reasons, b.Rule.Title+": "+words.State(b.Verdict.State)+" ("+b.Rule.Citation.Text+")")
	}
	return reasons
}

var mayWords = map[inventory.Tri]string{inventory.Yes: "MAY", inventory.No: "MAY NOT", inventory.Unknown: "CANNOT TELL"}

// WriteText writes the answer for a terminal.
func (o *Open) WriteText(w io.Writer) error {
	p := &printer{w: w}
	p.line("%s, %s, %s: %s", o.Site, o.Enclosure, o.Task, mayWords[o.May])
	if o.Never {
		p.text("This task is never blocked by paperwork: do it, and call for help. What stands against it is said below.")
	}
	p.field("as of", o.At.Format("2006-01-02 15:04 MST")+", authorised by the records; the lead decides")
	for _, b := range o.Behind {
		p.field("behind it", b.Accession+", "+b.Species)
	}
	if o.Stage != "" {
		p.field("asks for", o.Stage+"; "+o.Needs)
	}
	for _, why := range o.CannotTell {
		p.field("CANNOT TELL", why)
	}
	for _, b := range o.Against {
		text := b.What
		if b.Citation != "" {
			text += " (" + string(b.Layer) + ": " + b.Citation + ")"
		}
		p.field(strings.ToLower(mayWords[b.May]), text)
	}
	o.writePairs(p)
	for _, person := range o.People {
		p.indented("%s: %s", person.Name, strings.Join(append([]string{personWords(person)}, person.Reasons...), "; "))
	}
	if o.Withheld {
		p.text("Who is not authorised asks the lead keeper. Reasons are for the person and the lead: ask with --for NAME.")
	}
	p.text("Not on record here, and the lead's to see: who is fit today, silent hours, whether the hospital is open. " + words.Caution)
	return p.err
}

func (o *Open) writePairs(p *printer) {
	sure, perhaps := together(o.Pairs, true), together(o.Pairs, false)
	if len(sure) > 0 {
		p.field("people who may", strings.Join(sure, "; "))
	}
	if len(perhaps) > 0 {
		p.field("cannot tell", strings.Join(perhaps, "; "))
	}
	if len(o.Pairs) == 0 && o.Stage != "" {
		p.field("people who may", "nobody: leave it shut")
	}
}

// together gives each primary with everybody who may stand by, of the pairs
// that are sure or of those that are not.
func together(pairs []OpenPair, sure bool) (all []string) {
	var primaries []string
	with := make(map[string][]string)
	for _, pair := range pairs {
		if pair.Sure != sure {
			continue
		}
		if !slices.Contains(primaries, pair.Primary) {
			primaries = append(primaries, pair.Primary)
		}
		if pair.BackUp != "" {
			with[pair.Primary] = append(with[pair.Primary], pair.BackUp)
		}
	}
	for _, name := range primaries {
		if len(with[name]) > 0 {
			name += " with " + strings.Join(with[name], " or ")
		}
		all = append(all, name)
	}
	return all
}

func personWords(p OpenPerson) string {
	switch {
	case p.Primary == inventory.Yes:
		return "may handle"
	case p.Primary == inventory.Unknown:
		return "may handle: cannot tell"
	case p.BackUp == inventory.Yes:
		return "may stand by as the back-up"
	case p.BackUp == inventory.Unknown:
		return "may stand by: cannot tell"
	}
	return "not authorised"
}
