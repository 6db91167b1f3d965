package intake

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/inventory/label"
)

// uglyTexts are texts that spreadsheets, CSV and XML do something to.
var uglyTexts = []string{
	"=SUM(A1)", "+44 1", "-5", "@home", "'quoted", "'=x", "''=x", "\t=x", "\r=x", "\"said\"", `a "b" c`, "'", "\"", ",", ";", "a;b|c@d", "|", "@", `\`, `\n`, `\e`, `\u{41}`, `a\`, `\.`,
	"two\nlines", "two\r\nlines", "\r", "\n", " ", "  a  b  ", "a ", " a", "\t", "a\tb", "\u00a0", "a\u00a0", "\u00a0b\u00a0c", "\u3000", "\u2028x\u2029", "\u0085", "\x01", "\x1b[0m", "\x7f", "\ufeff", "\ufeffa", "\ufffe", "\uffff", "\U0001ffff", "\ufdd0", "\ufffd",
	"\u202eright to left", "\u05d0\u05d1", "\u0645\u0631\u062d\u0628\u0627", "e\u0301", "\u00e9", "\U0001f40d", "\u200b", "\u200e",
	"001", "007.50", "1e5", "12E4", "0x1F", "1,5", "1.0", "TRUE", "FALSE", "true", "yes", "no", "never", "unknown", "?", "-", "n/a", "NaN", "Inf", "2026-03-01", "03/02/2026", "Mar-26", "1/2", "9007199254740993", "0.1",
	"#REF!", "#N/A", " #REF!", `\#REF!`, "#", "_x0041_", "_x000D_", "_x005F_x0041_", "_x", "<a>&amp;</a>", "]]>", "&#10;", "<!--", "%s", "{{.}}",
	"refused because", "export 1: animals", "id", "0190aaaa-0000-7000-8000-000000000000", "site: x", "holding: a @ b", "genus Naja", "any", "genus Naja except Naja naja: 3", "a, b", "a: 5", "Naja naja: 0", "any: 3", "Any", "genus naja",
}

// longTexts do not fit into one cell of a workbook, and are ugly where they are
// cut.
var longTexts = []string{
	strings.Repeat("long ", 8_000),
	strings.Repeat("\u00e9", 40_000),
	strings.Repeat("\U0001f40d", 20_000),
	strings.Repeat("=", 33_000),
	strings.Repeat("'", 33_000) + "=",
	strings.Repeat("\\", 20_000),
	strings.Repeat("x", 31_999) + " =y",
}

// TestLongTextsComeBack: from cells of people and of several parts.
func TestLongTextsComeBack(t *testing.T) {
	for form, export := range exports {
		for i, text := range longTexts {
			t.Run(fmt.Sprint(form, i), func(t *testing.T) {
				house := inventory.Organisation{ID: inventory.NewID(), Title: text, Victims: 1}
				site := inventory.Site{ID: inventory.NewID(), Organisation: house.ID, Title: text, Zone: "UTC",
					Contacts: []inventory.Contact{{Role: text, Title: "x", Phone: text}, {Role: "y"}}}
				place := inventory.Place{ID: inventory.NewID(), Site: site.ID, Title: text}
				product := inventory.Product{ID: inventory.NewID(), Type: text, Form: "z"}
				lot := inventory.Lot{ID: inventory.NewID(), Product: product.ID, Number: text,
					Movements: []inventory.Movement{{On: day.First, Place: place.ID, Vials: 3, Reason: inventory.Received}}}
				s, err := compliance.Batch{compliance.Record(house), compliance.Record(site), compliance.Record(place), compliance.Record(product), compliance.Record(lot)}.Apply(&compliance.Snapshot{})
				must(t, err)
				roundTrip(t, s, export)
			})
		}
	}
}

// uglyText draws a text that a database keeps.
func uglyText(t *rapid.T, label string) string {
	switch rapid.IntRange(0, 3).Draw(t, label+"?") {
	case 0:
		return ""
	case 1:
		return strings.ReplaceAll(strings.ToValidUTF8(rapid.String().Draw(t, label), ""), "\x00", "")
	}
	return rapid.SampledFrom(uglyTexts).Draw(t, label)
}

