//go:build unix

package main

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	_ "github.com/lib/pq"

	"antidotary/daemon/config"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/mailbox"
)

// Here three daemons, processes of their own, share one database and one mail
// server, and are killed, stopped, cut off and lied to while records change.
// Then one more daemon clears up, and what the mail server took is held
// against the database, and against a history that triggers wrote.
//
// All clocks run six hundred times as fast as they should: leases of 20 and 31
// minutes run out within two or three seconds, so that a daemon that was
// stopped comes back to claims that others hold.
const speed = 600

const (
	postgresVariable = "ANTIDOTARY_POSTGRES"        // as in package store
	seedVariable     = "ANTIDOTARY_TEST_SEED"       // of what is done to whom
	sinceVariable    = "ANTIDOTARY_TEST_CLOCK_FROM" // when the fast clock was at now, in nanoseconds
)

// fast is the clock of all that stand on one instant of the machine's.
func fast(since time.Time) func() time.Time {
	return func() time.Time { return now.Add(speed * time.Since(since)).Truncate(time.Microsecond) }
}

// trial is the house, its three daemons, and what befell them.
type trial struct {
	t        *testing.T
	rng      *rand.Rand
	began    time.Time
	clock    func() time.Time
	server   *sql.DB // beside the database, so that its own connections live
	database string  // address
	name     string  // of the database
	raw      *sql.DB // on the database
	box      *mailbox.Mailbox
	children []*child
	changes  *changes
	house    int64     // entries of the journal that the house made
	next     time.Time // deed
	deck     []func(*child)
	calmed   bool      // the deck kills nobody
	struck   time.Time // a sender
	tally    tally
}

func TestThreeDaemonsTellOnceWhateverHappens(t *testing.T) {
	w := newTrial(t)
	w.record()
	w.watchHistory()
	for i := range 3 {
		w.children = append(w.children, w.newChild(string(rune('a'+i))))
	}
	committing, stop := context.WithCancel(t.Context())
	defer stop()
	go w.changes.run(committing)
	w.trouble()
	stop()
	<-w.changes.done
	w.settle()
	w.usefulAgain()
	for _, c := range w.children {
		c.terminate()
	}
	w.check(w.clearUp())
	w.report()
}

func newTrial(t *testing.T) *trial {
	t.Helper()
	seed := uint64(time.Now().UnixNano())
	if given := os.Getenv(seedVariable); given != "" {
		var err error
		if seed, err = strconv.ParseUint(given, 10, 64); err != nil {
			t.Fatalf("%s: %v", seedVariable, err)
		}
	}
	w := &trial{t: t, rng: rand.New(rand.NewPCG(seed, 3)), began: time.Now()}
	w.clock = fast(w.began)
	w.newDatabase()
	t.Logf("%s=%d makes the same choices again, though not at the same instants", seedVariable, seed)
	var err error
	if w.box, err = mailbox.Start(mailbox.Options{Keep: 1 << 20}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.box.Close() })
	return w
}

// newDatabase makes a database for this test alone.
func (w *trial) newDatabase() {
	t := w.t
	address := os.Getenv(postgresVariable)
	if address == "" {
		t.Skipf("THREE DAEMONS NOT TESTED: %s is not set; see DEVELOPERS.md, Tests", postgresVariable)
	}
	u, err := url.Parse(address)
	if err != nil {
		t.Fatalf("%s is not an address: %v", postgresVariable, err)
	}
	id := inventory.NewID()
	w.name = fmt.Sprintf("antidotary_%x", id[:])
	w.server = opened(t, address)
	if _, err := w.server.ExecContext(t.Context(), "CREATE DATABASE "+w.name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if _, err := w.server.ExecContext(context.Background(), "DROP DATABASE "+w.name+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
		w.server.Close()
	})
	u.Path = "/" + w.name
	w.database = u.String()
	w.raw = opened(t, w.database)
	t.Cleanup(func() { w.raw.Close() })
}

