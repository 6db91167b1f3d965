package store

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// TestInvariant25AnyMutationShows: 10,000 random mutations of one row of a
// journal, in memory through the steps that Verify makes, each on the journal
// as it was: a bit of any column, a row removed (but the last: that is a tail),
// two rows swapped, a row put in before another. (One that is well made and put
// after the last is an entry like any other.)
func TestInvariant25AnyMutationShows(t *testing.T) {
	const times = 10000
	st, _ := opened(t)
	rows := mixedJournal(t, st)
	if problem := walked(rows); problem != "" {
		t.Fatalf("untouched: %s", problem)
	}
	r, counts := rand.New(rand.NewPCG(25, 1)), make(map[string]int)
	for range times {
		what, forged := mutate(r, rows)
		if counts[what]++; walked(forged) == "" {
			t.Errorf("%s: it still holds", what)
		}
	}
	kinds := 3 + len(bits(&rows[len(rows)-1])) // the last entry has every column
	for what, n := range counts {
		if n < times/(10*kinds) {
			t.Errorf("%s: only %d times", what, n)
		}
	}
	if len(counts) != kinds {
		t.Errorf("%d kinds of mutation were made, want %d: %v", len(counts), kinds, counts)
	}
	t.Logf("%d mutations of %d rows, all detected: %v", times, len(rows), counts)
}

// TestInvariant25InTheDatabase: hundreds of such mutations of what is stored,
// by somebody for whom no trigger works. The tables refuse it or Verify tells.
func TestInvariant25InTheDatabase(t *testing.T) {
	const times = 400
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			st := reopened(t, place(t))
			rows := mixedJournal(t, st)
			intruder(t, placeOf(t, st))
			r, refused := rand.New(rand.NewPCG(25, 2)), 0
			for range times {
				what, forged := mutate(r, rows)
				if err := rewrittenJournal(t, st, forged); err != nil {
					refused++
				} else if report := verified(t, st); report.Problem == "" {
					t.Errorf("%s: it still holds: %+v", what, report)
				}
			}
			ok(t, rewrittenJournal(t, st, rows))
			if report := verified(t, st); report.Problem != "" || report.Entries != int64(len(rows)) || refused > times/2 {
				t.Errorf("at the end, after %d were refused by the tables: %+v", refused, report)
			}
			t.Logf("%d mutations, %d of them refused by the tables", times, refused)
		})
	}
}

// TestInvariant25ATailShows: wherever the journal is cut off, it shows against
// the head that was noted last, even where it has grown as long again.
func TestInvariant25ATailShows(t *testing.T) {
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) {
			st := reopened(t, place(t))
			rows := mixedJournal(t, st)
			db := intruder(t, placeOf(t, st))
			noted := Head{Position: rows[len(rows)-1].Position}
			copy(noted.Chain[:], rows[len(rows)-1].Chain)
			for keep := range rows {
				run(t, db, `DELETE FROM journal WHERE position > ?`, keep)
				for grown := keep; grown <= len(rows)+1; grown++ {
					if r, err := st.VerifyAgainst(t.Context(), noted); err != nil || r.Problem == "" {
						t.Errorf("%d of %d left, grown to %d: %+v, %v", keep, len(rows), grown, r, err)
					}
					committed(t, st, anOffice())
				}
				restore(t, db)
			}
			if r, err := st.VerifyAgainst(t.Context(), noted); err != nil || r.Problem != "" {
				t.Errorf("whole again: %+v, %v", r, err)
			}
		})
	}
}