// enums give what a word may be.
var enums = map[reflect.Type][]any{
	reflect.TypeFor[inventory.SiteUse]():        {inventory.SiteUse(""), inventory.UseZoo, inventory.UseTrade},
	reflect.TypeFor[inventory.EnclosureState](): {inventory.EnclosureState(""), inventory.InService, inventory.HandsOff},
	reflect.TypeFor[inventory.Certainty]():      {inventory.Certainty(""), inventory.Read, inventory.Derived},
	reflect.TypeFor[inventory.Basis]():          {inventory.Indicated, inventory.Excluded},
	reflect.TypeFor[inventory.Stocking]():       {inventory.Stocking(""), inventory.OwnStock, inventory.OutsideOnly},
	reflect.TypeFor[inventory.StageKind]():      {inventory.StageOrdered, inventory.StageShipped, inventory.StageArrived},
	reflect.TypeFor[inventory.Departure]():      {inventory.Died, inventory.Lent},
	reflect.TypeFor[inventory.Reason]():         {inventory.Received, inventory.Counted},
	reflect.TypeFor[inventory.Condition]():      {inventory.Condition(""), inventory.Checked, inventory.Unfit},
	reflect.TypeFor[inventory.PlanKind]():       {inventory.PlanArrival, inventory.PlanVials, inventory.PlanLeaving},
	reflect.TypeFor[compliance.Role]():          {compliance.Head, compliance.Keeper},
	reflect.TypeFor[compliance.Rank]():          {compliance.RankSpecies, compliance.RankGenus, compliance.RankFamily, compliance.RankAny},
	reflect.TypeFor[compliance.Outcome]():       {compliance.Outcome(""), compliance.Granted, compliance.Refused},
	reflect.TypeFor[compliance.Topic]():         {compliance.TopicAnimals, compliance.TopicStock, compliance.TopicPapers},
	reflect.TypeFor[compliance.Ruling]():        {compliance.RunDown, compliance.HoldWithout, compliance.WorksAlone},
	reflect.TypeFor[ladder.Level]():             {ladder.Look, ladder.Hook, ladder.Recapture},
	reflect.TypeFor[ladder.What]():              {ladder.StageGrant, ladder.SpeciesGrant, ladder.Suspension, ladder.Clearance, ladder.SetBack},
	reflect.TypeFor[ladder.Proof]():             {ladder.Log, ladder.CertificateOfIt},
	reflect.TypeFor[inventory.Tri]():            {inventory.Unknown, inventory.No, inventory.Yes},
	reflect.TypeFor[day.End]():                  {day.End{}, day.Forever(), day.Until(day.First), day.Until(day.MustParse("2027-02-28"))},
}

// words give what a text must be where a record's check wants more than text.
var wordsOf = map[string][]string{
	"site.zone": {"Europe/London", "America/New_York"}, "authority.zone": {"Europe/London"},
	"site.jurisdiction.value": {"", "gb/eaw", "us/fl"}, "species.native_to": {"th", "in/as"},
	"species.accepted_name": {"Naja kaouthia", "Naja naja", "Vipera berus", "Bitis arietans"}, "species.synonyms": {"Naja sputatrix"},
	"animal.origin.region": {"", "th/10", "in"}, "coverage.locality": {"", "th", "in/tn"}, "product.approval": {"", "x.y"},
	"supply.paper": {"", "import-licence"}, "supply.currency": {"", "GBP", "JPY"}, "agreement.access": {"", "any-time", "mon-fri 08:00-18:00, sat 09:00-12:00"},
	"permit.class": {"dwa-licence", "x.y"}, "activity.what": {"drill.escape", "count"}, "activity.fields": {"banner", "owner", "scientific-name"},
	"product.gtins": tradeItems(), "session.results": {"", "c", "cps"},
}

// tradeItems are so many that two products seldom draw the same.
func tradeItems() (all []string) {
	for i := range 400 {
		before := fmt.Sprintf("%013d", i*i*7919)
		check, _ := label.CheckDigit(before)
		all = append(all, before+string(check))
	}
	return all
}

// maker makes random records that may refer to those made before.
type maker struct {
	*rapid.T
	ids map[inventory.Kind][]inventory.ID
}

func (m *maker) one(kind inventory.Kind, label string) inventory.ID {
	ids := m.ids[kind]
	if len(ids) == 0 || rapid.IntRange(0, 5).Draw(m.T, label+"?") == 0 {
		return inventory.ID{}
	}
	return rapid.SampledFrom(ids).Draw(m.T, label)
}

