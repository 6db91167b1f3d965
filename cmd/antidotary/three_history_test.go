//go:build unix

package main

import (
	"fmt"
	"slices"
)

// historyTables and what fills them: each step of a mail, the journal's end
// when a sweep was stored, and the runs that lived when one began. They are
// written in the transactions that they tell of, by the database itself.
const historyTables = `
CREATE SCHEMA history;
CREATE TABLE history.mail (n BIGSERIAL PRIMARY KEY, mail BYTEA NOT NULL, before TEXT NOT NULL, after TEXT NOT NULL, same_token BOOLEAN NOT NULL, late BOOLEAN NOT NULL);
CREATE TABLE history.sweep (number BIGINT NOT NULL, head BIGINT NOT NULL, newest BIGINT NOT NULL);
CREATE TABLE history.run (job TEXT NOT NULL, slot BIGINT NOT NULL, worker TEXT NOT NULL, others BIGINT NOT NULL, stolen BOOLEAN NOT NULL);

CREATE FUNCTION history.note_mail() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF TG_OP = 'INSERT' THEN
    INSERT INTO history.mail (mail, before, after, same_token, late) VALUES (NEW.id, '', NEW.state, FALSE, FALSE);
  ELSE
    INSERT INTO history.mail (mail, before, after, same_token, late)
      VALUES (NEW.id, OLD.state, NEW.state, NEW.token IS NOT DISTINCT FROM OLD.token, coalesce(NEW.data_started >= OLD.lease_until, FALSE));
  END IF;
  IF NEW.state = 'claimed' THEN -- as on a slow disk: so two that claim at once do meet
    PERFORM pg_sleep(0.01);
  END IF;
  RETURN NULL;
END $$;
CREATE TRIGGER note_mail AFTER INSERT OR UPDATE ON public.outbox FOR EACH ROW EXECUTE FUNCTION history.note_mail();

CREATE FUNCTION history.note_sweep() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO history.sweep VALUES (NEW.number, NEW.head, (SELECT coalesce(max(position), 0) FROM public.journal));
  RETURN NULL;
END $$;
CREATE TRIGGER note_sweep AFTER INSERT ON public.sweep FOR EACH ROW EXECUTE FUNCTION history.note_sweep();

CREATE FUNCTION history.note_run() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO history.run VALUES (NEW.job, NEW.slot, NEW.worker,
    (SELECT count(*) FROM public.job_run o WHERE o.job = NEW.job AND o.id <> NEW.id AND o.state = 'running' AND o.lease_until > NEW.started),
    TG_OP = 'UPDATE' AND OLD.state = 'running' AND OLD.lease_until > NEW.started);
  RETURN NULL;
END $$;
CREATE TRIGGER note_run AFTER INSERT OR UPDATE ON public.job_run FOR EACH ROW WHEN (NEW.state = 'running') EXECUTE FUNCTION history.note_run();
`

func (w *trial) watchHistory() {
	if _, err := w.raw.ExecContext(w.t.Context(), historyTables); err != nil {
		w.t.Fatal(err)
	}
}

// lawful are the steps of a mail, as package store draws them; one begins under
// the claim that it has, while that lasts.
var lawful = map[string][]string{
	"":          {"queued"},
	"queued":    {"claimed"},
	"retry":     {"claimed"},
	"ambiguous": {"claimed"},
	"claimed":   {"started", "retry", "queued", "dead"},
	"started":   {"sent", "dead", "retry", "ambiguous"},
}

// checkSteps holds each mail's history against that, and gives how often each
// mail was begun, and how often what became of it was unclear.
func (w *trial) checkSteps() (begun, unclear map[string]int) {
	begun, unclear = make(map[string]int), make(map[string]int)
	w.each(`SELECT encode(mail, 'hex'), before, after, same_token, late FROM history.mail ORDER BY n`, func(scan func(...any) error) error {
		var mail, before, after string
		var sameToken, late bool
		if err := scan(&mail, &before, &after, &sameToken, &late); err != nil {
			return err
		}
		if !slices.Contains(lawful[before], after) || after == "started" && (!sameToken || late) {
			w.t.Errorf("mail %s went from %q to %q (under the same claim: %t, which had run out: %t)", mail, before, after, sameToken, late)
		}
		if after == "started" {
			begun[mail]++
		}
		if before == "started" && after == "ambiguous" {
			unclear[mail]++
		}
		return nil
	})
	return begun, unclear
}

// checkSweepsAndRuns: no sweep was stored that rests on old records, and no
// run of a job began while another lived.
func (w *trial) checkSweepsAndRuns() (sweeps int) {
	w.each(`SELECT number, head, newest FROM history.sweep ORDER BY number`, func(scan func(...any) error) error {
		var number, head, newest int64
		if err := scan(&number, &head, &newest); err != nil {
			return err
		}
		if sweeps++; head != newest {
			w.t.Errorf("sweep %d rests on the journal up to %d, and was stored when it reached %d", number, head, newest)
		}
		return nil
	})
	w.none("a run began while another of its job lived", `SELECT job, slot::text, worker || ', ' || others || ' others, stolen ' || stolen FROM history.run WHERE others > 0 OR stolen`)
	w.none("a slot was taken twice", `SELECT job, slot::text, count(*)::text FROM job_run GROUP BY job, slot HAVING count(*) > 1`)
	w.none("a sweep was left and no later one stands for it", `SELECT job, slot::text, worker FROM job_run r
		WHERE job = 'sweep' AND state <> 'done' AND NOT EXISTS (SELECT FROM job_run WHERE job = r.job AND slot > r.slot AND state = 'done')`)
	return sweeps
}

// none reports every row of three texts that a query gives.
func (w *trial) none(what, query string) {
	w.t.Helper()
	w.each(query, func(scan func(...any) error) error {
		var a, b, c string
		if err := scan(&a, &b, &c); err != nil {
			return err
		}
		w.t.Errorf("%s: %s, %s, %s", what, a, b, c)
		return nil
	})
}

// each goes through the rows of a query.
func (w *trial) each(query string, row func(scan func(...any) error) error) {
	w.t.Helper()
	rows, err := w.raw.QueryContext(w.t.Context(), query)
	if err == nil {
		defer rows.Close()
		for err == nil && rows.Next() {
			err = row(rows.Scan)
		}
		if err == nil {
			err = rows.Err()
		}
	}
	if err != nil {
		w.t.Fatal(fmt.Errorf("%s: %w", query, err))
	}
}
