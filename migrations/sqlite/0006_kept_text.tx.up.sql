-- The rule packs and holidays that sweeps rested on, as they were read: the
-- answer for a past day needs the rules of that day too. kind is 'rules' or
-- 'holidays'; files is a JSON object from file names to what they held.

CREATE TABLE kept_text (
  hash TEXT PRIMARY KEY,
  kind TEXT NOT NULL,
  kept_at INTEGER NOT NULL,
  files TEXT NOT NULL
) STRICT;
