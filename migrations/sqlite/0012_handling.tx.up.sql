-- Handling sessions, what lets people handle and what takes it away, work done
-- elsewhere that counts here, and species or animals placed on a stage; a
-- person's day of birth and absences (a JSON list, NULL for none). Instants are
-- NULL where only the day is known. A session's results have a letter for each
-- repetition: c clean, p prompted, s stopped.

ALTER TABLE person ADD COLUMN born TEXT CHECK (born LIKE '____-__-__');
ALTER TABLE person ADD COLUMN away TEXT;

CREATE TABLE handling_session (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  trainee BLOB NOT NULL REFERENCES person (id),
  mentor BLOB REFERENCES person (id),
  watched INTEGER NOT NULL CHECK (watched BETWEEN 0 AND 2),
  site BLOB NOT NULL REFERENCES site (id),
  species BLOB NOT NULL REFERENCES species (id),
  animals TEXT,
  task TEXT NOT NULL,
  results TEXT NOT NULL,
  held_on TEXT NOT NULL CHECK (held_on LIKE '____-__-__'),
  begun_at INTEGER,
  ended_at INTEGER,
  signed_at INTEGER,
  unsafe INTEGER NOT NULL CHECK (unsafe BETWEEN 0 AND 2),
  note TEXT NOT NULL
) STRICT;

CREATE TABLE authorisation (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  person BLOB NOT NULL REFERENCES person (id),
  what TEXT NOT NULL,
  stage INTEGER NOT NULL,
  species BLOB REFERENCES species (id),
  task TEXT,
  from_day TEXT NOT NULL CHECK (from_day LIKE '____-__-__'),
  done_at INTEGER,
  mentor BLOB REFERENCES person (id),
  signers TEXT,
  criteria TEXT NOT NULL,
  founding TEXT NOT NULL,
  good_until TEXT NOT NULL,
  reason TEXT NOT NULL
) STRICT;

CREATE TABLE credit (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  person BLOB NOT NULL REFERENCES person (id),
  done_at TEXT NOT NULL,
  proof TEXT NOT NULL,
  taxon TEXT NOT NULL,
  first_day TEXT NOT NULL CHECK (first_day LIKE '____-__-__'),
  last_day TEXT NOT NULL CHECK (last_day LIKE '____-__-__'),
  hours INTEGER NOT NULL,
  repetitions INTEGER NOT NULL,
  days INTEGER NOT NULL,
  percent INTEGER NOT NULL,
  decided_on TEXT NOT NULL CHECK (decided_on LIKE '____-__-__'),
  signers TEXT,
  note TEXT NOT NULL
) STRICT;

CREATE TABLE placement (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  subject TEXT NOT NULL,
  stage INTEGER NOT NULL,
  from_day TEXT NOT NULL CHECK (from_day LIKE '____-__-__'),
  good_until TEXT NOT NULL,
  decided_by BLOB NOT NULL REFERENCES person (id),
  reason TEXT NOT NULL
) STRICT;
