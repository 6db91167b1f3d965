package label

import (
	"fmt"
	"strconv"
	"strings"
)

// identifier is an application identifier: what its value is, and what must
// or must not stand beside it.
type identifier struct {
	title      string
	parts      []part
	predefined bool       // no separator after it: its length follows from its first two digits
	needs      [][]string // of each group one must be there
	excludes   []string
}

// part is a piece of a value.
type part struct {
	set      byte // N: digits; X: the 82 characters of GS1; Y: the 39
	min, max int
	optional bool
	checks   []string
}

// table lists the identifiers that may stand on a medicine, in the notation of
// the dictionary: identifiers; * for a predefined length; parts with their
// checks; needs (groups parted by +); excludes; what it is. Of the checks
// there those of company prefixes and country codes are left out.
var table = [][6]string{
	{"00", "*", "N18,csum", "", "", "logistic unit"},
	{"01", "*", "N14,csum", "", "255,37", "trade item"},
	{"02", "*", "N14,csum", "37", "01,03", "trade item within the unit"},
	{"03", "*", "N14,csum", "", "01,02,37", "trade item made to order"},
	{"10", "", "X..20", "01,02,03,8006,8026", "", "lot"},
	{"11", "*", "N6,yymmd0", "01,02,03,8006,8026", "", "made on"},
	{"12", "*", "N6,yymmd0", "8020", "", "payment due"},
	{"13", "*", "N6,yymmd0", "01,02,03,8006,8026", "", "packed on"},
	{"15", "*", "N6,yymmd0", "01,02,03,8006,8026", "", "best before"},
	{"16", "*", "N6,yymmd0", "01,02,03,8006,8026", "", "sell by"},
	{"17", "*", "N6,yymmd0", "01,02,03,255,8006,8026", "", "expiry"},
	{"20", "*", "N2", "01,02,8006,8026", "", "variant"},
	{"21", "", "X..20", "01,03,8006", "235", "serial number"},
	{"22", "", "X..20", "01", "", "consumer product variant"},
	{"235", "", "X..28", "01", "", "serial extension of another party"},
	{"240", "", "X..30", "01,02,8006,8026", "", "additional identification"},
	{"241", "", "X..30", "01,02,8006,8026", "", "customer part number"},
	{"242", "", "N..6", "01,02,8006,8026", "", "made-to-order variation"},
	{"250", "", "X..30", "01,8006+21", "", "secondary serial number"},
	{"251", "", "X..30", "01,8006", "", "source"},
	{"253", "", "N13,csum [X..17]", "", "", "document type"},
	{"254", "", "X..20", "414", "", "location extension"},
	{"255", "", "N13,csum [N..12]", "", "01,02,415,8006,8020,8026", "coupon"},
	{"30", "", "N..8", "01,02", "", "count of items"},
	{"37", "", "N..8", "00+02,8026", "", "count of trade items within the unit"},
	{"400", "", "X..30", "", "", "order number"},
	{"410", "*", "N13,csum", "", "", "ship to"},
	{"411", "*", "N13,csum", "", "", "bill to"},
	{"412", "*", "N13,csum", "", "", "purchased from"},
	{"413", "*", "N13,csum", "", "", "ship for"},
	{"414", "*", "N13,csum", "", "", "location"},
	{"415", "*", "N13,csum", "8020", "", "pay to"},
	{"416", "*", "N13,csum", "", "", "made at"},
	{"417", "*", "N13,csum", "", "", "party"},
	{"420", "", "X..20", "", "421", "ship to postal code"},
	{"421", "", "N3 X..9", "", "4307", "ship to country and postal code"},
	{"422", "", "N3", "01,02,8006,8026", "426", "country of origin"},
	{"426", "", "N3", "01,02", "", "country of all processing"},
	{"4330", "", "N6 [X1,hyphen]", "00", "4331", "warmest, hundredths of degrees Fahrenheit"},
	{"4331", "", "N6 [X1,hyphen]", "00", "4330", "warmest, hundredths of degrees Celsius"},
	{"4332", "", "N6 [X1,hyphen]", "00", "4333", "coldest, hundredths of degrees Fahrenheit"},
	{"4333", "", "N6 [X1,hyphen]", "00", "4332", "coldest, hundredths of degrees Celsius"},
	{"7003", "", "N6,yymmdd N4,hhmi", "01,02", "", "expiry to the minute"},
	{"7006", "", "N6,yymmdd", "01,02", "", "first frozen on"},
	{"7010", "", "X..2", "01,02", "", "production method"},
	{"710", "", "X..20", "01", "", "national number, Germany"},
	{"711", "", "X..20", "01", "", "national number, France"},
	{"712", "", "X..20", "01", "", "national number, Spain"},
	{"713", "", "X..20", "01", "", "national number, Brazil"},
	{"714", "", "X..20", "01", "", "national number, Portugal"},
	{"715", "", "X..20", "01", "", "national number, United States"},
	{"716", "", "X..20", "01", "", "national number, Italy"},
	{"8003", "", "N1,zero N13,csum [X..16]", "", "", "returnable asset"},
	{"8004", "", "X..30", "", "", "asset"},
	{"8006", "", "N14,csum N4,piece", "", "01,37", "piece of a trade item"},
	{"8010", "", "Y..30", "", "", "component or part"},
	{"8011", "", "N..12,nozeroprefix", "8010", "", "serial number of a component"},
	{"8012", "", "X..20", "01,8006", "", "software version"},
	{"8013", "", "X..25,csumalpha", "", "", "model"},
	{"8020", "", "X..25", "415", "", "payment reference"},
	{"8026", "", "N14,csum N4,piece", "37", "02,8006", "pieces of a trade item within the unit"},
	{"90", "", "X..30", "", "", "agreed between partners"},
	{"91-99", "", "X..90", "", "", "internal to a company"},
}