// fill draws a value for a field, however deep.
func (m *maker) fill(v reflect.Value, path string) {
	if allowed, ok := enums[v.Type()]; ok {
		v.Set(reflect.ValueOf(rapid.SampledFrom(allowed).Draw(m.T, path)))
		return
	}
	switch v.Type() {
	case reflect.TypeFor[inventory.ID]():
		v.Set(reflect.ValueOf(m.one(refersTo[path], path)))
		return
	case reflect.TypeFor[inventory.Ref]():
		m.ref(v, path)
		return
	case reflect.TypeFor[time.Time]():
		v.Set(reflect.ValueOf(rapid.SampledFrom([]time.Time{{}, time.Date(2026, 2, 3, 20, 0, 5, 0, time.UTC)}).Draw(m.T, path)))
		return
	case reflect.TypeFor[day.Day]():
		v.SetInt(int64(rapid.SampledFrom([]day.Day{0, day.First, day.Last, day.MustParse("2026-02-03")}).Draw(m.T, path)))
		return
	}
	switch v.Kind() {
	case reflect.String:
		if allowed, ok := wordsOf[path]; ok {
			v.SetString(rapid.SampledFrom(allowed).Draw(m.T, path))
			return
		}
		v.SetString(uglyText(m.T, path))
	case reflect.Int:
		v.SetInt(int64(rapid.SampledFrom([]int{0, 1, 2, 5, -3, 8000, 1 << 30}).Draw(m.T, path)))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(m.T, path))
	case reflect.Pointer:
		if rapid.Bool().Draw(m.T, path) {
			v.Set(reflect.New(v.Type().Elem()))
			m.fill(v.Elem(), path)
		}
	case reflect.Slice:
		for range rapid.IntRange(0, 3).Draw(m.T, path) {
			item := reflect.New(v.Type().Elem()).Elem()
			m.fill(item, path)
			v.Set(reflect.Append(v, item))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			m.fill(v.Field(i), path+"."+fieldName(v.Type().Field(i)))
		}
	default:
		m.Fatalf("nothing draws a %s for %s", v.Type(), path)
	}
}

func (m *maker) ref(v reflect.Value, path string) {
	kinds := []inventory.Kind{inventory.KindNone, inventory.KindSite, inventory.KindPerson, inventory.KindAnimal, inventory.KindPlace, inventory.KindLot, inventory.KindPermit, inventory.KindActivity, inventory.KindHolding}
	if path == "placement.subject" {
		kinds = []inventory.Kind{inventory.KindSpecies, inventory.KindAnimal}
	}
	kind := rapid.SampledFrom(kinds).Draw(m.T, path)
	ref := inventory.Ref{Kind: kind}
	if kind == inventory.KindHolding {
		ref = inventory.Holding(m.one(inventory.KindSpecies, path), m.one(inventory.KindSite, path))
		if ref.At == (inventory.ID{}) {
			ref = inventory.Ref{}
		}
	} else {
		ref.ID = m.one(kind, path)
	}
	if ref.ID == (inventory.ID{}) {
		ref = inventory.Ref{}
	}
	v.Set(reflect.ValueOf(ref))
}

// plainText is the text where a record takes it on one line, else none.
func plainText(text string) string {
	if inventory.RequiredText("text", text) != nil {
		return ""
	}
	return text
}

