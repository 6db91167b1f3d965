package notify

import (
	"cmp"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/message"
)

// events are what may happen to the house between two sweeps, on the day of
// Larkspur House.
var events = []struct {
	name string
	make func(t *rapid.T, w *world, today day.Day) compliance.Change
}{
	{"a paper gets another last day", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		p := current(w.snapshot.Permits, somePermit(t))
		p.Expires = day.Until(max(p.From, today.Add(rapid.IntRange(-40, 200).Draw(t, "ends in"))))
		return compliance.Record(p)
	}},
	{"a renewal is filed", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		p := current(w.snapshot.Permits, somePermit(t))
		p.Applications = append(slices.Clone(p.Applications), compliance.Application{Posted: today, Received: today})
		return compliance.Record(p)
	}},
	{"a renewal is decided", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		p := current(w.snapshot.Permits, somePermit(t))
		p.Applications = slices.Clone(p.Applications)
		for i := range p.Applications {
			if p.Applications[i].Decided.IsZero() {
				p.Applications[i].Decided = max(today, p.Applications[i].Received)
				p.Applications[i].Outcome = rapid.SampledFrom([]compliance.Outcome{compliance.Granted, compliance.Refused}).Draw(t, "outcome")
			}
		}
		return compliance.Record(p)
	}},
	{"a paper is suspended or back in force", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		p := current(w.snapshot.Permits, somePermit(t))
		if len(p.Suspensions) > 0 {
			p.Suspensions = nil
		} else {
			p.Suspensions = []compliance.Suspension{{From: today}}
		}
		return compliance.Record(p)
	}},
	{"a drill is held", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		site := rapid.SampledFrom([]inventory.Site{larkspur, wren, tern}).Draw(t, "site")
		return compliance.Record(compliance.Activity{ID: id(fmt.Sprint("drill ", site.Title, today)), What: "drill.escape", Subject: site.Ref(), On: today, Passed: inventory.Yes})
	}},
	{"a list is confirmed", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		f := current(w.snapshot.Feeds, id("list of "+string(rapid.SampledFrom([]compliance.Topic{compliance.TopicAnimals, compliance.TopicPapers, compliance.TopicStock, compliance.TopicActivities}).Draw(t, "topic"))))
		f.Confirmed, f.MaxAge = append(slices.Clone(f.Confirmed), max(today, f.Confirmed[len(f.Confirmed)-1])), rapid.IntRange(1, 60).Draw(t, "max age")
		return compliance.Record(f)
	}},
	{"vials come or go", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		l := current(w.snapshot.Lots, id("lot"))
		had := 0
		for _, m := range l.Movements {
			had += m.Vials
		}
		by := rapid.IntRange(-min(had, 6), 6).Draw(t, "vials")
		l.Movements = append(slices.Clone(l.Movements), inventory.Movement{On: max(today, l.Movements[len(l.Movements)-1].On), Place: fridge.ID, Vials: by, Reason: inventory.Counted, Condition: inventory.Checked})
		return compliance.Record(l)
	}},
	{"somebody gets or loses a mail address, or leaves, or is back", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		p := current(w.snapshot.People, id(rapid.SampledFrom(people()).Draw(t, "who").Called))
		switch rapid.IntRange(0, 3).Draw(t, "how") {
		case 0:
			p.Email = ""
		case 1:
			p.Email = string(p.Called[0]) + ".mail@larkspur.example"
		case 2:
			p.Leaves = today
		case 3:
			p.Leaves = 0
		}
		return compliance.Record(p)
	}},
	{"an animal is found in no enclosure, or is put back", func(t *rapid.T, w *world, today day.Day) compliance.Change {
		a := current(w.snapshot.Animals, id(fmt.Sprintf("LH-%03d", rapid.IntRange(1, 14).Draw(t, "animal"))))
		if len(a.Stays) > 0 {
			a.Stays = nil
		} else {
			a.Stays = []inventory.Stay{{Enclosure: id("enclosure " + a.Accession), From: a.Arrived}}
		}
		return compliance.Record(a)
	}},
}

func current[T inventory.Record](table inventory.Table[T], id inventory.ID) T {
	rec, ok := table.Get(id)
	if !ok {
		panic("no such record: " + id.String())
	}
	return *rec
}

