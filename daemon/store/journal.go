package store

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/inventory"
)

// Actor is who makes a change: a person or a program.
type Actor struct{ ID, Name string }

func (a Actor) String() string {
	if a.Name == "" {
		return a.ID
	}
	return a.ID + " (" + a.Name + ")"
}

// schemaOfPayload is the version of the after-images' JSON.
const schemaOfPayload = 1

// The chain's domains keep its hashes apart from any other use of the same
// bytes, and entries of the first format, whose actor is in the chain as it
// stands, apart from those in which a digest stands for it.
const (
	chainOfActor  = "antidotary journal 1\n"
	chainOfDigest = "antidotary journal 2\n"
)

type journalRow struct {
	bun.BaseModel `bun:"table:journal"`
	Position      int64   `bun:"position,pk"`
	ID            key     `bun:"id"`
	At            int64   `bun:"at"`
	Actor         string  `bun:"actor"`
	Change        string  `bun:"change"`
	Subject       string  `bun:"subject"`
	Schema        int     `bun:"schema"`
	Payload       *string `bun:"payload"`
	Salt          []byte  `bun:"salt"`
	Digest        []byte  `bun:"digest"`
	Chain         []byte  `bun:"chain"`
	ActorSalt     []byte  `bun:"actor_salt"`   // nil: erased, or of the first format
	ActorDigest   []byte  `bun:"actor_digest"` // nil: of the first format
}

// entryFor makes the journal's next entry: the record's full after-image.
func entryFor(prev Head, actor Actor, rec inventory.Record, now time.Time) (*journalRow, error) {
	payload, err := json.Marshal(rec)
	if err != nil {
		return nil, fmt.Errorf("write the after-image of %s: %w", rec.Name(), err)
	}
	text := string(payload)
	row := &journalRow{Position: prev.Position + 1, ID: key(inventory.NewID()), At: micros(now), Actor: actor.String(), ActorSalt: newSalt(),
		Change: "put " + rec.Ref().Kind.String(), Subject: rec.Ref().String(), Schema: schemaOfPayload, Payload: &text, Salt: newSalt()}
	row.Digest = digestOf(row.Salt, text)
	row.ActorDigest = digestOf(row.ActorSalt, row.Actor)
	row.Chain = row.link(prev.Chain)
	return row, nil
}

func newSalt() []byte {
	salt := make([]byte, 16)
	rand.Read(salt) // never fails: crypto/rand
	return salt
}

// digestOf hides a text behind its salt, so that an erased one cannot be
// guessed from what stays.
func digestOf(salt []byte, text string) []byte {
	h := sha256.New()
	h.Write(salt)
	h.Write([]byte(text))
	return h.Sum(nil)
}

// link is the chain over everything of the entry but payload and actor, for
// which their digests stand, and their salts. Each part goes in with its
// length, so that no two entries have the same bytes.
func (r *journalRow) link(prev [32]byte) []byte {
	h := sha256.New()
	part := func(b []byte) {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(b)))
		h.Write(n[:])
		h.Write(b)
	}
	number := func(n int64) { part(binary.BigEndian.AppendUint64(nil, uint64(n))) }
	domain, actor := chainOfDigest, r.ActorDigest
	if r.ActorDigest == nil {
		domain, actor = chainOfActor, []byte(r.Actor)
	}
	h.Write([]byte(domain))
	part(prev[:])
	number(r.Position)
	part(r.ID[:])
	number(r.At)
	part(actor)
	part([]byte(r.Change))
	part([]byte(r.Subject))
	number(int64(r.Schema))
	part(r.Digest)
	return h.Sum(nil)
}

// appendJournal writes entries for the records and gives the new head.
func (s *Store) appendJournal(ctx context.Context, tx bun.Tx, prev Head, actor Actor, records []inventory.Record, now time.Time) (Head, []journalRow, error) {
	rows := make([]journalRow, 0, len(records))
	for _, rec := range records {
		row, err := entryFor(prev, actor, rec, now)
		if err != nil {
			return Head{}, nil, err
		}
		prev.Position = row.Position
		copy(prev.Chain[:], row.Chain)
		rows = append(rows, *row)
	}
	if err := insertAll(ctx, tx, s.dialect, rows); err != nil {
		return Head{}, nil, fmt.Errorf("append to the journal: %w", err)
	}
	return prev, rows, nil
}
