package intake

import (
	"strings"
	"unicode"

	"antidotary/compliance/ladder"
)

// Field is one column of a list.
type Field struct {
	Name     string
	Required bool
	Also     []string // other names of the column; case, blanks and signs do not matter
	Help     string   // what to write, and what a blank means
	Example  string
}

// List is one of the starter lists.
type List struct {
	Name   string
	Also   []string // words in the name of a file or sheet
	Fields []Field
}

// ignored is the field of a column that nobody wants read.
const ignored = "ignore"

// refusedBecause heads the column that a rejects file adds.
const refusedBecause = "refused because"

const dateHelp = "a date as YYYY-MM-DD, or another form with --dates; blank: unknown"

// Lists are the starter lists, in the order in which they are taken in.
var Lists = []*List{
	{Name: "animals", Also: []string{"animal", "collection", "census", "snakes", "reptiles", "accessions"}, Fields: []Field{
		{Name: "accession", Required: true, Also: []string{"accession number", "accession no", "acc no", "animal", "animal id", "animal number", "inventory number"}, Help: "the animal's own number in your house, never given twice", Example: "TL-001"},
		{Name: "species", Required: true, Also: []string{"scientific name", "latin name", "taxon", "species name"}, Help: "genus and species in full, as recorded", Example: "Naja kaouthia"},
		{Name: "received as", Also: []string{"name on papers", "name as received"}, Help: "the name on the papers that it came with; blank: none"},
		{Name: "site", Also: []string{"premises", "facility"}, Help: "a recorded site; blank: the one of --site"},
		{Name: "enclosure", Also: []string{"cage", "vivarium", "tank", "terrarium", "enclosure number", "enclosure no"}, Help: "what is on the door; blank: not recorded", Example: "E-01"},
		{Name: "room", Also: []string{"room number"}, Help: "where the enclosure stands"},
		{Name: "since", Also: []string{"in enclosure since", "moved in", "moved on"}, Help: "since when it is in this enclosure: " + dateHelp},
		{Name: "arrived", Also: []string{"arrival", "arrival date", "acquired", "acquisition date", "date acquired", "date in", "came in", "received"}, Help: dateHelp, Example: "2024-05-17"},
		{Name: "from", Also: []string{"source", "supplier", "acquired from", "received from"}, Help: "from whom it came"},
		{Name: "born", Also: []string{"birth date", "date of birth", "dob", "hatched", "hatch date"}, Help: dateHelp},
		{Name: "captive bred", Also: []string{"bred", "cb", "cb wc", "wc cb", "captive bred or wild"}, Help: "yes or cb; no, wc or wild; blank: unknown", Example: "yes"},
		{Name: "country", Also: []string{"country of origin", "origin country"}, Help: "where it comes from"},
		{Name: "owner", Also: []string{"title holder", "belongs to"}, Help: "whose it is"},
		{Name: "left", Also: []string{"left on", "date out", "date left", "departed", "disposition date"}, Help: "first day no longer held: a date; blank: still here"},
		{Name: "how left", Also: []string{"disposition", "left how", "reason left"}, Help: "death, transfer, loan, escape or release"},
		{Name: "gone to", Also: []string{"left to", "recipient", "sent to"}, Help: "whereto it left"},
	}},
	{Name: "papers", Also: []string{"paper", "permit", "licence", "license", "document"}, Fields: []Field{
		{Name: "number", Required: true, Also: []string{"permit number", "permit no", "licence number", "licence no", "license number", "license no", "paper number", "document number", "paper", "permit", "no"}, Help: "what is printed on the paper", Example: "DWA-901"},
		{Name: "class", Required: true, Also: []string{"kind", "type", "permit type", "licence type", "license type", "kind of paper", "paper type"}, Help: "the class that rules ask for, such as dwa-licence", Example: "dwa-licence"},
		{Name: "authority", Also: []string{"issued by", "issuing authority", "issuer", "agency"}, Help: "who issued it, as recorded; blank: unknown"},
		{Name: "holder", Also: []string{"permittee", "licensee", "granted to", "holder name", "permit holder", "licence holder"}, Help: "the house or a recorded person; blank: unknown"},
		{Name: "sites", Also: []string{"site", "premises", "places", "facility"}, Help: "recorded sites, parted by semicolons, or any; blank: unknown"},
		{Name: "animals", Also: []string{"specimens", "accessions"}, Help: "accession numbers, parted by semicolons, on a paper for single animals"},
		{Name: "species", Also: []string{"species listed", "species list", "species covered", "covers", "taxa"}, Help: "parted by semicolons: Naja kaouthia, or genus Naja, family Elapidae, any; with exceptions: genus Naja except Naja naja, Naja atra; with a number: Naja kaouthia: 5; blank: unknown", Example: "Naja kaouthia: 5"},
		{Name: "issued", Also: []string{"issue date", "date issued", "issued on", "granted"}, Help: dateHelp, Example: "2025-02-01"},
		{Name: "valid from", Also: []string{"from", "start", "starts", "start date", "effective", "effective date"}, Help: dateHelp},
		{Name: "expires", Also: []string{"expiry", "expiry date", "expiration", "expiration date", "valid to", "valid until", "end", "end date", "exp", "exp date", "expires on"}, Help: "last valid day: a full date, or never; blank: unknown", Example: "2027-01-31"},
		{Name: "renewable", Also: []string{"can be renewed"}, Help: "yes or no; blank: unknown", Example: "yes"},
		{Name: "filed", Also: []string{"renewal filed", "application filed", "filed on", "applied", "applied on", "application sent", "posted"}, Help: "when the last application to renew it was sent: " + dateHelp},
		{Name: "received by authority", Also: []string{"application received", "authority received"}, Help: "when the authority had that application: " + dateHelp},
		{Name: "receipt", Also: []string{"receipt number", "receipt no"}, Help: "what the authority wrote on the receipt"},
		{Name: "told deficient", Also: []string{"deficient", "found deficient"}, Help: "when the authority said that the application is not sufficient: " + dateHelp},
		{Name: "decided", Also: []string{"decided on", "decision date", "date of decision"}, Help: "when the authority decided on it: a date; blank: not yet"},
		{Name: "outcome", Also: []string{"decision"}, Help: "granted or refused; blank: nothing is decided"},
		{Name: "suspended", Also: []string{"suspended from", "suspended on", "suspended since", "suspension"}, Help: "first day on which it was out of force: a date; blank or no: it is not known to be"},
		{Name: "lifted", Also: []string{"suspension lifted", "reinstated"}, Help: "first day on which it was in force again: a date"},
		{Name: "revoked", Also: []string{"revoked on", "withdrawn", "cancelled"}, Help: "when the authority took it back: a date; blank or no: it is not known to be"},
		{Name: "surrendered", Also: []string{"surrendered on", "handed back"}, Help: "when the house gave it back: a date; blank or no: it is not known to be"},
	}},
	{Name: "vials", Also: []string{"vial", "antivenom", "antivenin", "antivenene", "stock", "fridge", "lots"}, Fields: []Field{
		{Name: "product", Required: true, Also: []string{"antivenom", "antivenin", "antivenom type", "product type", "type"}, Help: "the nonproprietary type, as recorded", Example: "Thai neurotoxic polyvalent antivenin (equine), freeze-dried"},
		{Name: "lot", Required: true, Also: []string{"lot number", "lot no", "batch", "batch number", "batch no"}, Help: "what is printed on the vial", Example: "TL-1"},
		{Name: "vials", Required: true, Also: []string{"count", "quantity", "qty", "number of vials", "amount", "no of vials", "in stock"}, Help: "how many were counted, in digits: 10, never ~10", Example: "10"},
		{Name: "place", Required: true, Also: []string{"fridge", "kept in", "storage", "storage place", "shelf", "where kept"}, Help: "the fridge, shelf or bag", Example: "locked fridge"},
		{Name: "site", Also: []string{"premises", "facility"}, Help: "a recorded site; blank: the one of --site"},
		{Name: "expires", Also: []string{"expiry", "expiry date", "expiration", "expiration date", "exp", "exp date", "use by", "label end"}, Help: "as on the label: a date, or a month such as 2027-02, 02/2027, Feb 2027; blank: unknown", Example: "2027-02"},
		{Name: "received", Also: []string{"received on", "date received", "arrived"}, Help: dateHelp},
		{Name: "counted", Also: []string{"counted on", "count date", "date counted", "stock taken"}, Help: "when the vials were counted: a date; blank: the day received, else the day of the import", Example: "2026-11-20"},
		{Name: "condition", Also: []string{"vial condition"}, Help: "checked (looked at: seal whole, clear, not cracked), unchecked, unfit or reserve; blank: checked where the day of a count is given, for whoever counts looks, else unchecked, which is not counted on"},
		{Name: "hold", Also: []string{"on hold", "quarantine", "recall"}, Help: "why the lot may not be used; blank or no: it is not known to be on hold"},
	}},
	{Name: "sessions", Also: []string{"session", "training log", "handling log"}, Fields: []Field{
		{Name: "date", Required: true, Also: []string{"day", "session date", "date of session", "held on"}, Help: "the day of the session at its site, as YYYY-MM-DD, or another form with --dates", Example: "2026-11-20"},
		{Name: "trainee", Required: true, Also: []string{"keeper", "handler", "student", "who", "person", "handled by", "staff"}, Help: "who handled, as recorded", Example: "Ivo Marsh"},
		{Name: "mentor", Also: []string{"trainer", "supervisor", "supervised by", "watched by", "instructor"}, Help: "who watched, as recorded; alone or nobody: nobody did; blank: it is not known, and the session does not count", Example: "Odo Fern"},
		{Name: "site", Also: []string{"premises", "facility"}, Help: "a recorded site, whose clock counts; blank: the one of --site, else the trainee's own"},
		{Name: "species", Required: true, Also: []string{"scientific name", "latin name", "taxon", "species name"}, Help: "genus and species in full, as recorded; a row for each species", Example: "Naja kaouthia"},
		{Name: "animals", Also: []string{"animal", "accession", "accessions", "accession number", "accession no", "specimen", "specimens", "animal id"}, Help: "accession numbers, parted by semicolons; blank: not known which", Example: "TL-001"},
		{Name: "task", Required: true, Also: []string{"level", "task level", "what", "activity"}, Help: "how near to the animal: " + strings.Join(ladder.LevelNames(), ", "), Example: "hook"},
		{Name: "results", Also: []string{"result", "repetitions"}, Help: "a letter for each repetition in its order: c clean, p the mentor had to speak, s the mentor had to stop it; blank: not noted", Example: "cccpc"},
		{Name: "clean", Also: []string{"clean repetitions"}, Help: "how many repetitions were clean, where nobody noted the order: beside prompted and stopped, 0 where there was none. The worst then count as the last"},
		{Name: "prompted", Also: []string{"prompts"}, Help: "in how many the mentor had to speak"},
		{Name: "stopped", Also: []string{"stops"}, Help: "how many the mentor had to stop"},
		{Name: "from", Also: []string{"begin", "began", "begun", "start", "started", "start time", "time in"}, Help: "when it began by the clock of the site, such as 14:30 or 2:30 pm, or an instant such as 2026-10-31T20:00-04:00; blank: not known", Example: "10:00"},
		{Name: "to", Also: []string{"end", "ended", "finish", "finished", "end time", "time out"}, Help: "when it ended, in the same way; after midnight with its day, such as 2026-11-01 00:30", Example: "10:40"},
		{Name: "signed", Also: []string{"signed on", "signed at", "signature", "mentor signed"}, Help: "when the mentor signed for it: a day, which counts as its end, or a day and a time, or an instant; blank or no: not signed", Example: "2026-11-20 17:30"},
		{Name: "unsafe", Also: []string{"unsafe act", "unsafe acts"}, Help: "whether something unsafe was done: yes or no; blank: unknown", Example: "no"},
		{Name: "note", Also: []string{"notes", "remark", "remarks", "comment", "comments"}, Help: "what else should be known; nothing medical"},
	}},
}

