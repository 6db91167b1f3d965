//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"net/mail"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"antidotary/compliance"
	"antidotary/daemon"
	"antidotary/daemon/config"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/mailbox"
)

// clearUp has one more daemon, two hours later, tell what is left: first of
// what was queued, then, a day later, of what had to wait because its people
// had heard already that day. It gives that instant.
func (w *trial) clearUp() time.Time {
	t := w.t
	var at atomic.Int64
	clock := func() time.Time { return time.UnixMicro(at.Load()).UTC() }
	at.Store(w.clock().Add(2 * time.Hour).UnixMicro())
	cfg, err := config.Load(w.configFile("last", w.database))
	if err != nil {
		t.Fatal(err)
	}
	log, err := os.Create(filepath.Join(t.ArtifactDir(), "last.log"))
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	d, err := daemon.New(daemon.Options{Config: cfg, Clock: clock, Err: log})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := d.Stop(context.Background()); err != nil {
			t.Error(err)
		}
	}()
	if err := d.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, wait := range []time.Duration{0, 24 * time.Hour} {
		at.Add(wait.Microseconds())
		for rounds := 0; ; rounds++ {
			if err := d.Sweep(t.Context()); err != nil {
				t.Fatal(err)
			}
			waiting, err := w.changes.store.Waiting(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if len(waiting) == 0 {
				break
			}
			if rounds == 12 {
				t.Fatalf("after %d rounds of delivery these wait: %+v", rounds, waiting)
			}
			at.Add((31 * time.Minute).Microseconds())
		}
	}
	return clock()
}

// check holds everything against everything.
func (w *trial) check(at time.Time) {
	begun, unclear := w.checkSteps()
	arrived := w.checkArrived(begun, unclear)
	w.checkTold(at, arrived)
	w.checkOnePerDay()
	w.checkJournal()
	w.checkLogs()
	w.tally.sweeps = w.checkSweepsAndRuns()
}

// outboxMail is a mail as the database has it at the end.
type outboxMail struct {
	id, kind, recipient, address, messageID, state string
	day                                            string
	attempts                                       int
	bytes                                          []byte
}

func (w *trial) outbox() (out map[string]outboxMail) {
	out = make(map[string]outboxMail)
	w.each(`SELECT encode(id, 'hex'), kind, encode(recipient, 'hex'), address, trim(both '<>' from message_id), state, local_day, attempts, bytes FROM outbox`,
		func(scan func(...any) error) error {
			var m outboxMail
			err := scan(&m.id, &m.kind, &m.recipient, &m.address, &m.messageID, &m.state, &m.day, &m.attempts, &m.bytes)
			out[m.messageID] = m
			return err
		})
	return out
}

// checkArrived holds what the mail server took against the outbox: every mail
// was sent and arrived, as it was queued; twice only where what became of an
// attempt had been unclear. It gives the mails that arrived, by identifier.
func (w *trial) checkArrived(begun, unclear map[string]int) map[string]outboxMail {
	t := w.t
	known, copies := w.outbox(), make(map[string]int)
	for _, m := range w.box.Messages() {
		id := messageID(m)
		is, ok := known[id]
		if !ok {
			t.Errorf("a mail to %v arrived that no sweep queued: %s", m.To, id)
			continue
		}
		if !slices.Equal(m.To, []string{is.address}) || !bytes.Equal(m.Data, is.bytes) {
			t.Errorf("mail %s arrived at %v and not as it was queued for %s", id, m.To, is.address)
		}
		copies[id]++
	}
	arrived := make(map[string]outboxMail)
	for id, m := range known {
		n := copies[id]
		if m.state != "sent" || n == 0 {
			t.Errorf("%s %s for %s is %q and arrived %d times", m.kind, id, m.address, m.state, n)
			continue
		}
		if n > 1 {
			w.tally.duplicates += n - 1
		}
		if n > 1+unclear[m.id] || n > begun[m.id] || n > m.attempts {
			t.Errorf("%s %s for %s arrived %d times: it was begun %d times in %d attempts, of which %d were unclear",
				m.kind, id, m.address, n, begun[m.id], m.attempts, unclear[m.id])
		}
		arrived[m.id] = m
	}
	for _, n := range unclear {
		w.tally.unclear += n
	}
	w.tally.mails = len(arrived)
	return arrived
}

func messageID(m mailbox.Message) string {
	read, err := mail.ReadMessage(bytes.NewReader(m.Data))
	if err != nil {
		return "unreadable: " + err.Error()
	}
	return strings.Trim(read.Header.Get("Message-Id"), "<>")
}

// checkOnePerDay: nobody got two different digests of one local day, by what
// the mails themselves say.
func (w *trial) checkOnePerDay() {
	t := w.t
	view := w.view()
	zones := make(map[string]*time.Location)
	for p := range view.Snapshot.People.All() {
		zone, err := time.LoadLocation(view.Snapshot.Site(p.Site).Zone)
		if err != nil {
			t.Fatal(err)
		}
		zones[p.Email] = zone
	}
	known, of := w.outbox(), make(map[string]string)
	for _, m := range w.box.Messages() {
		id := messageID(m)
		if known[id].kind != store.KindDigest {
			continue
		}
		read, err := mail.ReadMessage(bytes.NewReader(m.Data))
		if err != nil {
			t.Fatal(err)
		}
		sent, err := read.Header.Date()
		if err != nil {
			t.Fatal(err)
		}
		key := m.To[0] + " on " + day.In(sent, zones[m.To[0]]).String()
		if before, twice := of[key]; twice && before != id {
			t.Errorf("two digests for %s: %s and %s", key, before, id)
		}
		of[key] = id
	}
}

