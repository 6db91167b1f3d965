//go:build unix

package main

import (
	"syscall"
	"time"

	"antidotary/notify/mailbox"
)

// between gives a random time.
func (w *trial) between(least, most time.Duration) time.Duration {
	return least + time.Duration(w.rng.Int64N(int64(most-least)))
}

// isCalm says that no daemon is killed any more.
func (w *trial) isCalm() bool { return time.Since(w.began) > troubled-calm }

func (w *trial) tend() {
	for _, c := range w.children {
		c.tend()
	}
}

// deed does one thing to one of them, every now and then. Deeds are dealt like
// cards, so that none is left out for long.
func (w *trial) deed() {
	if time.Now().Before(w.next) {
		return
	}
	w.next = time.Now().Add(w.between(80*time.Millisecond, 350*time.Millisecond))
	if w.isCalm() != w.calmed {
		w.deck, w.calmed = nil, true
	}
	if len(w.deck) == 0 {
		w.deck = []func(*child){w.stopFor, w.cutAll, w.terminateSome, w.holdBack, w.failMail}
		if !w.calmed {
			w.deck = append(w.deck, w.allAtOnce, w.killOne, w.killOne, w.endOne, w.endOne, w.endOne, w.cutInStart, w.cutInStart, w.stopFor)
		}
		w.rng.Shuffle(len(w.deck), func(i, j int) { w.deck[i], w.deck[j] = w.deck[j], w.deck[i] })
	}
	card := w.deck[0]
	w.deck = w.deck[1:]
	card(w.children[w.rng.IntN(len(w.children))])
}

// strikeSender takes the chance of mails that arrive: it kills whoever began
// last, who sends them most likely, or stops all three as a machine that
// sleeps, or the power fails. Claims on mails last two seconds, and have run
// out when they come back.
func (w *trial) strikeSender() {
	if w.isCalm() || time.Since(w.struck) < time.Second || w.rng.IntN(3) > 0 {
		return
	}
	w.struck = time.Now()
	const beyond = 2500 * time.Millisecond
	switch w.rng.IntN(5) {
	case 0, 1:
		youngest := w.children[0]
		for _, c := range w.children {
			if c.alive() && c.started.After(youngest.started) {
				youngest = c
			}
		}
		w.killOne(youngest)
	case 2, 3:
		for _, c := range w.children {
			w.stop(c, beyond)
		}
	default:
		w.failPower(beyond)
	}
}

func (w *trial) killOne(c *child) { c.kill(w.between(0, 300*time.Millisecond)) }

// endOne has a daemon end in order, and start again: then it sweeps at once.
func (w *trial) endOne(c *child) { c.end() }

// stopFor stops a daemon, at times for longer than its leases last.
func (w *trial) stopFor(c *child) {
	most := 6 * time.Second
	if w.isCalm() {
		most = 3 * time.Second
	}
	w.stop(c, w.between(300*time.Millisecond, most))
}

func (w *trial) stop(c *child, long time.Duration) {
	if c.alive() && c.resume.IsZero() && c.cmd.Process.Signal(syscall.SIGSTOP) == nil {
		c.resume = time.Now().Add(long)
		w.tally.stops++
	}
}

// allAtOnce has all three die and start in the same instant.
func (w *trial) allAtOnce(*child) { w.failPower(0) }

// failPower lets none reach the database before the others do.
func (w *trial) failPower(long time.Duration) {
	back := time.Now().Add(long + 700*time.Millisecond) // until all have come as far as that
	for _, c := range w.children {
		c.kill(long)
		c.proxy.Pause()
		c.release = back
	}
	w.next = back.Add(500 * time.Millisecond)
}

func (w *trial) cutAll(c *child) {
	c.proxy.CutAll()
	w.tally.cuts++
}

// holdBack is a network that carries nothing for a while.
func (w *trial) holdBack(c *child) {
	if c.release.IsZero() {
		c.proxy.Pause()
		c.release = time.Now().Add(w.between(200*time.Millisecond, 2*time.Second))
		w.tally.holds++
	}
}

// cutInStart has a daemon start again and lose the connection, or an answer,
// at something that it writes.
func (w *trial) cutInStart(c *child) {
	texts := []string{"COMMIT", "UPDATE outbox SET state", "UPDATE job_run", `INSERT INTO "job_run"`, "pg_advisory_xact_lock"}
	text := texts[w.rng.IntN(len(texts))]
	if w.rng.IntN(2) == 0 {
		text = texts[0]
	}
	if w.rng.IntN(2) == 0 {
		c.proxy.CutBefore(text)
	} else {
		c.proxy.CutReplyTo(text)
	}
	w.tally.armed++
	c.end()
}

func (w *trial) terminateSome(*child) { w.terminate(1 + w.rng.IntN(3)) }

// terminate ends sessions of anybody on the database, this test's among them.
func (w *trial) terminate(most int) {
	rows, err := w.server.QueryContext(w.t.Context(),
		`SELECT pg_terminate_backend(pid) FROM (SELECT pid FROM pg_stat_activity WHERE datname = $1 ORDER BY random() LIMIT $2) AS a`, w.name, most)
	if err != nil {
		w.t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		w.tally.terminated++
	}
	if err := rows.Err(); err != nil {
		w.t.Fatal(err)
	}
}

// failMail has the mail server take a mail and not say so, end in the middle
// of one, or ask for patience.
func (w *trial) failMail(*child) {
	bad := []mailbox.Fault{
		{At: mailbox.Dot, Do: mailbox.Lose, Times: 1},
		{At: mailbox.Dot, Do: mailbox.Refuse, Reply: "451 4.3.0 later", Times: 1},
		{At: mailbox.Body, Do: mailbox.Drop, Times: 1},
		{At: mailbox.Rcpt, Do: mailbox.Refuse, Reply: "450 4.2.0 later", Times: 1 + w.rng.IntN(20)},
	}
	if err := w.box.SetScript(mailbox.Script{bad[w.rng.IntN(len(bad))]}); err != nil {
		w.t.Fatal(err)
	}
	w.tally.mailFaults++
}

// settle undoes what goes on, and waits until all three watch.
func (w *trial) settle() {
	if err := w.box.SetScript(nil); err != nil {
		w.t.Fatal(err)
	}
	for _, c := range w.children {
		c.resume, c.release = w.due(c.resume), w.due(c.release)
	}
	w.until("all three watch", 30*time.Second, func() bool {
		for _, c := range w.children {
			if !c.watches() || !c.resume.IsZero() || !c.release.IsZero() {
				return false
			}
		}
		return true
	})
}

// due has something that is to end later end now.
func (w *trial) due(at time.Time) time.Time {
	if at.IsZero() {
		return at
	}
	return w.began
}