// inOrder sorts what a record's check wants sorted.
func inOrder(rec reflect.Value) {
	switch r := rec.Addr().Interface().(type) {
	case *inventory.Animal:
		slices.SortStableFunc(r.Stays, func(a, b inventory.Stay) int { return cmp.Compare(a.From, b.From) })
	case *inventory.Lot:
		slices.SortStableFunc(r.Movements, func(a, b inventory.Movement) int { return cmp.Compare(a.On, b.On) })
		for i := range r.Extensions {
			e := &r.Extensions[i]
			e.Noticed = max(e.Noticed, day.First)
			e.Until = max(e.Until, e.Noticed)
			if inventory.RequiredText("x", e.Reference) != nil {
				e.Reference = "=notice; | @ home"
			}
		}
		for i := range r.Movements {
			m := &r.Movements[i]
			m.Loan, m.Unwitnessed = 0, plainText(m.Unwitnessed) // no reason here is a loan's
			if m.Witness == m.By {
				m.Witness = inventory.ID{}
			}
		}
		r.Promises = slices.DeleteFunc(r.Promises, func(p inventory.Promise) bool { return p.Place == (inventory.ID{}) })
		for i := range r.Promises {
			p := &r.Promises[i]
			p.Number, p.From, p.Vials = i+1, max(p.From, day.First), max(p.Vials, 1)
			p.Until, p.Ended = max(p.Until, p.From), max(p.Ended, p.From)
			p.To, p.Why = cmp.Or(plainText(p.To), "Tern Hospital"), plainText(p.Why)
		}
		for i := range r.Loans {
			n := &r.Loans[i]
			n.Number, n.Borrower, n.Due = i+1, cmp.Or(plainText(n.Borrower), "Tern Hospital"), max(n.Due, 0)
			n.Physician, n.Purpose, n.Terms = plainText(n.Physician), plainText(n.Purpose), plainText(n.Terms)
		}
	case *inventory.Order:
		r.Vials = max(r.Vials, 1)
		if len(r.Stages) == 0 {
			r.Stages = make([]inventory.Stage, 1)
		}
		for i := range r.Stages {
			r.Stages[i].On = max(r.Stages[i].On, day.First)
		}
		slices.SortStableFunc(r.Stages, func(a, b inventory.Stage) int { return cmp.Compare(a.On, b.On) })
		for i := range r.Stages { // each once, in the order in which they may follow
			r.Stages[i].What = []inventory.StageKind{inventory.StageOrdered, inventory.StageShipped, inventory.StageArrived}[min(i, 2)]
		}
		if !r.Expected.IsZero() {
			r.Expected = max(r.Expected, r.Stages[0].On)
		}
	case *inventory.Agreement:
		slices.SortStableFunc(r.Confirmations, func(a, b inventory.Confirmation) int { return cmp.Compare(a.On, b.On) })
	case *compliance.Feed:
		slices.Sort(r.Confirmed)
	case *compliance.Person:
		if !r.Joined.IsZero() && r.Born >= r.Joined {
			r.Born = 0
		}
		slices.SortFunc(r.Away, func(a, b compliance.Absence) int { return cmp.Compare(a.From, b.From) })
		r.Away = slices.CompactFunc(r.Away, func(a, b compliance.Absence) bool { return a.From == b.From })
		r.Away = slices.DeleteFunc(r.Away, func(a compliance.Absence) bool { return a.From.IsZero() })
		for i := range r.Away {
			if r.Away[i].Last = 0; i+1 < len(r.Away) {
				r.Away[i].Last = r.Away[i].From
			}
		}
	case *ladder.Session:
		handled(r)
	case *ladder.Authorisation:
		authorised(r)
	case *ladder.Credit:
		r.Signers = slices.DeleteFunc(r.Signers, func(id inventory.ID) bool { return id == r.Person })
		r.First, r.Days, r.Hours, r.Repetitions, r.Percent = min(max(r.First, day.First), r.On), min(max(r.Days, 0), 1), min(max(r.Hours, 0), 24), max(r.Repetitions, 0), max(r.Percent, 0)%101
		r.Last = r.First
	case *ladder.Placement:
		r.Stage = 1 + max(r.Stage, 0)%ladder.TopStage
	case *inventory.Place:
		r.Reach = slices.DeleteFunc(r.Reach, func(x inventory.Reach) bool { return x.Site == (inventory.ID{}) || x.Minutes < 1 })
		r.Reach = r.Reach[:min(len(r.Reach), 1)]
	case *inventory.Organisation:
		r.Victims = 1 + max(r.Victims, 0)%9
	}
}

// handled makes a session what its check wants: its instants on its day.
func handled(s *ladder.Session) {
	at := day.StartOf(s.On, time.UTC)
	if s.Mentor == s.Trainee {
		s.Mentor = inventory.ID{}
	}
	if s.Watched == inventory.No {
		s.Mentor, s.Signed = inventory.ID{}, time.Time{}
	}
	for i, instant := range []*time.Time{&s.Begun, &s.Ended, &s.Signed} {
		if !instant.IsZero() {
			*instant = at.Add(time.Duration(i+1) * time.Hour)
		}
	}
}

// authorised leaves what the kind of authorisation may have, and people who
// may sign.
func authorised(a *ladder.Authorisation) {
	if !a.At.IsZero() {
		a.At = day.StartOf(a.On, time.UTC)
	}
	if a.Mentor == a.Person {
		a.Mentor = inventory.ID{}
	}
	a.Signers = slices.DeleteFunc(a.Signers, func(id inventory.ID) bool { return id == a.Person || id == a.Mentor || id == inventory.ID{} })
	a.Signers = a.Signers[:min(len(a.Signers), 1)]
	if !a.What.Grants() {
		a.Founding = ""
	}
	if a.What.Adverse() && plainText(a.Reason) == "" {
		a.Reason = "=said | @ noon; "
	}
	if a.What != ladder.SpeciesGrant {
		a.Level = 0
	} else {
		a.Level = max(a.Level, ladder.Closed)
	}
	if a.What != ladder.SpeciesGrant && a.What != ladder.SetBack {
		a.Species = inventory.ID{}
	}
	if a.Stage = max(a.Stage, 0) % (ladder.TopStage + 1); a.Species != (inventory.ID{}) {
		a.Stage = 0
	}
}