func somePermit(t *rapid.T) inventory.ID {
	return id(rapid.SampledFrom([]string{"SR-114", "SR-200"}).Draw(t, "paper"))
}

// happen lets some time pass and something happen.
func (w *world) happen(t *rapid.T) {
	w.wait(time.Duration(rapid.OneOf(rapid.IntRange(0, 30), rapid.IntRange(0, 24*70)).Draw(t, "hours")) * time.Hour)
	for range rapid.IntRange(0, 3).Draw(t, "events") {
		e := rapid.SampledFrom(events).Draw(t, "event")
		c := e.make(t, w, day.In(w.now, zoneOf(larkspur)))
		if s, err := c.Apply(w.snapshot); err == nil { // what records refuse has not happened
			w.snapshot = s
		}
	}
}

func zoneOf(s inventory.Site) *time.Location {
	zone, err := time.LoadLocation(s.Zone)
	if err != nil {
		panic(err)
	}
	return zone
}

// recipients is the definition of who is told, written again from scratch.
func recipients(s *compliance.Snapshot, r *compliance.Report, f *compliance.Finding) map[inventory.ID]bool {
	today := r.View.Today(f.Site)
	owner := f.Verdict.Step.Owner
	if owner == "" {
		owner = r.Of(f.Key).Binding(today).Rule.Owner
	}
	holders := func(role compliance.Role) map[inventory.ID]bool {
		out := make(map[inventory.ID]bool)
		for p := range s.People.All() {
			for _, o := range p.Offices {
				there := o.Site == inventory.ID{} || o.Site == f.Site || f.Site == inventory.ID{} || f.Site == inventory.Nowhere
				gone := !p.Leaves.IsZero() && today >= p.Leaves
				if o.Role == role && there && p.Email != "" && !gone {
					out[p.ID] = true
				}
			}
		}
		return out
	}
	told := holders(owner)
	if len(told) == 0 {
		told = holders(compliance.Head)
	}
	if len(told) == 0 {
		told = holders(compliance.Administrator)
	}
	if f.Missed || f.Severity == compliance.Critical && f.Verdict.Standing == compliance.OutOfOrder {
		for head := range holders(compliance.Head) {
			told[head] = true
		}
	}
	return told
}

// TestEachIsToldOnceAndNothingStaysUntold lets anything happen, with sweeps at
// any distance, and holds of each sweep: no line of the ledger is written
// twice; whoever had no digest on this local day knows of everything due;
// nobody gets a second digest; a digest says something new; it holds nobody
// else's address.
func TestEachIsToldOnceAndNothingStaysUntold(t *testing.T) {
	book := rules(t)
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(t, book)
		told := make(map[Reminder]bool)
		for range rapid.IntRange(1, 12).Draw(t, "sweeps") {
			before := len(w.mailed)
			had := maps.Clone(w.mailed)
			out := w.sweep()
			if len(w.mailed) != before+len(out.Digests) {
				t.Fatal("somebody got two digests of one local day")
			}
			for i := range out.Digests {
				checkDigest(t, w, &out.Digests[i], told)
			}
			checkNothingUntold(t, w, had, told)
			checkUnreachable(t, w, out)
			w.happen(t)
		}
	})
}

func checkDigest(t *rapid.T, w *world, letter *Digest, told map[Reminder]bool) {
	if len(letter.News)+len(letter.Ended) == 0 || len(letter.Reminders) == 0 {
		t.Fatalf("a digest for %s that says nothing new", letter.To.Called)
	}
	for _, r := range letter.Reminders {
		if r.Recipient != letter.To.ID || told[r] {
			t.Fatalf("%s: line of another, or told before: %+v", letter.To.Called, r)
		}
		told[r] = true
	}
	m, err := Compose(letter, w.report, from, mailID, w.now)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := m.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	text := strings.ReplaceAll(m.Subject+m.Text+m.HTML+string(raw), letter.To.Email, "")
	if strings.Contains(text, "mail@larkspur.example") {
		t.Fatalf("the mail to %s holds somebody else's address", letter.To.Called)
	}
	for _, sign := range []string{"%!", "{{", "<no value>", "&lt;no value"} {
		if strings.Contains(text, sign) {
			t.Fatalf("the mail to %s holds %q:\n%s", letter.To.Called, sign, text)
		}
	}
}