var identifiers = tabled()

// tabled makes the table; a mistake in it ends the program at its start.
func tabled() map[string]identifier {
	all := make(map[string]identifier, len(table)+8)
	for _, row := range table {
		id := identifier{title: row[5], predefined: row[1] == "*", excludes: split(row[4], ",")}
		for _, text := range strings.Fields(row[2]) {
			id.parts = append(id.parts, partOf(text))
		}
		for _, group := range split(row[3], "+") {
			id.needs = append(id.needs, strings.Split(group, ","))
		}
		first, last, several := strings.Cut(row[0], "-")
		if !several {
			all[first] = id
			continue
		}
		for n := number(first); n <= number(last); n++ {
			all[strconv.Itoa(n)] = id
		}
	}
	return all
}

// partOf reads N14,csum or [X..17].
func partOf(text string) part {
	inner := strings.TrimSuffix(strings.TrimPrefix(text, "["), "]")
	words := strings.Split(inner, ",")
	p := part{set: words[0][0], optional: inner != text, checks: words[1:]}
	if most, variable := strings.CutPrefix(words[0][1:], ".."); variable {
		p.min, p.max = 1, number(most)
	} else {
		p.max = number(most)
		p.min = p.max
	}
	for _, c := range p.checks {
		if checks[c] == nil {
			panic(fmt.Sprintf("no check is called %q", c))
		}
	}
	return p
}

func split(text, sign string) []string {
	if text == "" {
		return nil
	}
	return strings.Split(text, sign)
}

func number(digits string) int {
	n, err := strconv.Atoi(digits)
	if err != nil {
		panic(err)
	}
	return n
}

// length gives how many characters a value takes at most.
func (id *identifier) length() (n int) {
	for _, p := range id.parts {
		n += p.max
	}
	return n
}

// format says in words what a value is.
func (id *identifier) format() string {
	var all []string
	for _, p := range id.parts {
		text := map[byte]string{'N': "digits", 'X': "characters of the GS1 set", 'Y': "of 0-9, A-Z, #, - and /"}[p.set]
		if p.min == p.max {
			text = fmt.Sprintf("%d %s", p.max, text)
		} else {
			text = fmt.Sprintf("1 to %d %s", p.max, text)
		}
		if p.optional {
			text = "perhaps " + text
		}
		all = append(all, text)
	}
	return strings.Join(all, ", then ")
}

// identifierAt finds the identifier with which a text begins. No identifier
// begins with another one. cut says that the text may be the beginning of one.
func identifierAt(text string) (ai string, cut bool) {
	for n := 2; n <= 4 && n <= len(text); n++ {
		if _, known := identifiers[text[:n]]; known {
			return text[:n], false
		}
	}
	if len(text) >= 4 {
		return "", false
	}
	for ai := range identifiers {
		if strings.HasPrefix(ai, text) {
			return "", true
		}
	}
	return "", len(text) < 2
}
