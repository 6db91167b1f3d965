-- INSERT OR REPLACE deletes the old row without asking the triggers that guard
-- against deletion, so it is refused before it begins.

CREATE TRIGGER journal_once BEFORE INSERT ON journal
WHEN EXISTS (SELECT 1 FROM journal WHERE position = NEW.position OR id = NEW.id)
BEGIN SELECT raise(ABORT, 'the journal is append-only'); END;

CREATE TRIGGER finding_transition_once BEFORE INSERT ON finding_transition
WHEN EXISTS (SELECT 1 FROM finding_transition WHERE id = NEW.id)
BEGIN SELECT raise(ABORT, 'what was told stays told'); END;