func checkNothingUntold(t *rapid.T, w *world, had map[string]bool, told map[Reminder]bool) {
	for i := range w.open {
		f := &w.open[i]
		zone := time.UTC
		if s, ok := w.snapshot.Sites.Get(f.Site); ok {
			zone = zoneOf(*s)
		}
		for to := range recipients(w.snapshot, w.report, f) {
			p := current(w.snapshot.People, to)
			site, _ := w.snapshot.Sites.Get(p.Site)
			if had[digestKey(to, day.In(w.now, zoneOf(*site)))] {
				continue
			}
			for _, due := range Due(f, day.In(f.Opened, zone), day.In(w.now, zone)) {
				r := Reminder{f.Key, f.Verdict.Step.Do, f.Verdict.Step.Instance, f.Arm, due, to}
				if !told[r] {
					t.Fatalf("%s is not told of threshold %d of %+v", p.Called, due, f)
				}
			}
		}
	}
}

func checkUnreachable(t *rapid.T, w *world, out Outcome) {
	var want []compliance.Key
	for i := range w.open {
		if len(recipients(w.snapshot, w.report, &w.open[i])) == 0 {
			want = append(want, w.open[i].Key)
		}
	}
	slices.SortFunc(want, compliance.Key.Compare)
	var got []compliance.Key
	for _, u := range out.Unreachable {
		got = append(got, u.Finding.Key)
	}
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Fatalf("unreachable: -want +got\n%s", diff)
	}
}

// TestOrderOfInputDoesNotMatter shuffles records, findings and ledger.
func TestOrderOfInputDoesNotMatter(t *testing.T) {
	book := rules(t)
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(t, book)
		for range rapid.IntRange(0, 5).Draw(t, "sweeps") {
			w.sweep()
			w.happen(t)
		}
		in, _ := w.judge()
		want := Plan(in)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		shuffled := in
		s := *w.snapshot
		s.People, s.Animals, s.Permits, s.Feeds = shuffle(rng, s.People), shuffle(rng, s.Animals), shuffle(rng, s.Permits), shuffle(rng, s.Feeds)
		shuffled.Report = compliance.Evaluate(book, &s, compliance.Ask{Now: w.now})
		shuffled.Open, shuffled.Closed = slices.Clone(in.Open), slices.Clone(in.Closed)
		rng.Shuffle(len(in.Open), func(i, j int) { shuffled.Open[i], shuffled.Open[j] = shuffled.Open[j], shuffled.Open[i] })
		rng.Shuffle(len(in.Closed), func(i, j int) {
			shuffled.Closed[i], shuffled.Closed[j] = shuffled.Closed[j], shuffled.Closed[i]
		})
		told := slices.Clone(w.ledger)
		rng.Shuffle(len(told), func(i, j int) { told[i], told[j] = told[j], told[i] })
		shuffled.Ledger = (*Ledger)(nil).With(told)
		got := Plan(shuffled)
		if diff := gocmp.Diff(want, got); diff != "" {
			t.Fatalf("-in order +shuffled\n%s", diff)
		}
		for i := range want.Digests {
			if a, b := composed(t, w, &want.Digests[i], in.Report), composed(t, w, &got.Digests[i], shuffled.Report); a.Text != b.Text || a.HTML != b.HTML || a.Subject != b.Subject {
				t.Fatalf("the mails differ: %s", gocmp.Diff(a.Text, b.Text))
			}
		}
	})
}

func composed(t *rapid.T, w *world, letter *Digest, r *compliance.Report) message.Mail {
	m, err := Compose(letter, r, from, mailID, w.now)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func shuffle[T inventory.Record](rng *rand.Rand, table inventory.Table[T]) inventory.Table[T] {
	var rows []*T
	for r := range table.All() {
		rows = append(rows, r)
	}
	slices.SortFunc(rows, func(a, b *T) int { return cmp.Compare((*a).Ref().ID.String(), (*b).Ref().ID.String()) })
	rng.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
	return inventory.NewTable(rows)
}
