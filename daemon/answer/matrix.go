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

// Matrix answers, for each site, who may open which species up to what task
// and until when: people by species. It is void after a day.
type Matrix struct {
	Telling
	Format   int          `json:"format"`
	Now      time.Time    `json:"now"`
	Sites    []MatrixSite `json:"sites"`
	Withheld bool         `json:"withheld,omitempty"`
}

// MatrixSite is one site's matrix.
type MatrixSite struct {
	Site       string          `json:"site"`
	On         day.Day         `json:"on"`
	VoidAfter  day.Day         `json:"void_after"` // the last day before anything in it changes by itself
	CannotTell []string        `json:"cannot_tell,omitempty"`
	Species    []MatrixSpecies `json:"species"`
}

// MatrixSpecies is a row: everybody who may open a species, or was signed off
// for it.
type MatrixSpecies struct {
	Species string       `json:"species"`
	Stage   string       `json:"stage"`
	Cells   []MatrixCell `json:"people"`
}

// MatrixCell is one person and one species.
type MatrixCell struct {
	Person string        `json:"person"`
	May    inventory.Tri `json:"may"`
	Task   string        `json:"task,omitempty"` // the highest allowed
	Until  day.Day       `json:"until,omitzero"` // the last day, if nothing more is recorded; unset: no end
	Why    string        `json:"why,omitempty"`  // why not, for whoever may read it
	Then   string        `json:"then,omitempty"` // why not after the last day
}

// NewMatrix makes the answer for the sites, as of their today.
func NewMatrix(r *compliance.Report, sites []inventory.ID, reader func(site inventory.ID) Reader) *Matrix {
	v := r.View
	m := &Matrix{Telling: Telling{!v.House().Mailed}, Format: Format, Now: v.Ask.Now.UTC(), Sites: []MatrixSite{}}
	for _, site := range sites {
		m.Sites = append(m.Sites, m.at(v, site, reader(site)))
	}
	return m
}

func (m *Matrix) at(v *compliance.View, site inventory.ID, reader Reader) MatrixSite {
	on := v.Today(site)
	out := MatrixSite{Site: v.Site(site).Title, On: on, VoidAfter: on.Add(7), Species: []MatrixSpecies{}}
	standings := v.Standings(site)
	if standings == nil {
		out.CannotTell = append(out.CannotTell, "no ladder says how people are brought on here")
		return out
	}
	for _, reason := range v.HandlingDoubt(site, on) {
		out.CannotTell = append(out.CannotTell, words.Reason(reason))
	}
	for _, species := range v.HeldAt(site, on) {
		row := MatrixSpecies{Species: v.NameOf(inventory.Ref{Kind: inventory.KindSpecies, ID: species}), Stage: stageWords(standings.PlaceOf(species, on))}
		for _, p := range v.Handlers(site) {
			if !p.Here(on) {
				continue
			}
			if cell, ok := m.cell(standings, p, species, on, reader); ok {
				row.Cells = append(row.Cells, cell)
				if !cell.Until.IsZero() && cell.Until < out.VoidAfter {
					out.VoidAfter = cell.Until
				}
			}
		}
		out.Species = append(out.Species, row)
	}
	slices.SortFunc(out.Species, func(a, b MatrixSpecies) int { return strings.Compare(a.Species, b.Species) })
	return out
}

// cell is one person and species; ok false: he never was signed off for it,
// and may not open it.
func (m *Matrix) cell(s *ladder.Standings, p *compliance.Person, species inventory.ID, on day.Day, reader Reader) (MatrixCell, bool) {
	cell := MatrixCell{Person: p.Called}
	for level := ladder.LastLevel; level > ladder.Look; level-- {
		a := s.May(p.ID, species, level, on, 0)
		if a.May == inventory.No {
			continue
		}
		cell.May, cell.Task = a.May, level.String()
		if a.May == inventory.Yes {
			m.until(&cell, s, p.ID, species, level, on, reader)
		} else {
			m.why(&cell, p.ID, words.Refusal(a.Worst)+", unless what is not recorded says otherwise", reader)
		}
		return cell, true
	}
	if !slices.Contains(s.Signed(p.ID), species) {
		return cell, false
	}
	cell.May = inventory.No
	m.why(&cell, p.ID, words.Refusal(s.May(p.ID, species, ladder.Closed, on, 0).Worst), reader)
	return cell, true
}

func (m *Matrix) until(cell *MatrixCell, s *ladder.Standings, person, species inventory.ID, level ladder.Level, on day.Day, reader Reader) {
	lapse := s.Lapses(person, species, level, on)
	if lapse.On.IsZero() {
		return
	}
	cell.Until = lapse.On - 1
	if reader.sees(person) {
		cell.Then = words.Refusal(lapse.Why)
	}
}

func (m *Matrix) why(cell *MatrixCell, person inventory.ID, why string, reader Reader) {
	if reader.sees(person) {
		cell.Why = why
	} else {
		m.Withheld = true
	}
}

// WriteText writes the answer for a terminal.
func (m *Matrix) WriteText(w io.Writer) error {
	p := &printer{w: w}
	for _, site := range m.Sites {
		site.write(p)
	}
	if len(m.Sites) == 0 {
		p.text("No site is recorded.")
	}
	if m.Withheld {
		p.text("Who is not authorised asks the lead keeper. Reasons are for the person and the lead: ask with --for NAME.")
	}
	p.text("Authorised by the records; the lead decides. Ask open ENCLOSURE before you open: papers, cover and pairs are not in this list. " + words.Caution)
	return p.err
}

func (s *MatrixSite) write(p *printer) {
	p.line("%s, %s; void after %s", s.Site, words.Day(s.On), words.Day(s.VoidAfter))
	for _, why := range s.CannotTell {
		p.field("CANNOT TELL", why+" What follows is by the records alone.")
	}
	for _, row := range s.Species {
		p.line("%s (%s)", row.Species, row.Stage)
		if len(row.Cells) == 0 {
			p.indented("nobody is signed off")
		}
		for _, cell := range row.Cells {
			p.indented("%s", cell.words())
		}
	}
	p.line("")
}

func (c MatrixCell) words() string {
	text := c.Person + ": "
	switch c.May {
	case inventory.Yes:
		text += "up to " + c.Task
		if !c.Until.IsZero() {
			text += ", last day " + words.Day(c.Until)
		}
		if c.Then != "" {
			text += fmt.Sprintf(" (then: %s)", c.Then)
		}
		return text
	case inventory.Unknown:
		text += "cannot tell"
	default:
		text += "not authorised"
	}
	if c.Why != "" {
		text += ": " + c.Why
	}
	return text
}
