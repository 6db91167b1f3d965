package intake

import (
	"cmp"
	"slices"
	"strings"

	"antidotary/compliance/deed"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// batch is all rows of one lot: one for each place where it is kept.
type batch struct {
	lot      inventory.Lot
	recorded bool
	rows     []*Entry
	labelled *Entry // the first row that gives the expiry
}

// vials takes the rows of vials in, lot by lot. Where one row of a lot is
// refused, all of them are: half a lot would be recorded as the whole.
func (p *planner) vials(entries []*Entry, each func(*List, func(*Entry))) {
	batches := make(map[inventory.NaturalKey]*batch)
	var order []*batch
	for _, e := range entries {
		product, number := p.find(e, "product", p.products, e.text("product")), e.text("lot")
		place := e.text("place")
		e.Name, e.key = number, number
		p.alike(e, "lot")
		number = e.key
		if e.site = p.site(e); e.site == (inventory.ID{}) && !e.bad() {
			e.refuse("site", "is not given; a recorded site is required, in this column or by --site")
		}
		if e.bad() {
			e.key = ""
			continue
		}
		key := inventory.NaturalKey{Within: product, Name: number}
		b := batches[key]
		if b == nil {
			b = &batch{lot: inventory.Lot{ID: inventory.NewID(), Product: product, Number: number}}
			if was, ok := p.lots[key]; ok {
				b.lot, b.recorded = *was, true
			}
			batches[key] = b
			order = append(order, b)
		}
		b.rows = append(b.rows, e)
		e.key = product.String() + " " + number + " " + e.site.String() + " " + place
	}
	once(entries, "lot")
	of := make(map[*Entry]*batch, len(entries))
	for _, b := range order {
		for _, e := range b.rows {
			of[e] = b
		}
	}
	each(Lists[2], func(e *Entry) {
		if b := of[e]; b != nil {
			p.row(e, b)
		}
	})
	for _, b := range order {
		b.close()
	}
}

// row puts what one row says into the lot.
func (p *planner) row(e *Entry, b *batch) {
	today := p.today(e.site)
	received, counted := e.day(p, "received", today), e.day(p, "counted", today)
	place := e.text("place")
	vials := 0
	if text := e.text("vials"); text != "" {
		n, wrong := parseCount(text)
		if wrong != "" {
			e.refuse("vials", "%s", wrong)
		}
		vials = n
	}
	b.label(p, e)
	if e.bad() {
		return
	}
	on, reason := counted, inventory.Counted
	switch {
	case !counted.IsZero():
	case !received.IsZero() && !b.recorded:
		on, reason = received, inventory.Received
	default:
		on = today
		e.uncounted = true
	}
	condition := e.condition(!counted.IsZero())
	if e.bad() {
		return
	}
	b.count(e, p.place(e, e.site, place), place, vials, inventory.Movement{On: on, Reason: reason, Condition: condition})
	b.hold(e, on)
}

// label sets the expiry; two rows of one lot must agree on it.
func (b *batch) label(p *planner, e *Entry) {
	text := e.raw("expires")
	if text == "" {
		if last, known := b.lot.Labelled.Known(); known && b.recorded {
			e.doubts("expires", last.String())
		}
		return
	}
	last, monthOnly, wrong := parseLabel(text, p.mapping.Dates)
	if wrong != "" {
		e.refuse("expires", "%s", wrong)
		return
	}
	end := day.Until(last)
	if first := b.labelled; first != nil && (b.lot.Labelled != end || b.lot.MonthOnly != monthOnly) {
		e.refuse("expires", "%s is not the expiry of the same lot at %s, %s; one lot has one expiry", end, first.Table.Sheet.at(first.Row, first.Table.at["expires"]), b.lot.Labelled)
		return
	}
	b.labelled = cmp.Or(b.labelled, e)
	set(e, "expires", &b.lot.Labelled, end, day.End.String)
	if b.lot.MonthOnly != monthOnly {
		how := map[bool]string{true: "month only", false: "full date"}
		e.Diffs = append(e.Diffs, Difference{"label", how[b.lot.MonthOnly], how[monthOnly]})
		b.lot.MonthOnly = monthOnly
	}
}

// condition reads the condition of the row's vials. Whoever counts looks at
// them; where nobody is known to have counted, nobody is known to have looked.
func (e *Entry) condition(counted bool) inventory.Condition {
	text := e.text("condition")
	allowed := []inventory.Condition{inventory.Checked, inventory.Unchecked, inventory.Unfit, inventory.Reserve}
	switch c := inventory.Condition(strings.ToLower(text)); {
	case text == "" && counted:
		return inventory.Checked
	case text == "":
		return inventory.Unchecked
	case slices.Contains(allowed, c):
		return c
	}
	e.refuse("condition", "%q is not allowed; checked, unchecked, unfit or reserve is required, or a blank", text)
	return ""
}

// count makes the vials in a place as many as were counted, by movements on
// the day of the count. A count of days ago is compared with that day's stock.
func (b *batch) count(e *Entry, place inventory.ID, name string, vials int, how inventory.Movement) {
	there, last := b.lot.There(place, how.On), day.Day(0)
	for _, m := range b.lot.Movements {
		last = max(last, m.On)
	}
	was, is, found := 0, plain(vials), inventory.Found{Vials: vials}
	for _, n := range there {
		was += n
	}
	had := plain(was)
	if e.text("condition") != "" {
		found.By = map[inventory.Condition]int{how.Condition: vials}
		had, is = deed.Conditions(there), deed.Conditions(found.By)
	}
	more := b.lot.Adjusted(place, how.On, found, how.Condition)
	if len(more) == 0 {
		return
	}
	if b.recorded && how.On < last {
		e.refuse("vials", "%s were counted on %s where %s are recorded, and vials have moved since, on %s; a later count is required", is, how.On, had, last)
		return
	}
	e.Diffs = append(e.Diffs, Difference{"vials in " + name, had, is + " on " + how.On.String()})
	for i := range more {
		more[i].Reason = how.Reason
	}
	b.lot = b.lot.Put(more...)
}

func (b *batch) hold(e *Entry, on day.Day) {
	if i, ok := e.Table.at["hold"]; ok && isDoubt(e.Row.cell(i)) {
		e.refuse("hold", "%q leaves open whether the vials may be used; write why not, or no", tidy(e.Row.cell(i)))
		return
	}
	why := e.text("hold")
	if why == "" || strings.EqualFold(why, "no") {
		return
	}
	for _, h := range b.lot.Holds {
		if h.Released.IsZero() && h.Why == why {
			return
		}
	}
	e.Diffs = append(e.Diffs, Difference{"hold", "", why + " since " + on.String()})
	b.lot.Holds = append(b.lot.Holds[:len(b.lot.Holds):len(b.lot.Holds)], inventory.Hold{From: on, Why: why})
}

// close judges the lot once all its rows are in.
func (b *batch) close() {
	var wrong *Entry
	for _, e := range b.rows {
		if e.bad() {
			wrong = e
			break
		}
	}
	for _, e := range b.rows {
		if wrong != nil && !e.bad() {
			e.refuse("lot", "another row of lot %s was refused at %s, so this one is too; correct that one first", b.lot.Number, wrong.Mistakes[0].At)
		}
		if wrong == nil {
			settle(e, b.lot, b.recorded)
		}
	}
}

// place finds a place by its name, or makes it.
func (p *planner) place(e *Entry, site inventory.ID, name string) inventory.ID {
	key := inventory.NaturalKey{Within: site, Name: name}
	rec, ok := p.places[key]
	if !ok {
		rec = inventory.Place{ID: inventory.NewID(), Site: site, Title: name}
		p.places[key] = rec
	}
	if p.was.Lookup(rec.Ref()) == nil {
		e.needs = append(e.needs, rec)
	}
	return rec.Ref().ID
}