// rewrittenJournal puts other rows in the place of the whole journal.
func rewrittenJournal(t *testing.T, st *Store, rows []journalRow) error {
	t.Helper()
	return st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM journal`); err != nil {
			return err
		}
		return insertAll(ctx, tx, st.dialect, rows)
	}, nil)
}

// mixedJournal has all kinds of entries: of the first format, of one record
// and of several, of erased records, and of erased actors.
func mixedJournal(t *testing.T, st *Store) (rows []journalRow) {
	t.Helper()
	ok(t, rewrittenJournal(t, st, ofFirstFormat(t, 2)))
	p := compliance.Person{ID: inventory.NewID(), Called: "Somebody Invented"}
	gone := Actor{ID: "gone", Name: "Somebody Else"}
	for i := range 12 {
		by := Actor{ID: "test"}
		if i%4 == 1 {
			by = gone
		}
		p.Email = fmt.Sprintf("somebody.%d@house.example", i)
		batch := compliance.Batch{anOffice()}
		if i%3 == 0 {
			batch = append(batch, compliance.Record(p))
		}
		ok(t, committing(st, by, batch...)(t.Context()))
	}
	payloads, err := st.Erase(t.Context(), p.Ref().String())
	ok(t, err)
	actors, err := st.EraseActor(t.Context(), gone)
	ok(t, err)
	if payloads != 4 || actors < 3 {
		t.Fatalf("erased %d after-images and %d actors", payloads, actors)
	}
	ok(t, st.reader.NewSelect().Model(&rows).Order("position").Scan(t.Context()))
	return rows
}

// ofFirstFormat makes entries whose actor is in the chain as it stands.
func ofFirstFormat(t *testing.T, n int) (rows []journalRow) {
	t.Helper()
	var head Head
	for range n {
		row, err := entryFor(head, Actor{ID: "test"}, "", imaging(compliance.Authority{ID: inventory.NewID(), Title: "office", Zone: "UTC"}), noon)
		ok(t, err)
		row.ActorSalt, row.ActorDigest = nil, nil
		row.Chain = row.link(head.Chain)
		head.Position = row.Position
		copy(head.Chain[:], row.Chain)
		rows = append(rows, *row)
	}
	return rows
}

// walked is Verify over rows in memory: its own steps, in the order of
// positions, and its look below the first.
func walked(rows []journalRow) string {
	sorted := slices.Clone(rows)
	slices.SortStableFunc(sorted, func(a, b journalRow) int { return cmp.Compare(a.Position, b.Position) })
	var r VerifyReport
	for i := range sorted {
		if sorted[i].Position < 1 {
			return "there are entries before position 1"
		}
		if r.step(&sorted[i], nil); r.Problem != "" {
			break
		}
	}
	return r.Problem
}

// bits gives the columns of a row that hold something, and how to turn one of
// their bits over.
func bits(row *journalRow) map[string]func(*rand.Rand) {
	out := map[string]func(*rand.Rand){
		"position": func(r *rand.Rand) { row.Position ^= 1 << r.IntN(64) },
		"at":       func(r *rand.Rand) { row.At ^= 1 << r.IntN(64) },
		"schema":   func(r *rand.Rand) { row.Schema ^= 1 << r.IntN(32) },
		"id":       func(r *rand.Rand) { row.ID[r.IntN(16)] ^= 1 << r.IntN(8) },
	}
	for name, b := range map[string]*[]byte{"salt": &row.Salt, "digest": &row.Digest, "chain": &row.Chain, "actor_salt": &row.ActorSalt, "actor_digest": &row.ActorDigest} {
		if len(*b) > 0 {
			out[name] = func(r *rand.Rand) { *b = flipped(r, *b) }
		}
	}
	for name, s := range map[string]*string{"actor": &row.Actor, "change": &row.Change, "subject": &row.Subject, "payload": row.Payload} {
		if s != nil && *s != "" {
			out[name] = func(r *rand.Rand) {
				text := string(flipped(r, []byte(*s)))
				if *s = text; name == "payload" {
					row.Payload = &text
				}
			}
		}
	}
	return out
}

func flipped(r *rand.Rand, b []byte) []byte {
	b = bytes.Clone(b)
	b[r.IntN(len(b))] ^= 1 << r.IntN(8)
	return b
}

// mutate gives a journal with one mutation, and its kind.
func mutate(r *rand.Rand, rows []journalRow) (what string, out []journalRow) {
	out = slices.Clone(rows)
	i := r.IntN(len(out))
	switch r.IntN(6) {
	case 0:
		i = r.IntN(len(out) - 1)
		return "removed", slices.Delete(out, i, i+1)
	case 1:
		j := (i + 1 + r.IntN(len(out)-1)) % len(out)
		out[i].Position, out[j].Position = out[j].Position, out[i].Position
		return "swapped", out
	case 2:
		return "put in", slices.Insert(out, 0, another(r, out, i))
	}
	row := &out[i]
	if row.Payload != nil { // rows share it with the original
		text := *row.Payload
		row.Payload = &text
	}
	columns := bits(row)
	names := make([]string, 0, len(columns))
	for name := range columns {
		names = append(names, name)
	}
	slices.Sort(names)
	name := names[r.IntN(len(names))]
	columns[name](r)
	return name, out
}

// another is a row to put in before row i or at its place: a copy of any, or
// one that is well made and follows from the row before. Those behind it move
// on by one, or not.
func another(r *rand.Rand, rows []journalRow, i int) journalRow {
	extra := rows[r.IntN(len(rows))]
	extra.ID = key(inventory.NewID())
	if r.IntN(2) == 0 {
		var prev Head
		if i > 0 {
			prev.Position = rows[i-1].Position
			copy(prev.Chain[:], rows[i-1].Chain)
		}
		forged, err := entryFor(prev, Actor{ID: "test"}, "", imaging(inventory.Species{ID: inventory.NewID(), Accepted: "Naja forgata"}), noon)
		if err != nil {
			panic(err)
		}
		extra = *forged
	}
	if extra.Position = rows[i].Position; r.IntN(2) == 0 {
		for j := i; j < len(rows); j++ {
			rows[j].Position++
		}
	}
	return extra
}
