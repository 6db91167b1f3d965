package compliance

import (
	"slices"
	"strings"

	"antidotary/compliance/strict"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// FactProduct is an antivenom of which no vials need be there.
type FactProduct struct {
	Name     string
	Approval string // see inventory.Product
	Basis    inventory.Basis
	Species  []string
	Full     int
	Initial  int
}

// FactPlace is where antivenom is kept.
type FactPlace struct {
	Name      string
	Elsewhere bool // at another site of the house
	Minutes   int  // until vials are at hand at the site; 0: at once, or from elsewhere nobody knows
}

// FactOrder is what the house has ordered.
type FactOrder struct {
	Number   string
	Product  string
	Place    string
	Vials    int
	Expected day.Day
	Expires  day.End
	Stages   []inventory.Stage
}

// FactAgreement is a partner's promise to hand out vials.
type FactAgreement struct {
	Number    string
	Product   string
	Minutes   int
	Access    string
	Signed    day.Day
	Until     day.End
	Ended     day.Day
	FreshDays int
	Confirmed day.Day
	Vials     int
}

// stageKeys are the keys for the steps of an order, in their order.
var stageKeys = []struct {
	key  string
	what inventory.StageKind
}{{"shipped", inventory.StageShipped}, {"at_customs", inventory.StageCustoms}, {"arrived", inventory.StageArrived},
	{"received", inventory.StageReceived}, {"cancelled", inventory.StageCancelled}}

// readSupply reads what is kept and had besides vials in the fridge. The vials
// must have been read.
func (f *Facts) readSupply(m *strict.Map) {
	for _, pm := range m.OptMaps("products") {
		p := FactProduct{Name: pm.String("name"), Species: f.speciesOf(pm), Basis: readBasis(pm),
			Full: pm.OptInt("full", 0, 1, 1000), Initial: pm.OptInt("initial", 0, 1, 1000)}
		if pm.Has("approval") {
			p.Approval = readWord(pm, "approval")
		}
		f.Products = append(f.Products, p)
	}
	for _, pm := range m.OptMaps("places") {
		p := FactPlace{Name: pm.String("name"), Elsewhere: pm.OptEnum("at", "here", "here", "elsewhere") == "elsewhere", Minutes: pm.OptInt("minutes", 0, 1, 24*60)}
		if slices.ContainsFunc(f.Places, func(o FactPlace) bool { return o.Name == p.Name }) {
			pm.Fail("name", "%q is given twice; write each place once", p.Name)
		}
		f.Places = append(f.Places, p)
	}
	for _, om := range m.OptMaps("orders") {
		f.readOrder(om)
	}
	for _, am := range m.OptMaps("agreements") {
		f.readAgreement(am)
	}
}

func (f *Facts) readOrder(m *strict.Map) {
	o := FactOrder{Number: m.String("number"), Product: m.String("product"), Place: "fridge", Vials: m.Int("vials", 1, 10000), Expected: m.OptDay("expected"),
		Stages: []inventory.Stage{{What: inventory.StageOrdered, On: m.Day("ordered")}}}
	if m.Has("place") {
		o.Place = m.String("place")
	}
	for _, s := range stageKeys {
		if on := m.OptDay(s.key); !on.IsZero() {
			o.Stages = append(o.Stages, inventory.Stage{What: s.what, On: on})
		}
	}
	m.OptText("expires", &o.Expires)
	f.needsProduct(m, o.Product)
	if o.Place != "" && !f.hasPlace(o.Place) {
		m.Fail("place", "there is no place %q in this test%s", o.Place, madeBy["place"])
	}
	failed(m, f.order(&o).Check(), o.Number)
	f.Orders = append(f.Orders, o)
}

func (f *Facts) readAgreement(m *strict.Map) {
	a := FactAgreement{Number: m.String("number"), Product: m.String("product"), Minutes: m.OptInt("minutes", 0, 1, 24*60), Access: m.OptString("access"),
		Signed: m.Day("signed"), Ended: m.OptDay("ended"), FreshDays: m.OptInt("fresh_days", 0, 1, 3650), Confirmed: m.OptDay("confirmed"), Vials: m.OptInt("vials", 0, 0, 10000)}
	m.OptText("until", &a.Until)
	f.needsProduct(m, a.Product)
	if m.Has("vials") && a.Confirmed.IsZero() {
		m.Fail("vials", "is what the partner confirmed, and confirmed is missing; write the day")
	}
	failed(m, f.agreement(&a).Check(), a.Number)
	f.Agreements = append(f.Agreements, a)
}

// failed reports what is wrong with a record as a whole; a missing number is
// told already.
func failed(m *strict.Map, err error, number string) {
	if err != nil && number != "" {
		m.Fail("", "%s", strings.TrimSpace(err.Error()))
	}
}

func (f *Facts) needsProduct(m *strict.Map, name string) {
	made := slices.ContainsFunc(f.Products, func(p FactProduct) bool { return p.Name == name }) ||
		slices.ContainsFunc(f.Vials, func(v FactVials) bool { return v.Product == name })
	if name != "" && !made {
		m.Fail("product", "%q is not a product of this test; it is made by a row of facts.products, or of facts.vials", name)
	}
}

func (f *Facts) hasPlace(name string) bool {
	return name == "fridge" || slices.ContainsFunc(f.Places, func(p FactPlace) bool { return p.Name == name }) ||
		slices.ContainsFunc(f.Vials, func(v FactVials) bool { return v.Place == name })
}

// speciesOf reads species of this test.
func (f *Facts) speciesOf(m *strict.Map) []string {
	names := m.Strings("species")
	for i, name := range names {
		if !slices.ContainsFunc(f.Species, func(s FactSpecies) bool { return s.Name == name }) {
			m.FailItem("species", i, "%q is not among the species of this test", name)
		}
	}
	return names
}

func readBasis(m *strict.Map) inventory.Basis {
	return inventory.Basis(m.OptEnum("basis", "indicated", "indicated", "immunogen", "paraspecific", "excluded"))
}

// place makes a place as the case tells of it, or an ordinary one of the site.
func (f *Facts) place(name string) inventory.Place {
	site := factID(inventory.KindSite, "")
	out := inventory.Place{ID: factID(inventory.KindPlace, name), Site: site, Title: name}
	if i := slices.IndexFunc(f.Places, func(p FactPlace) bool { return p.Name == name }); i >= 0 {
		p := &f.Places[i]
		if p.Elsewhere {
			out.Site = factID(inventory.KindSite, "elsewhere")
		}
		if p.Minutes > 0 {
			out.Reach = []inventory.Reach{{Site: site, Minutes: p.Minutes}}
		}
	}
	return out
}

// elsewhere says whether the case needs another site.
func (f *Facts) elsewhere() bool {
	return slices.ContainsFunc(f.Places, func(p FactPlace) bool { return p.Elsewhere })
}

// supply records places, products, orders and agreements; once leaves out what
// is there already.
func (f *Facts) supply(once func(inventory.Record)) {
	for _, p := range f.Places {
		once(f.place(p.Name))
	}
	for _, p := range f.Products {
		f.covers(once, p)
	}
	for i := range f.Orders {
		once(f.place(f.Orders[i].Place))
		once(f.order(&f.Orders[i]))
	}
	for i := range f.Agreements {
		once(f.agreement(&f.Agreements[i]))
	}
}

// covers records a product and what it is for.
func (f *Facts) covers(once func(inventory.Record), p FactProduct) {
	product := factID(inventory.KindProduct, p.Name)
	once(inventory.Product{ID: product, Type: p.Name, Approval: p.Approval})
	for _, name := range p.Species {
		c := inventory.Coverage{ID: factID(inventory.KindCoverage, p.Name+" "+name), Product: product, Species: factID(inventory.KindSpecies, name),
			Basis: p.Basis, Source: "the test", Certainty: inventory.Memory}
		if p.Full > 0 {
			c.Vials = inventory.Always(inventory.Vials{Full: p.Full, Initial: p.Initial})
		}
		once(c)
	}
}

func (f *Facts) order(o *FactOrder) inventory.Order {
	return inventory.Order{ID: factID(inventory.KindOrder, o.Number), Number: o.Number, Product: factID(inventory.KindProduct, o.Product),
		Place: factID(inventory.KindPlace, o.Place), From: "Supplier of the test", Vials: o.Vials, Expected: o.Expected, Labelled: o.Expires, Stages: o.Stages}
}

func (f *Facts) agreement(a *FactAgreement) inventory.Agreement {
	out := inventory.Agreement{ID: factID(inventory.KindAgreement, a.Number), Number: a.Number, Partner: "Partner of the test", Site: factID(inventory.KindSite, ""),
		Product: factID(inventory.KindProduct, a.Product), Minutes: a.Minutes, Access: a.Access, Signed: a.Signed, Until: a.Until, Ended: a.Ended, FreshDays: a.FreshDays}
	if !a.Confirmed.IsZero() {
		out.Confirmations = []inventory.Confirmation{{On: a.Confirmed, Vials: a.Vials}}
	}
	return out
}
