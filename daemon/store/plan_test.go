package store

import (
	"context"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
)

// listener notes the statements that a database is given.
type listener struct {
	mu    sync.Mutex
	heard []string
}

func (l *listener) BeforeQuery(ctx context.Context, _ *bun.QueryEvent) context.Context { return ctx }

func (l *listener) AfterQuery(_ context.Context, e *bun.QueryEvent) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.heard = append(l.heard, e.Query)
}

// wholeTable is a step of a plan that goes through every row of a table that
// grows for ever; bounded is one that needs the index alone, or an index of
// only those mails that wait.
var (
	wholeTable = regexp.MustCompile(`SCAN (outbox|finding|finding_transition|journal|sweep|reminder)\b`)
	bounded    = regexp.MustCompile(`COVERING INDEX|INDEX outbox_(due|unsent|lease)\b`)
)

// TestNothingReadsEverythingThatEverWas: what is asked at each sweep, claim
// and count does not go through all mails, findings, reminders or entries of
// the journal.
// A mail's bytes lie before its state, so that such a scan would read them all.
func TestNothingReadsEverythingThatEverWas(t *testing.T) {
	st, path := opened(t)
	ear := &listener{}
	st.writer, st.reader = st.writer.WithQueryHook(ear), st.reader.WithQueryHook(ear)
	queued(t, st, mailTo("a@house.example"), mailTo("b@house.example"))
	for i, c := range claim(t, st) {
		if err := st.DataStarted(t.Context(), c.ID, c.Token); err != nil {
			t.Fatal(err)
		}
		if err := st.Finish(t.Context(), c.ID, c.Token, Outcome{State: []MailState{MailSent, MailRetry}[i], NextAttempt: noon.Add(time.Hour)}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := st.OutboxCounts(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := st.Ledger(t.Context(), guardOf(t, st).LastSweep, []compliance.Key{fullFinding().Key}); err != nil {
		t.Fatal(err)
	}
	db, planned := outsider(t, path), 0
	for _, statement := range ear.heard {
		word, _, _ := strings.Cut(strings.TrimSpace(statement), " ")
		if word != "SELECT" && word != "UPDATE" && word != "WITH" {
			continue
		}
		planned++
		rows, err := db.QueryContext(t.Context(), "EXPLAIN QUERY PLAN "+statement)
		if err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
		for rows.Next() {
			var id, parent, unused int
			var step string
			if err := rows.Scan(&id, &parent, &unused, &step); err != nil {
				t.Fatal(err)
			}
			if wholeTable.MatchString(step) && !bounded.MatchString(step) && !strings.HasSuffix(statement, "LIMIT 1") {
				t.Errorf("%s\nis answered by: %s", statement, step)
			}
		}
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if planned < 15 {
		t.Errorf("heard only %d statements of %d: the ear is deaf", planned, len(ear.heard))
	}
}