func opened(t *testing.T, address string) *sql.DB {
	t.Helper()
	db, err := sql.Open("postgres", address)
	if err != nil {
		t.Fatal(err)
	}
	return db
}

// record puts the demo house into the database.
func (w *trial) record() {
	t := w.t
	st, err := store.Open(t.Context(), w.database, store.Options{Clock: w.clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	head, err := st.Commit(t.Context(), store.Actor{ID: "test"}, demo.House(day.In(w.clock(), time.UTC), day.Embedded()))
	if err != nil {
		t.Fatal(err)
	}
	records, _, err := st.Snapshot(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	w.house = head.Position
	w.changes = newChanges(t, st, records, w.rng.Uint64(), w.clock)
}

// config is how a daemon reaches the database at an address of its own.
func (w *trial) config(database string) config.Config {
	c := config.Default()
	c.Database, c.Listen = database, "127.0.0.1:0"
	c.Sweep, c.Confirm, c.Prune = "* * * * *", "*/5 * * * *", "*/15 * * * *"
	c.Mail = config.Mail{Mode: config.MailSMTP, Host: w.box.Host(), Port: w.box.Port(), Security: "none",
		From: "watch@house.example", FromName: "antidotary", Bounce: "watch@house.example"}
	return c
}

// configFile writes such a configuration for a process.
func (w *trial) configFile(name, database string) string {
	file := filepath.Join(w.t.TempDir(), name+".yaml")
	if err := os.WriteFile(file, []byte(w.config(database).Print()), 0o600); err != nil {
		w.t.Fatal(err)
	}
	return file
}

// trouble lets things happen until the time is up.
func (w *trial) trouble() {
	tick, end := time.NewTicker(50*time.Millisecond), time.NewTimer(troubled)
	defer tick.Stop()
	arrived := w.arrivals()
	for {
		select {
		case <-end.C:
			return
		case <-arrived:
			w.strikeSender()
		case <-tick.C:
			w.tend()
			w.deed()
		}
	}
}

// arrivals says when the mail server takes a mail.
func (w *trial) arrivals() <-chan struct{} {
	out := make(chan struct{})
	go func() {
		for n := 1; ; n++ {
			if _, err := w.box.Wait(w.t.Context(), n); err != nil {
				return
			}
			select {
			case out <- struct{}{}:
			default: // nobody looks just now
			}
		}
	}()
	return out
}

// until tends the daemons until a condition holds, for so long at most.
func (w *trial) until(what string, most time.Duration, holds func() bool) {
	w.t.Helper()
	tick, end := time.NewTicker(100*time.Millisecond), time.NewTimer(most)
	defer tick.Stop()
	for !holds() {
		select {
		case <-end.C:
			w.t.Fatalf("after %s it is not %s\n%s", most, what, w.troubles())
		case <-tick.C:
			w.tend()
		}
	}
}

// usefulAgain cuts everything one last time, and asks each daemon to find back
// by itself: to have read the database after the cut, and one of them to have
// swept and mailed somebody who came after it.
func (w *trial) usefulAgain() {
	for _, c := range w.children {
		c.proxy.CutAll()
		c.lives = c.life
	}
	w.terminate(1000)
	cut := w.clock()
	last := w.changes.last()
	w.until("true that each daemon has read since the last cut, and that the last who came was mailed", 100*time.Second, func() bool {
		for _, c := range w.children {
			if !c.hasReadSince(cut) {
				return false
			}
		}
		return w.mailed(last.Email)
	})
	for _, c := range w.children {
		if c.life != c.lives {
			w.t.Errorf("daemon %s was of no use until it was started again", c.name)
		}
	}
}

// mailed says whether the mail server took a mail for an address.
func (w *trial) mailed(address string) bool {
	for _, m := range w.box.Messages() {
		if len(m.To) == 1 && m.To[0] == address {
			return true
		}
	}
	return false
}

var actor = store.Actor{ID: "three", Name: "the test of three daemons"}
