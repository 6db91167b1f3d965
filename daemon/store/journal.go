package store

import (
	"cmp"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
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

// schemaOfPayload is the version of the after-images' JSON; raised reads older
// ones.
const schemaOfPayload = 2

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

// image is what a change leaves of a record: the record, or nothing.
type image struct {
	of  inventory.Ref
	rec inventory.Record // nil: taken out
}

// takenOut stands in the journal for a record that was taken out.
const takenOut = "null"

// text gives the after-image as the journal keeps it.
func (i image) text() (string, error) {
	if i.rec == nil {
		return takenOut, nil
	}
	payload, err := json.Marshal(i.rec)
	if err != nil {
		return "", fmt.Errorf("write the after-image of %s: %w", i.rec.Name(), err)
	}
	return string(payload), nil
}

// said gives the words of an entry that has none from its change.
func (i image) said() string {
	if i.rec == nil {
		return "remove " + i.of.Kind.String()
	}
	return "put " + i.of.Kind.String()
}

// entryFor makes the journal's next entry: what was done, and the record's
// full after-image.
func entryFor(prev Head, actor Actor, said string, i image, now time.Time) (*journalRow, error) {
	text, err := i.text()
	if err != nil {
		return nil, err
	}
	row := &journalRow{Position: prev.Position + 1, ID: key(inventory.NewID()), At: micros(now), Actor: actor.String(), ActorSalt: newSalt(),
		Change: cmp.Or(said, i.said()), Subject: i.of.String(), Schema: schemaOfPayload, Payload: &text, Salt: newSalt()}
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

// appendJournal writes entries for what a change leaves and gives the new
// head. The words of a change that leaves several stand in each of its
// entries, with which of how many it is.
func (s *Store) appendJournal(ctx context.Context, tx bun.Tx, prev Head, actor Actor, words string, images []image, now time.Time) (Head, []journalRow, error) {
	rows := make([]journalRow, 0, len(images))
	for i, img := range images {
		row, err := entryFor(prev, actor, part(words, i+1, len(images)), img, now)
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

// part says which of how many entries of one change an entry is.
func part(words string, i, of int) string {
	if words == "" || of == 1 {
		return words
	}
	return fmt.Sprintf("%s, %d of %d", words, i, of)
}

var partOf = regexp.MustCompile(`^(.+), ([0-9]+) of ([0-9]+)$`)

// parted reads what part wrote.
func parted(change string) (words string, i, of int) {
	m := partOf.FindStringSubmatch(change)
	if m == nil {
		return change, 1, 1
	}
	i, _ = strconv.Atoi(m[2])
	of, _ = strconv.Atoi(m[3])
	return m[1], i, of
}
