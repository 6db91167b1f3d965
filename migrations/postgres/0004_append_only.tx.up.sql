-- TRUNCATE empties a table without asking the triggers that guard its rows.

CREATE TRIGGER journal_whole BEFORE TRUNCATE ON journal
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('the journal is append-only');

CREATE TRIGGER finding_transition_whole BEFORE TRUNCATE ON finding_transition
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('what was told stays told');
