-- When an activity was done to the second, where somebody knows it (an
-- instant, NULL where only the day is known), and what a label or a document
-- was found to carry (a JSON list of words, NULL where nobody wrote it down).

ALTER TABLE activity ADD COLUMN done_at INTEGER;
ALTER TABLE activity ADD COLUMN fields TEXT;
