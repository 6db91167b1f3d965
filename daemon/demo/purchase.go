package demo

import (
	"fmt"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Invented suppliers, all of them.
const (
	depot   = "Quillport Serum Depot (fictional)"
	shipper = "Saltmarsh Antivenom Shipping (fictional)"
)

// offers: prices, leads, lives and places are invented. What comes from abroad
// needs an import paper and passes customs.
var offers = []struct {
	product, supplier string
	pack, least       int // vials; packs
	price, fee        int // pence
	lead              int // days to the door
	abroad            bool
	life              int // days in date on arrival
	from, ends        int // days from today; ends 0: it stands
}{
	{ovineFab, depot, 2, 3, 4_100_00, 60_00, 21, false, 720, -300, 0},
	{coral, depot, 1, 3, 2_350_00, 60_00, 75, false, 600, -300, 0},
	{viperFab, depot, 1, 2, 980_00, 45_00, 40, false, 540, -300, 0},
	{viperFab, depot, 4, 1, 3_700_00, 45_00, 40, false, 540, -300, 0}, // the same in a larger pack
	{southAfrican, shipper, 10, 1, 2_900_00, 410_00, 180, true, 700, -200, 0},
	{boomslang, shipper, 1, 2, 1_650_00, 410_00, 180, true, 700, -200, 0},
	{indian, shipper, 10, 1, 640_00, 380_00, 180, true, 900, -200, 0},
	{malayan, shipper, 1, 4, 145_00, 380_00, 180, true, 900, -200, 0},
	{malayan, depot, 1, 1, 310_00, 45_00, 260, false, 800, -200, 0}, // later, in single vials
	{thaiNeuro, shipper, 1, 4, 160_00, 380_00, 180, true, 900, -200, 0},
	{thaiNeuro, shipper, 1, 4, 120_00, 350_00, 180, true, 900, -560, -201}, // before the price rose
	{thaiNeuro, depot, 5, 1, 1_500_00, 45_00, 260, false, 800, -200, 0},
}

// orders: days from today. The first comes before the lot that it replaces
// ends; the second should have come, so nothing counts on it.
var orders = []struct {
	number, product, place string
	vials                  int
	ordered                int
	stage                  inventory.StageKind // since its day
	since, expected        int
	ends                   int // last good day on the labels
}{
	{"DEMO-O1", thaiNeuro, larkspurFridge, 4, -180, inventory.StageShipped, -12, 40, 640},
	{"DEMO-O2", indian, wrenFridge, 10, -260, inventory.StageCustoms, -35, -20, 700},
}

// agreements with the invented hospitals of the contacts of the sites: one is
// fresh; of the other nobody has asked for four months, so it counts for nothing.
var agreements = []struct {
	number, partner, site, product string
	minutes                        int
	access                         string
	vials, confirmed               int
}{
	{"DEMO-A1", "Fictional County Hospital", larkspur, coral, 35, inventory.AnyTime, 5, -6},
	{"DEMO-A2", "Fictional Vale Infirmary", wren, viperFab, 50, inventory.AnyTime, 2, -120},
}

// purchases records what suppliers offer, what is ordered, and what partners
// have agreed to hand out.
func (b *builder) purchases() {
	for _, o := range offers {
		s := inventory.Supply{ID: offerID(o.product, o.supplier, o.pack, o.from), Product: productID(o.product), Supplier: o.supplier, PackSize: o.pack,
			MinPacks: o.least, PackPrice: o.price, OrderFee: o.fee, Currency: "GBP", LeadDays: o.lead, CheckDays: 2, Life: o.life,
			From: b.in(o.from), Until: day.Forever(), Source: "invented"}
		if o.abroad {
			s.Paper, s.PaperDays, s.CustomsDays = "import-licence", 45, 13
		}
		if o.ends != 0 {
			s.Until = b.until(o.ends)
		}
		put(b, s)
	}
	for _, o := range orders {
		put(b, inventory.Order{ID: id(inventory.KindOrder, o.number), Number: o.number, Product: productID(o.product), Place: placeID(o.place),
			Supply: offerID(o.product, shipper, packOf(o.product), -200), Vials: o.vials, Expected: b.in(o.expected), Labelled: b.until(o.ends),
			Stages: []inventory.Stage{{What: inventory.StageOrdered, On: b.in(o.ordered)}, {What: o.stage, On: b.in(o.since)}}})
	}
	for _, a := range agreements {
		put(b, inventory.Agreement{ID: id(inventory.KindAgreement, a.number), Number: a.number, Partner: a.partner, Site: siteID(a.site),
			Product: productID(a.product), Minutes: a.minutes, Access: a.access, Signed: b.in(-400), Until: b.until(330), FreshDays: 31,
			Confirmations: []inventory.Confirmation{{On: b.in(a.confirmed), By: personID(odo), Vials: a.vials}}})
	}
}

func offerID(product, supplier string, pack, from int) inventory.ID {
	return id(inventory.KindSupply, fmt.Sprint(supplier, " ", product, " ", pack, " ", from))
}

// packOf gives the pack of the shipper's offer that stands.
func packOf(product string) (pack int) {
	for _, o := range offers {
		if o.product == product && o.supplier == shipper && o.ends == 0 {
			pack = o.pack
		}
	}
	return pack
}
