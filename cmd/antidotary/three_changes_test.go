//go:build unix

package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// changes are what the test commits beside the daemons, on a connection of its
// own: people who come, papers that end soon, and lots that are held and
// released.
type changes struct {
	t     *testing.T
	store *store.Store
	clock func() time.Time
	rng   *rand.Rand
	house *compliance.Snapshot
	lots  []inventory.Lot
	done  chan struct{}

	mu   sync.Mutex
	made []*made
}

// made is one change that was tried: every record of it holds its mark.
type made struct {
	mark   string
	batch  compliance.Batch
	refs   []inventory.Ref
	person *compliance.Person
	paper  bool
	acked  bool
}

func newChanges(t *testing.T, st *store.Store, house *compliance.Snapshot, seed uint64, clock func() time.Time) *changes {
	c := &changes{t: t, store: st, clock: clock, rng: rand.New(rand.NewPCG(seed, 4)), house: house, done: make(chan struct{})}
	for lot := range house.Lots.All() {
		c.lots = append(c.lots, *lot)
	}
	slices.SortFunc(c.lots, func(a, b inventory.Lot) int { return slices.Compare(a.ID[:], b.ID[:]) })
	return c
}

// run commits one change after the other until the context ends.
func (c *changes) run(ctx context.Context) {
	defer close(c.done)
	tick := time.NewTicker(250 * time.Millisecond)
	defer tick.Stop()
	began := time.Now()
	people, ending := 0, 0
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		share := float64(time.Since(began)) / float64(troubled)
		switch {
		case people < newcomers && float64(people) < share*newcomers:
			people++
			c.commit(ctx, c.somebody())
		case ending < papers && float64(ending) < share*papers:
			ending++
			c.commit(ctx, c.paper(ending))
		default:
			c.commit(ctx, c.held())
		}
	}
}

// last is somebody who comes when run has ended, for certain.
func (c *changes) last() *compliance.Person {
	for range 20 {
		m := c.somebody()
		if c.commit(c.t.Context(), m); m.acked {
			return m.person
		}
	}
	c.t.Fatal("twenty changes in a row failed, on a connection that nobody cuts")
	return nil
}

// begin numbers a change.
func (c *changes) begin() *made {
	c.mu.Lock()
	defer c.mu.Unlock()
	m := &made{mark: fmt.Sprintf("three-%06d", len(c.made)+1)}
	c.made = append(c.made, m)
	return m
}

// somebody comes, in a role that is told of findings that stand.
func (c *changes) somebody() *made {
	m := c.begin()
	sites := slices.Collect(c.house.Sites.All())
	role := []compliance.Role{compliance.Administrator, compliance.Head}[c.rng.IntN(2)]
	m.person = &compliance.Person{ID: inventory.NewID(), Called: "Somebody " + m.mark, Email: m.mark + "@larkspur.example",
		Site: sites[c.rng.IntN(len(sites))].ID, Offices: []compliance.Office{{Role: role}}}
	m.refs = append(m.refs, m.person.Ref())
	m.batch = compliance.Batch{compliance.Record(*m.person), c.hold(m)}
	return m
}

// paper ends soon, and nobody has asked to renew it. Each ends on a day of its
// own, so that mails list them one by one.
func (c *changes) paper(n int) *made {
	m := c.begin()
	m.paper = true
	var like compliance.Permit
	for p := range c.house.Permits.All() {
		if p.Class == "liability-insurance" && (like.Number == "" || p.Number < like.Number) {
			like = *p
		}
	}
	like.ID, like.Number, like.Expires = inventory.NewID(), m.mark, day.Until(day.In(now, time.UTC).Add(15+n))
	m.refs = append(m.refs, like.Ref())
	m.batch = compliance.Batch{compliance.Record(like), c.hold(m)}
	return m
}

func (c *changes) held() *made {
	m := c.begin()
	m.batch = compliance.Batch{c.hold(m)}
	return m
}

// givesBack says that lots which were held may be used again, so that findings
// end, and open anew, several times within a day.
const givesBack = true

// hold takes a lot out of use, or gives it back.
func (c *changes) hold(m *made) compliance.Change {
	lot := c.lots[c.rng.IntN(len(c.lots))]
	from := day.In(now, time.UTC).Add(-3)
	h := inventory.Hold{From: from, Why: m.mark}
	if givesBack && c.rng.IntN(2) == 0 {
		h.Released = from.Add(1)
	}
	lot.Holds = []inventory.Hold{h}
	m.refs = append(m.refs, lot.Ref())
	return compliance.Record(lot)
}

// commit tries a change once. Only a refusal is wrong: an answer may be lost.
func (c *changes) commit(ctx context.Context, m *made) {
	_, err := c.store.Commit(ctx, actor, m.batch)
	var refused *compliance.Refusal
	if errors.As(err, &refused) {
		c.t.Errorf("%s: %v", m.mark, err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	m.acked = err == nil
}
