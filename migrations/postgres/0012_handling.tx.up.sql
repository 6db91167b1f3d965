-- Handling sessions, what lets people handle and what takes it away, work done
-- elsewhere that counts here, and species or animals placed on a stage; a
-- person's day of birth and absences (a JSON list, NULL for none). Instants are
-- NULL where only the day is known. A session's results have a letter for each
-- repetition: c clean, p prompted, s stopped.

ALTER TABLE person ADD COLUMN born TEXT COLLATE "C" CHECK (born LIKE '____-__-__');
ALTER TABLE person ADD COLUMN away TEXT COLLATE "C";

CREATE TABLE handling_session (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  trainee BYTEA NOT NULL REFERENCES person (id) DEFERRABLE,
  mentor BYTEA REFERENCES person (id) DEFERRABLE,
  watched BIGINT NOT NULL CHECK (watched BETWEEN 0 AND 2),
  site BYTEA NOT NULL REFERENCES site (id) DEFERRABLE,
  species BYTEA NOT NULL REFERENCES species (id) DEFERRABLE,
  animals TEXT COLLATE "C",
  task TEXT COLLATE "C" NOT NULL,
  results TEXT COLLATE "C" NOT NULL,
  held_on TEXT COLLATE "C" NOT NULL CHECK (held_on LIKE '____-__-__'),
  begun_at BIGINT,
  ended_at BIGINT,
  signed_at BIGINT,
  unsafe BIGINT NOT NULL CHECK (unsafe BETWEEN 0 AND 2),
  note TEXT COLLATE "C" NOT NULL
);

CREATE TABLE authorisation (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  person BYTEA NOT NULL REFERENCES person (id) DEFERRABLE,
  what TEXT COLLATE "C" NOT NULL,
  stage BIGINT NOT NULL,
  species BYTEA REFERENCES species (id) DEFERRABLE,
  task TEXT COLLATE "C",
  from_day TEXT COLLATE "C" NOT NULL CHECK (from_day LIKE '____-__-__'),
  done_at BIGINT,
  mentor BYTEA REFERENCES person (id) DEFERRABLE,
  signers TEXT COLLATE "C",
  criteria TEXT COLLATE "C" NOT NULL,
  founding TEXT COLLATE "C" NOT NULL,
  good_until TEXT COLLATE "C" NOT NULL,
  reason TEXT COLLATE "C" NOT NULL
);

CREATE TABLE credit (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  person BYTEA NOT NULL REFERENCES person (id) DEFERRABLE,
  done_at TEXT COLLATE "C" NOT NULL,
  proof TEXT COLLATE "C" NOT NULL,
  taxon TEXT COLLATE "C" NOT NULL,
  first_day TEXT COLLATE "C" NOT NULL CHECK (first_day LIKE '____-__-__'),
  last_day TEXT COLLATE "C" NOT NULL CHECK (last_day LIKE '____-__-__'),
  hours BIGINT NOT NULL,
  repetitions BIGINT NOT NULL,
  days BIGINT NOT NULL,
  percent BIGINT NOT NULL,
  decided_on TEXT COLLATE "C" NOT NULL CHECK (decided_on LIKE '____-__-__'),
  signers TEXT COLLATE "C",
  note TEXT COLLATE "C" NOT NULL
);

CREATE TABLE placement (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  subject TEXT COLLATE "C" NOT NULL,
  stage BIGINT NOT NULL,
  from_day TEXT COLLATE "C" NOT NULL CHECK (from_day LIKE '____-__-__'),
  good_until TEXT COLLATE "C" NOT NULL,
  decided_by BYTEA NOT NULL REFERENCES person (id) DEFERRABLE,
  reason TEXT COLLATE "C" NOT NULL
);
