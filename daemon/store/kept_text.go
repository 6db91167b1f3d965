package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// TextKind says what a kept text is.
type TextKind string

// The kinds of text.
const (
	TextRules    TextKind = "rules"
	TextHolidays TextKind = "holidays"
)

// holidayFile names the one text of holidays.
const holidayFile = "holidays.tsv"

// Text is what a sweep rests on beside the records, as it was read.
type Text struct {
	Hash  string
	Kind  TextKind
	Files map[string]string // texts by name
}

// TextsOf gives the texts that a rulebook was read from.
func TextsOf(book *compliance.Rulebook) []Text {
	return []Text{
		{book.Hash, TextRules, book.Files},
		{book.Holidays.Hash(), TextHolidays, map[string]string{holidayFile: book.Holidays.Text()}},
	}
}

type keptTextRow struct {
	bun.BaseModel `bun:"table:kept_text"`
	Hash          string   `bun:"hash,pk"`
	Kind          TextKind `bun:"kind"`
	KeptAt        int64    `bun:"kept_at"`
	Files         string   `bun:"files"`
}

// keepTexts saves the texts that are not kept yet. Few sweeps have any: a look
// is cheaper than to write all rules each time.
func keepTexts(ctx context.Context, tx bun.Tx, texts []Text, now time.Time) error {
	for _, t := range texts {
		var n int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM kept_text WHERE hash = ?`, t.Hash).Scan(&n); err != nil {
			return fmt.Errorf("look for kept %s: %w", t.Kind, classified(err))
		}
		if n > 0 {
			continue
		}
		files, err := json.Marshal(t.Files)
		if err != nil {
			return fmt.Errorf("write %s to keep: %w", t.Kind, err)
		}
		row := keptTextRow{Hash: t.Hash, Kind: t.Kind, KeptAt: micros(now), Files: string(files)}
		if _, err := tx.NewInsert().Model(&row).On("CONFLICT DO NOTHING").Exec(ctx); err != nil {
			return fmt.Errorf("keep %s: %w", t.Kind, classified(err))
		}
	}
	return nil
}

// ErrNotKept: no sweep kept the rules or holidays of that hash.
var ErrNotKept = errors.New("they were not kept")

// Rulebook reads again the rules and holidays that a sweep rested on. Its
// error says why they cannot be used; it matches ErrNotKept where there are
// none.
func (s *Store) Rulebook(ctx context.Context, packHash, holidayHash string) (book *compliance.Rulebook, err error) {
	var rules, dates map[string]string
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		if rules, err = filesOf(ctx, tx, packHash, TextRules); err != nil {
			return err
		}
		dates, err = filesOf(ctx, tx, holidayHash, TextHolidays)
		return err
	})
	if err != nil {
		return nil, err
	}
	holidays, err := day.ReadHolidays(holidayFile, strings.NewReader(dates[holidayFile]))
	if err != nil {
		return nil, fmt.Errorf("read the kept holidays: %w", err)
	}
	if book, err = compliance.ReadFiles(holidays, rules); err != nil {
		return nil, fmt.Errorf("read the kept rules: %w", err)
	}
	if book.Hash != packHash || holidays.Hash() != holidayHash {
		return nil, errors.New("read the kept rules: they are not what their hash says")
	}
	return book, nil
}

func filesOf(ctx context.Context, tx bun.IDB, hash string, kind TextKind) (files map[string]string, err error) {
	var text string
	err = tx.QueryRowContext(ctx, `SELECT files FROM kept_text WHERE hash = ? AND kind = ?`, hash, kind).Scan(&text)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, fmt.Errorf("%s of then: %w", kind, ErrNotKept)
	case err != nil:
		return nil, fmt.Errorf("read kept %s: %w", kind, classified(err))
	}
	if err := json.Unmarshal([]byte(text), &files); err != nil {
		return nil, fmt.Errorf("read kept %s: %w", kind, err)
	}
	return files, nil
}
