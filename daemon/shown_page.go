package daemon

import (
	"cmp"
	"slices"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/store"
	"antidotary/daemon/web"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// pageOf puts one judging into what the page shows.
func pageOf(r *compliance.Report, c *answer.Check, since *store.Since, zone *time.Location) *web.Page {
	return &web.Page{Check: c, Parts: web.Tasks(c, holdersOf(r.View)), Since: sinceOf(r, since, zone),
		Months: monthsOf(r), Covers: coversOf(r.View.Book), Zone: zone}
}

func coversOf(book *compliance.Rulebook) (out web.Covers) {
	for _, p := range book.Packs {
		shown := web.Pack{Title: p.Title, Layer: words.Layer(p.Layer), Area: p.Area, Edition: cmp.Or(p.Edition, "not recorded"),
			Rules: len(p.Rules), ReadOn: p.ReadOn, ReviewBy: p.ReviewBy}
		for _, l := range book.Lifts() {
			if l.How == compliance.Preempts && l.By.Pack == p {
				shown.Cancels = append(shown.Cancels, l.By.ID+" is taken to cancel "+l.Rule.ID)
			}
		}
		out.Packs = append(out.Packs, shown)
	}
	return out
}

// holdersOf says who holds a role at a site today, whether or not they can be
// mailed.
func holdersOf(v *compliance.View) web.Holders {
	type office struct {
		role compliance.Role
		site string
	}
	everywhere := make(map[compliance.Role][]string)
	at, anywhere := make(map[office][]string), make(map[compliance.Role][]string)
	for p := range v.People.All() {
		for _, o := range p.Offices {
			if today := v.Today(o.Site); !p.Here(today) || !o.Holds(today) {
				continue
			}
			anywhere[o.Role] = append(anywhere[o.Role], p.Called)
			if o.Site == (inventory.ID{}) {
				everywhere[o.Role] = append(everywhere[o.Role], p.Called)
			} else {
				k := office{o.Role, v.Site(o.Site).Title}
				at[k] = append(at[k], p.Called)
			}
		}
	}
	return func(role compliance.Role, site string) []string {
		names := anywhere[role]
		if site != "" {
			names = slices.Concat(everywhere[role], at[office{role, site}])
		}
		names = slices.Sorted(slices.Values(names))
		return slices.Compact(names)
	}
}

// monthsAhead is how many months the picture shows, this one included.
const monthsAhead = 18

// monthsOf counts what would happen if nobody did anything: the same turns as
// answer.Ahead tells of, without its words, which a network has too many of.
func monthsOf(r *compliance.Report) *web.Months {
	from := r.View.Today(inventory.ID{})
	m := &web.Months{From: from}
	for first := from; len(m.Rows) < monthsAhead; first = first.EndOfMonth().Add(1) {
		m.Rows = append(m.Rows, web.Month{First: first, Last: first.EndOfMonth()})
	}
	m.Until = m.Rows[monthsAhead-1].Last
	for _, j := range r.Judgements {
		ahead(m, j.Combined(), r.View.Today(j.Site(from)))
	}
	return m
}

func ahead(m *web.Months, line compliance.Line, today day.Day) {
	was := line.At(today)
	var acts []day.Day
	act := func(v *compliance.Verdict) {
		if by := v.Step.By; by >= today && by <= m.Until && !slices.Contains(acts, by) {
			acts = append(acts, by)
		}
	}
	act(was)
	for on, is := range line.Changes() {
		if on <= today || on > m.Until {
			continue
		}
		act(is)
		switch row := monthOf(m, on); {
		case is.Standing == was.Standing:
		case is.Standing == compliance.OutOfOrder:
			row.Out++
		case is.Standing == compliance.CannotTell:
			row.Unknown++
		}
		if was.Standing == compliance.InOrder && is.Standing.Bad() && (m.FirstLapse.IsZero() || on < m.FirstLapse) {
			m.FirstLapse = on
		}
		was = is
	}
	for _, by := range acts {
		monthOf(m, by).Act++
	}
}

// monthOf finds the month of a day; a site whose day is not that of UTC may be
// one before the first.
func monthOf(m *web.Months, on day.Day) *web.Month {
	year, month, _ := on.Date()
	firstYear, firstMonth, _ := m.From.Date()
	i := (year-firstYear)*12 + int(month-firstMonth)
	return &m.Rows[min(max(i, 0), len(m.Rows)-1)]
}
