package label

import "strings"

// doubtLot warns where a lot number may have taken in elements that follow it,
// because the code was made, or sent, without a separator. It cannot be told
// from a lot number that is so; so nothing is taken out of it.
//
// Three signs: what ends the lot number reads as elements from a date on; a
// code without expiry has a (17) with a date anywhere within the lot number; a
// code without separator and serial number has a (21) there with six
// characters or more behind it (common practice, no source: serial numbers
// are long, and many lot numbers have a 21 near their end).
func (r *reading) doubtLot(l *Label) {
	for i := 1; i < len(l.Lot); i++ {
		rest := l.Lot[i:]
		switch {
		case r.dated(rest) && (r.reads(rest) || l.End.IsZero() && rest[:2] == "17"):
			l.LotDoubtful = true
			r.warn(AboutLot, "the lot number %s may have taken in %q, because a separator is missing: look which number is printed", l.Lot, rest)
			if l.End.IsZero() && strings.HasPrefix(rest, "17") {
				r.warn(AboutEnd, "the expiry may be within the lot number; it is not taken from there")
			}
			return
		case strings.HasPrefix(rest, "21") && len(rest) >= 8 && l.Serial == "" && !strings.Contains(strings.TrimSuffix(r.scan, Separator), Separator):
			l.LotDoubtful = true
			r.warn(AboutLot, "the lot number %s may have taken in a serial number, %q, because a separator is missing: look which number is printed", l.Lot, rest)
			return
		}
	}
}

// dated says whether a text begins with a date of a product.
func (r *reading) dated(text string) bool {
	if len(text) < 8 || text[0] != '1' || !strings.Contains("13567", text[1:2]) {
		return false
	}
	_, _, err := date(text[2:8], r.year, true)
	return err == nil
}

// reads says whether a text is made of elements.
func (r *reading) reads(text string) bool {
	inner := reading{scan: text, year: r.year}
	return inner.all() == nil && inner.unread == ""
}
