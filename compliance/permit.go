package compliance

import (
	"fmt"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Rank is the taxonomic rank at which a paper grants.
type Rank string

// The ranks.
const (
	RankSpecies Rank = "species"
	RankGenus   Rank = "genus"
	RankFamily  Rank = "family"
	RankAny     Rank = "any" // whatever the kind of animal
)

// Grant is one line of a paper's list of animals.
type Grant struct {
	Rank   Rank     `json:"rank"`
	Taxon  string   `json:"taxon,omitempty"`
	Except []string `json:"except,omitempty"` // species names
	Max    int      `json:"max,omitempty"`    // animals; 0: no number is set
}

// Covers says whether the line lists a species.
func (g Grant) Covers(s *inventory.Species) inventory.Tri {
	if slices.ContainsFunc(g.Except, s.Called) {
		return inventory.No
	}
	switch g.Rank {
	case RankAny:
		return inventory.Yes
	case RankGenus:
		return inventory.Bool(s.Genus() == g.Taxon)
	case RankFamily:
		if s.Family == "" {
			return inventory.Unknown
		}
		return inventory.Bool(s.Family == g.Taxon)
	default:
		return inventory.Bool(s.Called(g.Taxon))
	}
}

// Outcome is what an authority decided.
type Outcome string

// The outcomes; the empty one is a decision still to come.
const (
	Granted Outcome = "granted"
	Refused Outcome = "refused"
)

// Application asks an authority to renew a paper. Days that did not happen
// are unset.
type Application struct {
	Prepared  day.Day `json:"prepared,omitzero"`
	Posted    day.Day `json:"posted,omitzero"`
	Received  day.Day `json:"received,omitzero"`
	Receipt   string  `json:"receipt,omitempty"`
	Deficient day.Day `json:"deficient,omitzero"` // told that it is not sufficient
	Decided   day.Day `json:"decided,omitzero"`
	Outcome   Outcome `json:"outcome,omitempty"`
}

// Suspension takes a paper out of force from a day on.
type Suspension struct {
	From   day.Day `json:"from"`
	Lifted day.Day `json:"lifted,omitzero"` // in force again from this day; unset: not known
}

// Permit is one paper: what it allows, to whom, where, for how many, until
// when.
type Permit struct {
	ID        inventory.ID `json:"id"`
	Number    string       `json:"number"` // unique per organisation
	Class     string       `json:"class"`  // the class that rules ask for
	Authority inventory.ID `json:"authority,omitzero"`
	// Holder is the organisation or person that it was granted to; zero:
	// unknown.
	Holder inventory.Ref `json:"holder,omitzero"`
	// Sites are the places that it names. Empty with AnyPlace false: unknown.
	Sites    []inventory.ID `json:"sites,omitempty"`
	AnyPlace bool           `json:"any_place,omitempty"`
	// Animals are named one by one on papers for single animals.
	Animals []inventory.ID `json:"animals,omitempty"`
	Grants  []Grant        `json:"grants,omitempty"`

	Issued    day.Day       `json:"issued,omitzero"`
	From      day.Day       `json:"from,omitzero"` // unset: from the issue
	Expires   day.End       `json:"expires,omitzero"`
	Renewable inventory.Tri `json:"renewable,omitzero"`
	Renews    inventory.ID  `json:"renews,omitzero"` // the paper that this one follows

	Applications []Application `json:"applications,omitempty"` // to renew this paper
	Suspensions  []Suspension  `json:"suspensions,omitempty"`
	Revoked      day.Day       `json:"revoked,omitzero"`
	Surrendered  day.Day       `json:"surrendered,omitzero"`
}

// Ref points to the permit.
func (p Permit) Ref() inventory.Ref { return inventory.Ref{Kind: inventory.KindPermit, ID: p.ID} }

// Name gives the permit's number.
func (p Permit) Name() string { return p.Number }

// Start gives the first day of validity; unset where it is not known.
func (p *Permit) Start() day.Day {
	if !p.From.IsZero() {
		return p.From
	}
	return p.Issued
}

// FirstSite gives the first place that the paper names; zero where it names
// none.
func (p *Permit) FirstSite() inventory.ID {
	if len(p.Sites) == 0 {
		return inventory.ID{}
	}
	return p.Sites[0]
}

// Lists says whether the paper's list of animals has a species.
func (p *Permit) Lists(s *inventory.Species) inventory.Tri {
	if len(p.Grants) == 0 {
		return inventory.Unknown
	}
	listed := inventory.No
	for _, g := range p.Grants {
		listed = listed.Or(g.Covers(s))
	}
	return listed
}

// Check says what is wrong with the record's own fields.
func (p Permit) Check() error {
	if err := inventory.RequiredText("number", p.Number); err != nil {
		return err
	}
	if err := CheckClass("class", p.Class); err != nil {
		return err
	}
	if last, ok := p.Expires.Known(); ok && last < p.Start() {
		return &inventory.FieldError{Field: "expires", Problem: fmt.Sprintf("%s is before the paper begins on %s", last, p.Start())}
	}
	for _, g := range p.Grants {
		if err := g.check(); err != nil {
			return err
		}
	}
	for _, s := range p.Suspensions {
		if s.From.IsZero() || !s.Lifted.IsZero() && s.Lifted < s.From {
			return &inventory.FieldError{Field: "suspensions", Problem: "must have a first day, and a lifting not before it"}
		}
	}
	for _, a := range p.Applications {
		if err := a.check(); err != nil {
			return err
		}
	}
	return nil
}

func (g Grant) check() error {
	if err := inventory.OneOf("grants.rank", g.Rank, RankSpecies, RankGenus, RankFamily, RankAny); err != nil {
		return err
	}
	if (g.Taxon == "") != (g.Rank == RankAny) {
		return &inventory.FieldError{Field: "grants.taxon", Problem: "names the taxon at the given rank, and is left out at rank any"}
	}
	if g.Max < 0 {
		return &inventory.FieldError{Field: "grants.max", Problem: "must be at least 1, or left out where the paper sets no number"}
	}
	return nil
}

func (a Application) check() error {
	if (a.Outcome == "") != a.Decided.IsZero() {
		return &inventory.FieldError{Field: "applications.outcome", Problem: "must come with the day of the decision, and only with it"}
	}
	return inventory.OneOf("applications.outcome", a.Outcome, "", Granted, Refused)
}
