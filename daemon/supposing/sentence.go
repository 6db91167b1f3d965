package supposing

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/daemon/naming"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Sentences says what can be supposed, each with an example.
var Sentences = []string{
	"arrive COUNT SPECIES DAY SITE       arrive 3 Naja kaouthia 2027-05-12 Wren Cottage",
	"litter COUNT SPECIES DAY SITE       litter 12 Vipera berus 2027-08-01 Wren Cottage",
	"leave ANIMAL or PERSON DAY          leave LH-014 2027-03-01",
	"lose PAPER DAY                      lose DWA-302 2027-02-01",
	"receive VIALS PRODUCT DAY PLACE until END    receive 10 ... 2027-04-01 Wren fridge until 2029-05",
}

// Supposed is what a sentence supposes.
type Supposed struct {
	compliance.Change
	About inventory.Ref // what it concerns most
	On    day.Day
}

// sentence is a way to suppose something.
type sentence struct {
	shape *regexp.Regexp
	means func(n *naming.Names, parts []string) (Supposed, error)
}

const aDay = `(\d{4}-\d{2}-\d{2}|today|tomorrow)`

var sentences = map[string]sentence{
	"arrive":  {regexp.MustCompile(`^(\d+) (.+?) ` + aDay + ` (.+)$`), coming(inventory.Unknown)},
	"litter":  {regexp.MustCompile(`^(\d+) (.+?) ` + aDay + ` (.+)$`), coming(inventory.Yes)},
	"leave":   {regexp.MustCompile(`^(.+) ` + aDay + `$`), leave},
	"lose":    {regexp.MustCompile(`^(.+) ` + aDay + `$`), lose},
	"receive": {regexp.MustCompile(`^(\d+) (.+?) ` + aDay + ` (.+) until (\S+)$`), receive},
}

// Read gives the change that a sentence supposes.
func Read(n *naming.Names, text string) (Supposed, error) {
	verb, rest, _ := strings.Cut(strings.Join(strings.Fields(text), " "), " ")
	s, known := sentences[verb]
	if !known {
		return Supposed{}, fmt.Errorf("%q is nothing that can be supposed; write one of\n  %s", verb, strings.Join(Sentences, "\n  "))
	}
	parts := s.shape.FindStringSubmatch(rest)
	if parts == nil {
		return Supposed{}, fmt.Errorf("%q is not written as\n  %s", text, example(verb))
	}
	c, err := s.means(n, parts[1:])
	if err != nil {
		return Supposed{}, fmt.Errorf("%q: %w", text, err)
	}
	return c, nil
}

func example(verb string) string {
	for _, s := range Sentences {
		if strings.HasPrefix(s, verb+" ") {
			return s
		}
	}
	return verb
}

// ahead reads a day that is not past: what is supposed is to come.
func ahead(n *naming.Names, text string, site inventory.ID) (day.Day, error) {
	d, err := n.Day(text, site)
	if today := n.Today(site); err == nil && d < today {
		return 0, fmt.Errorf("%s is past: today is %s", d, today)
	}
	return d, err
}

// most animals are supposed at once: beyond a house's own, and few enough to
// name.
const most = 200

// coming: animals arrive, or are born here. They are supposed as animals, not
// as a plan, so that every rule is asked of them; nothing else about them is
// known.
func coming(bred inventory.Tri) func(*naming.Names, []string) (Supposed, error) {
	return func(n *naming.Names, p []string) (Supposed, error) {
		count, err := strconv.Atoi(p[0])
		if err != nil || count < 1 || count > most {
			return Supposed{}, fmt.Errorf("%s: suppose 1 to %d animals at once", p[0], most)
		}
		species, err := n.SpeciesOf(p[1])
		if err != nil {
			return Supposed{}, err
		}
		site, err := n.SiteCalled(p[3])
		if err != nil {
			return Supposed{}, err
		}
		on, err := ahead(n, p[2], site.ID)
		if err != nil {
			return Supposed{}, err
		}
		return Supposed{animals(n, *species, *site, on, count, bred), inventory.Holding(species.ID, site.ID), on}, nil
	}
}

// accession begins the number of an animal that is supposed.
const accession = "supposed "

func animals(n *naming.Names, species inventory.Species, site inventory.Site, on day.Day, count int, bred inventory.Tri) compliance.Batch {
	door := inventory.Enclosure{ID: inventory.NewID(), Site: site.ID, Code: "supposed " + inventory.NewID().String()}
	out := compliance.Batch{compliance.Record(door)}
	first := 1
	for a := range n.Animals.All() {
		if strings.HasPrefix(a.Accession, accession) {
			first++
		}
	}
	for i := range count {
		a := inventory.Animal{ID: inventory.NewID(), Accession: accession + strconv.Itoa(first+i), Species: species.ID,
			Custodian: n.House().Ref(), Origin: inventory.Origin{Bred: bred}, Arrived: on, Stays: []inventory.Stay{{Enclosure: door.ID, From: on}}}
		if bred == inventory.Yes {
			a.Born = on
		}
		out = append(out, compliance.Record(a))
	}
	return out
}

// leave: an animal, or a person, is no longer here. That it is supposed says
// that it counts, unlike a plan.
func leave(n *naming.Names, p []string) (Supposed, error) {
	who, err := n.Subject(p[0], inventory.KindAnimal, inventory.KindPerson)
	if err != nil {
		return Supposed{}, err
	}
	on, err := ahead(n, p[1], inventory.ID{})
	if err != nil {
		return Supposed{}, err
	}
	if who.Kind == inventory.KindPerson {
		gone := compliance.Alter[compliance.Person]{Of: who, How: func(_ *compliance.Snapshot, x *compliance.Person) error {
			x.Leaves = on
			return nil
		}}
		return Supposed{gone, who, on}, nil
	}
	return Supposed{deed.AnimalLeft(who.ID, inventory.Disposition{How: inventory.Transferred, On: on}), who, on}, nil
}

// lose: a paper is taken away.
func lose(n *naming.Names, p []string) (Supposed, error) {
	paper, err := n.Permit(p[0])
	if err != nil {
		return Supposed{}, err
	}
	on, err := ahead(n, p[1], paper.FirstSite())
	if err != nil {
		return Supposed{}, err
	}
	return Supposed{deed.PermitRevoked(paper.ID, on), paper.Ref(), on}, nil
}

// receive: vials come, in hand and checked.
func receive(n *naming.Names, p []string) (Supposed, error) {
	count, err := strconv.Atoi(p[0])
	if err != nil {
		return Supposed{}, err
	}
	product, err := n.Product(p[1])
	if err != nil {
		return Supposed{}, err
	}
	place, err := n.Place(p[3], "")
	if err != nil {
		return Supposed{}, err
	}
	on, err := ahead(n, p[2], place.Site)
	if err != nil {
		return Supposed{}, err
	}
	end, monthOnly, err := naming.End(p[4], false)
	if err != nil {
		return Supposed{}, err
	}
	l := inventory.Lot{ID: inventory.NewID(), Product: product.ID, Number: "supposed " + inventory.NewID().String(), Labelled: end, MonthOnly: monthOnly}
	return Supposed{deed.LotReceived(l, deed.Vials{Place: place.ID, Count: count, On: on, Of: new(inventory.Checked)}), l.Ref(), on}, nil
}
