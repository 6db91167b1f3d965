package daemon

import (
	"context"
	"sync"
	"time"

	"antidotary/daemon/jobs"
	"antidotary/daemon/store"
	"antidotary/inventory"
)

// How long a loop may go without a sign of life before it counts as stuck.
const (
	// idle: it wakes each half minute; ten times that is for a machine that is
	// very busy. (Common practice, no source.)
	idle = 10 * jobs.Wake
	// patience is more than one call of the database or the mail server lasts:
	// the server ends a statement after half a minute, TCP gives up after about
	// 15 minutes where nothing comes back (Linux, tcp(7), tcp_retries2), and an
	// attempt to send takes 15 at most (package smtp). A database or mail
	// server that is down is thus never a loop that is stuck: a restart would
	// not help. One that still waits after that waits for a connection that is
	// no more, and a restart makes a new one.
	patience = 20 * time.Minute
)

// pulse is the sign of life of one loop.
type pulse struct {
	name   string
	mu     sync.Mutex
	at     time.Time
	within time.Duration // the next sign must come in this time
	doing  string
}

// alive keeps the signs of life of all loops. A loop's own is in its context,
// so that whatever is called on its way can give one.
type alive struct {
	clock func() time.Time
	mu    sync.Mutex
	loops []*pulse
}

type pulseKey struct{}

// begin adds a loop.
func (a *alive) begin(ctx context.Context, name string, within time.Duration) context.Context {
	p := &pulse{name: name, at: a.clock(), within: within, doing: "begins"}
	a.mu.Lock()
	defer a.mu.Unlock()
	a.loops = append(a.loops, p)
	return context.WithValue(ctx, pulseKey{}, p)
}

// end takes the context's loop away.
func (a *alive) end(ctx context.Context) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for i, p := range a.loops {
		if p == ctx.Value(pulseKey{}) {
			a.loops = append(a.loops[:i:i], a.loops[i+1:]...)
			return
		}
	}
}

// beat is a sign of life of the context's loop, if it has one.
func (a *alive) beat(ctx context.Context, within time.Duration, doing string) {
	p, ok := ctx.Value(pulseKey{}).(*pulse)
	if !ok {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.at, p.within, p.doing = a.clock(), within, doing
}

// sign is what a loop showed last.
type sign struct {
	name, doing string
	ago, within time.Duration
}

func (a *alive) signs() (out []sign) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.clock()
	for _, p := range a.loops {
		p.mu.Lock()
		out = append(out, sign{p.name, p.doing, now.Sub(p.at), p.within})
		p.mu.Unlock()
	}
	return out
}

// slotsAlive gives a sign of life around each step of a job.
type slotsAlive struct {
	jobs.Slots
	alive *alive
}

// ClaimSlot implements jobs.Slots.
func (s slotsAlive) ClaimSlot(ctx context.Context, c store.SlotClaim) (store.Run, bool, error) {
	s.alive.beat(ctx, patience, "asks the database whether it is due")
	run, claimed, err := s.Slots.ClaimSlot(ctx, c)
	if claimed {
		s.alive.beat(ctx, limits[c.Job]+patience, "does its work")
	} else {
		s.alive.beat(ctx, idle, "waits")
	}
	return run, claimed, err
}

// FinishSlot implements jobs.Slots.
func (s slotsAlive) FinishSlot(ctx context.Context, run store.Run, problem error, again time.Duration) error {
	s.alive.beat(ctx, patience, "records what became of it")
	err := s.Slots.FinishSlot(ctx, run, problem, again)
	s.alive.beat(ctx, patience, "waits") // what is shown is brought up to date after it
	return err
}

// outboxAlive gives a sign of life around each step of a mail: a round with
// many mails may take hours.
type outboxAlive struct {
	*store.Store
	alive *alive
}

// Claim implements mailroom.Outbox.
func (o outboxAlive) Claim(ctx context.Context, n int, lease time.Duration) ([]store.Claimed, error) {
	o.alive.beat(ctx, patience, "looks for mails")
	return o.Store.Claim(ctx, n, lease)
}

// DataStarted implements mailroom.Outbox.
func (o outboxAlive) DataStarted(ctx context.Context, id, token inventory.ID) error {
	o.alive.beat(ctx, patience, "sends a mail")
	return o.Store.DataStarted(ctx, id, token)
}

// Finish implements mailroom.Outbox.
func (o outboxAlive) Finish(ctx context.Context, id, token inventory.ID, outcome store.Outcome) error {
	o.alive.beat(ctx, patience, "records what became of a mail")
	err := o.Store.Finish(ctx, id, token, outcome)
	o.alive.beat(ctx, patience, "goes on to the next mail")
	return err
}
