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

// deed does one thing to one of them, every now and then.
func (w *trial) deed() {
	if time.Now().Before(w.next) {
		return
	}
	w.next = time.Now().Add(w.between(80*time.Millisecond, 350*time.Millisecond))
	c := w.children[w.rng.IntN(len(w.children))]
	deeds := []func(*child){w.stopFor, w.cutAll, w.terminateSome, w.holdBack, w.failMail}
	if !w.isCalm() {
		deeds = append(deeds, w.allAtOnce, w.killOne, w.killOne, w.endOne, w.endOne, w.endOne, w.endOne, w.stopFor, w.failMail, w.cutInStart, w.cutInStart)
	}
	deeds[w.rng.IntN(len(deeds))](c)
}

// strikeSender kills or stops whoever began last while mails arrive: that is
// who sends them, most likely.
func (w *trial) strikeSender() {
	if w.isCalm() || w.rng.IntN(3) > 0 {
		return
	}
	youngest := w.children[0]
	for _, c := range w.children {
		if c.alive() && c.started.After(youngest.started) {
			youngest = c
		}
	}
	if w.rng.IntN(2) == 0 {
		w.killOne(youngest)
		return
	}
	w.stop(youngest, w.between(2500*time.Millisecond, 5*time.Second)) // a claim lasts two seconds
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

// allAtOnce has all three start in the same instant, as after a power cut: none
// reaches the database before the others do.
func (w *trial) allAtOnce(*child) {
	for _, c := range w.children {
		c.kill(0)
		c.proxy.Pause()
		c.release = time.Now().Add(700 * time.Millisecond)
	}
	w.next = time.Now().Add(1500 * time.Millisecond)
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