// mended takes fields away until the record's check holds.
func (m *maker) mended(l *wholeList, rec reflect.Value) bool {
	for i := range rec.NumField() + 1 {
		inOrder(rec)
		r, _ := l.change(rec)
		if r.Check() == nil {
			return true
		}
		if i < rec.NumField() && i > 0 {
			if k := rec.Field(i).Kind(); k == reflect.Slice || k == reflect.Pointer || rec.Field(i).Type() == reflect.TypeFor[day.End]() || rec.Field(i).Type() == reflect.TypeFor[time.Time]() {
				rec.Field(i).SetZero()
			}
		}
	}
	return false
}

// uglyHouse makes a house of which any text may be ugly.
func uglyHouse(t *rapid.T) *compliance.Snapshot {
	m := &maker{t, make(map[inventory.Kind][]inventory.ID)}
	s := &compliance.Snapshot{}
	for _, l := range wholeLists {
		most := 4
		if l.kind == inventory.KindOrganisation {
			most = 1
		}
		for n := range rapid.IntRange(1, most).Draw(t, l.name) {
			empty, _ := l.get(s, inventory.ID{})
			rec := reflect.New(empty.Type()).Elem()
			id := inventory.NewID()
			for i := 1; i < rec.NumField(); i++ {
				m.fill(rec.Field(i), l.kind.String()+"."+fieldName(rec.Type().Field(i)))
			}
			rec.FieldByName("ID").Set(reflect.ValueOf(id))
			for _, required := range []string{"Title", "Code", "Accession", "Number", "Type", "Called", "Source", "Why", "Consequence", "Supplier", "Partner", "Where", "Taxon", "Reason"} {
				if f := rec.FieldByName(required); f.IsValid() && inventory.RequiredText("x", f.String()) != nil {
					f.SetString(fmt.Sprint("=", n, " @ home; "))
				}
			}
			for _, required := range []string{"On", "Complete", "From", "Signed"} {
				if f := rec.FieldByName(required); f.IsValid() && f.Type() == reflect.TypeFor[day.Day]() && f.IsZero() {
					f.SetInt(int64(day.First))
				}
			}
			if !m.mended(l, rec) {
				continue
			}
			_, change := l.change(rec)
			if next, err := change.Apply(s); err == nil {
				s = next
				m.ids[l.kind] = append(m.ids[l.kind], id)
			}
		}
	}
	return s
}

// TestUglyHousesComeBack: whatever the texts are. Each kind is drawn often
// enough to mean something.
func TestUglyHousesComeBack(t *testing.T) {
	for form, export := range exports {
		t.Run(form, func(t *testing.T) {
			drawn, filled := make(map[string]int), make(map[string]int)
			rapid.Check(t, func(t *rapid.T) {
				s := uglyHouse(t)
				for _, l := range wholeLists {
					for rec := range l.all(s) {
						drawn[l.name]++
						for _, c := range l.columns {
							if v, ok := c.of(rec); ok && !v.IsZero() {
								filled[l.name+": "+c.name]++
							}
						}
					}
				}
				roundTrip(t, s, export)
			})
			for _, l := range wholeLists {
				if drawn[l.name] < 10 {
					t.Errorf("%s: only %d records were drawn", l.name, drawn[l.name])
				}
				for _, c := range l.columns {
					if filled[l.name+": "+c.name] == 0 {
						t.Errorf("%s: %s was never filled", l.name, c.name)
					}
				}
			}
		})
	}
}

// TestCells: every text comes back from a cell, whatever parts cells.
func TestCells(t *testing.T) {
	const signs = ";|,@"
	rapid.Check(t, func(t *rapid.T) {
		texts := []string{uglyText(t, "first"), uglyText(t, "second")}
		var cells []string
		for _, text := range texts {
			cell := celled(text, signs)
			if back, err := uncelled(cell); err != nil || back != text {
				t.Fatalf("%q, written %q, came back %q, %v", text, cell, back, err)
			}
			if spreadsheetError(cell) || strings.ContainsAny(cell, "\r\n\t") || !utf8.ValidString(cell) {
				t.Fatalf("%q is written %q", text, cell)
			}
			if cell == "" {
				cell = nothing
			}
			cells = append(cells, cell)
		}
		for _, sign := range signs {
			parts := partedAt(cells[0]+" "+string(sign)+" "+cells[1], byte(sign))
			if len(parts) != 2 {
				t.Fatalf("%q has %d parts", cells, len(parts))
			}
			for i, part := range parts {
				if back, err := uncelled(part); err != nil || back != texts[i] {
					t.Fatalf("%q came back %q, %v", texts[i], back, err)
				}
			}
		}
	})
}