func (w *trial) view() *store.View {
	v, err := w.changes.store.Read(w.t.Context())
	if err != nil {
		w.t.Fatal(err)
	}
	return v
}

// checkTold plans everything once more as if nobody had been told anything:
// each reminder that this makes must be in the ledger, and its mail must have
// arrived. And everybody who came had a mail, and every paper was named.
func (w *trial) checkTold(at time.Time, arrived map[string]outboxMail) {
	t := w.t
	view := w.view()
	book, err := daemon.Rulebook(w.config(w.database))
	if err != nil {
		t.Fatal(err)
	}
	report := compliance.Evaluate(book, view.Snapshot, compliance.Ask{Now: at})
	if moved := compliance.Diff(view.Open, report, at, inventory.NewID); len(moved) > 0 {
		t.Errorf("the last sweep left %d changes of findings unseen, the first of %v", len(moved), moved[0].After.Key)
	}
	ledger := make(map[notify.Reminder]inventory.ID)
	reminders, err := w.changes.store.Reminders(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range reminders {
		ledger[r.Reminder] = r.Mail
		if _, ok := arrived[hexOf(r.Mail)]; !ok {
			t.Errorf("%v is told by a mail that never arrived", r.Reminder)
		}
	}
	never := func(inventory.ID, day.Day) bool { return false }
	for _, digest := range notify.Plan(notify.Input{Now: at, Report: report, Open: view.Open, Mailed: never}).Digests {
		for _, r := range digest.Reminders {
			if _, told := ledger[r]; !told {
				t.Errorf("%s was never told of %v", digest.To.Called, r)
			}
			w.tally.told++
		}
	}
	w.checkNewcomers()
}

// checkNewcomers asks the mails alone.
func (w *trial) checkNewcomers() {
	var all strings.Builder
	for _, m := range w.box.Messages() {
		all.WriteString(m.Text)
	}
	for _, m := range w.changes.made {
		if !m.acked {
			continue
		}
		if m.person != nil && !w.mailed(m.person.Email) {
			w.t.Errorf("%s came and was never mailed", m.person.Called)
		}
		if m.paper && !strings.Contains(all.String(), m.mark) {
			w.t.Errorf("paper %s ends soon, and no mail names it", m.mark)
		}
	}
}

func hexOf(id inventory.ID) string { return strings.ReplaceAll(id.String(), "-", "") }

// checkJournal: every change that was acknowledged is in the journal once,
// wholly; one that was not is there wholly or not at all; nothing else is; and
// the records are what the journal says last.
func (w *trial) checkJournal() {
	t := w.t
	verified, err := w.changes.store.Verify(t.Context())
	if err != nil || verified.Problem != "" {
		t.Errorf("the journal does not hold: %s (%v)", verified.Problem, err)
	}
	times, last, entries := make(map[string]int), make(map[string]string), int64(0)
	w.each(`SELECT position, subject, payload FROM journal ORDER BY position`, func(scan func(...any) error) error {
		var position int64
		var subject, payload string
		if err := scan(&position, &subject, &payload); err != nil {
			return err
		}
		if entries++; position != entries {
			t.Errorf("entry %d of the journal is at position %d", entries, position)
		}
		if _, mark, found := strings.Cut(payload, "three-"); found && len(mark) >= 6 {
			times["three-"+mark[:6]+" "+subject]++
		}
		last[subject] = payload
		return nil
	})
	records := w.view().Snapshot
	most, least := w.house, w.house
	for _, m := range w.changes.made {
		most += int64(len(m.refs))
		w.tally.attempted++
		if m.acked {
			least += int64(len(m.refs))
			w.tally.committed++
		}
		first := times[m.mark+" "+m.refs[0].String()]
		for _, ref := range m.refs {
			if n := times[m.mark+" "+ref.String()]; n > 1 || n != first || m.acked && n != 1 {
				t.Errorf("%s, acknowledged %t, is in the journal %d times for %s", m.mark, m.acked, n, ref)
			}
		}
		if m.acked || first > 0 {
			w.sameRecord(records, m.refs, last)
		}
	}
	if entries < least || entries > most {
		t.Errorf("the journal has %d entries: %d were acknowledged, and %d tried", entries, least, most)
	}
}

func (w *trial) sameRecord(records *compliance.Snapshot, refs []inventory.Ref, last map[string]string) {
	for _, ref := range refs {
		is, err := json.Marshal(records.Lookup(ref))
		if err != nil {
			w.t.Fatal(err)
		}
		if string(is) != last[ref.String()] {
			w.t.Errorf("%s is not what the journal says last:\n%s\n%s", ref, is, last[ref.String()])
		}
	}
}