// sessionList are what people did under a mentor; see sessions.go.
var sessionList = Lists[3]

// listNames gives the names of the lists, in their order.
func listNames() (names []string) {
	for _, l := range Lists {
		names = append(names, l.Name)
	}
	return names
}

// anyOf joins names for a message: a, b or c.
func anyOf(names []string) string {
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// ListNamed finds a list.
func ListNamed(name string) *List {
	for _, l := range Lists {
		if l.Name == name {
			return l
		}
	}
	return nil
}

// folded is a name without case, blanks and signs.
func folded(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// known gives the field that a column's name means; empty where none does.
func (l *List) known(title string) string {
	f := folded(title)
	if f == "" {
		return ""
	}
	for _, field := range l.Fields {
		if folded(field.Name) == f {
			return field.Name
		}
	}
	for _, field := range l.Fields {
		for _, also := range field.Also {
			if folded(also) == f {
				return field.Name
			}
		}
	}
	return ""
}

// columns gives the distinct fields that a row's cells name, and where.
func (l *List) columns(r Row) map[string]int {
	out := make(map[string]int)
	for i, c := range r.Cells {
		name := l.known(c.Text)
		if _, twice := out[name]; name != "" && !twice {
			out[name] = i
		}
	}
	return out
}

// fieldNames lists the fields, for a message.
func (l *List) fieldNames() []string {
	var out []string
	for _, f := range l.Fields {
		out = append(out, f.Name)
	}
	return out
}

func (l *List) field(name string) *Field {
	for i := range l.Fields {
		if l.Fields[i].Name == name {
			return &l.Fields[i]
		}
	}
	return nil
}
