package demo

// Case is something to look at.
type Case struct {
	Name    string
	Subject string // as the command explain takes it
	Why     string
}

var cases = []Case{
	{"long weekend", "WP-102", "a renewal whose last day falls in a long weekend: the day to act by lies before it"},
	{"lapsed", "WP-105", "a permit that has lapsed, with the animals that stood under it"},
	{"continued", "WP-103", "a renewal pending: the old paper continues, by the rule cited"},
	{"not covered", "WP-104", "a renewal pending that was filed too late: nothing covers it"},
	{"void", "CD-201", "a trade document past its date: void, whatever is pending"},
	{"over number", "WP-101", "more animals than the permit allows"},
	{"let end", "DWA-302", "a licence that will not be renewed, by decision: the animals must leave first"},
	{"arrival", "WC-013", "in order, until a planned arrival makes it one animal too many: ahead --routine tells the day"},
	{"scope unknown", "LH-014", "an animal of unknown origin: whether a rule applies cannot be told"},
	{"order by", "Calloselasma rhodostoma at Larkspur House", "a lot that ends drops a species below its course: order long before"},
	{"on its way", "Ophiophagus hannah at Larkspur House", "a lot that ends drops a species below its course, and what is ordered comes in time: no need to order again"},
	{"approved", "Thelotornis capensis at Larkspur House", "no antivenom exists for it: held with the head's approval"},
	{"not approved", "Atractaspis bibronii at Tamarind Station", "no antivenom exists for it, and nobody has approved it"},
	{"excluded", "Micruroides euryxanthus at Larkspur House", "antivenom in the fridge that is stated not to work for it"},
	{"elsewhere", "Bitis arietans at Tamarind Station", "plenty of vials in the house, none at this site"},
	{"stale", "Vipera berus at Wren Cottage", "cannot tell: nobody has confirmed the stock list in time"},
	{"drill", "Wren Cottage", "an overdue bite drill"},
	{"no law pack", "Tamarind Station", "a site without a law pack: cannot tell, not in order"},
	{"not watched", "AI-422", "declared not watched yet: printed everywhere, never in order"},
	{"certificate", "Bram Hollowell-Gorse", "a first-aid certificate that runs out next month, and with it what he may open"},
	{"lapses", "Juniper Valecrest", "a sign-off that lapses within weeks, for want of handling"},
	{"two people", "Atractaspis bibronii at Tamarind Station", "a species that hangs on two people: if one leaves, it stays shut"},
}

var smallCases = []Case{
	{"order by", "Naja kaouthia at Thornbury Lane", "a lot that ends within a year: the day by which to order is long before its end"},
	{"drill", "Thornbury Lane", "an overdue drill, in a house of one person"},
	{"alone", "Naja kaouthia at Thornbury Lane", "one person alone may open it: nobody is there to help"},
}

// Cases lists what a house shows: the full one, or "small".
func Cases(house string) []Case {
	if house == "small" {
		return smallCases
	}
	return cases
}
