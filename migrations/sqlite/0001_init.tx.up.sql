-- Identifiers are BLOBs of 16 bytes made by the client. Days are TEXT
-- YYYY-MM-DD, NULL where unset; ends are a day, 'never' or 'unknown'. Instants
-- are INTEGER microseconds since 1970 UTC. Lists within a record are JSON TEXT,
-- NULL where empty. Dates are declared TEXT on purpose: a DATE column makes the
-- driver guess at layouts.

CREATE TABLE organisation (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  name TEXT NOT NULL,
  mailed INTEGER NOT NULL,
  victims INTEGER NOT NULL CHECK (victims BETWEEN 1 AND 9)
) STRICT;

CREATE TABLE site (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  organisation BLOB NOT NULL REFERENCES organisation (id),
  name TEXT NOT NULL UNIQUE,
  zone TEXT NOT NULL,
  site_use TEXT NOT NULL,
  jurisdiction TEXT,
  contacts TEXT
) STRICT;

CREATE TABLE enclosure (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  site BLOB NOT NULL REFERENCES site (id),
  code TEXT NOT NULL,
  room TEXT NOT NULL,
  state TEXT NOT NULL,
  UNIQUE (site, code)
) STRICT;

CREATE TABLE species (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  accepted_name TEXT NOT NULL UNIQUE,
  family TEXT NOT NULL,
  common_name TEXT NOT NULL,
  synonyms TEXT,
  venomous INTEGER NOT NULL CHECK (venomous BETWEEN 0 AND 2),
  hazards TEXT NOT NULL,
  native_to TEXT,
  range_known INTEGER NOT NULL CHECK (range_known BETWEEN 0 AND 2),
  pressure_bandage INTEGER NOT NULL CHECK (pressure_bandage BETWEEN 0 AND 2),
  no_antivenom TEXT NOT NULL,
  certainty TEXT NOT NULL
) STRICT;

CREATE TABLE person (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  name TEXT NOT NULL,
  email TEXT NOT NULL,
  site BLOB REFERENCES site (id),
  offices TEXT,
  joined TEXT CHECK (joined LIKE '____-__-__'),
  leaves TEXT CHECK (leaves LIKE '____-__-__')
) STRICT;

CREATE TABLE animal (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  accession TEXT NOT NULL UNIQUE,
  species BLOB NOT NULL REFERENCES species (id),
  received_as TEXT NOT NULL,
  owner TEXT NOT NULL,
  custodian TEXT NOT NULL,
  bred INTEGER NOT NULL CHECK (bred BETWEEN 0 AND 2),
  country TEXT NOT NULL,
  born TEXT CHECK (born LIKE '____-__-__'),
  arrived TEXT CHECK (arrived LIKE '____-__-__'),
  received_from TEXT NOT NULL,
  left_how TEXT NOT NULL,
  left_on TEXT CHECK (left_on LIKE '____-__-__'),
  left_to TEXT NOT NULL,
  stays TEXT
) STRICT;

CREATE TABLE product (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  type TEXT NOT NULL UNIQUE,
  form TEXT NOT NULL,
  store_min_mc INTEGER NOT NULL,
  store_max_mc INTEGER NOT NULL,
  pack_size INTEGER NOT NULL,
  lead_days INTEGER NOT NULL,
  source TEXT NOT NULL,
  certainty TEXT NOT NULL
) STRICT;

CREATE TABLE coverage (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  product BLOB NOT NULL REFERENCES product (id),
  species BLOB NOT NULL REFERENCES species (id),
  basis TEXT NOT NULL,
  vials TEXT,
  source TEXT NOT NULL,
  certainty TEXT NOT NULL,
  UNIQUE (product, species)
) STRICT;

CREATE TABLE place (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  site BLOB NOT NULL REFERENCES site (id),
  name TEXT NOT NULL,
  min_mc INTEGER NOT NULL,
  max_mc INTEGER NOT NULL,
  UNIQUE (site, name)
) STRICT;

CREATE TABLE lot (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  product BLOB NOT NULL REFERENCES product (id),
  number TEXT NOT NULL,
  labelled TEXT NOT NULL,
  month_only INTEGER NOT NULL,
  extensions TEXT,
  holds TEXT,
  movements TEXT,
  UNIQUE (product, number)
) STRICT;

CREATE TABLE planned (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  kind TEXT NOT NULL,
  expected TEXT NOT NULL CHECK (expected LIKE '____-__-__'),
  site BLOB REFERENCES site (id),
  species BLOB REFERENCES species (id),
  product BLOB REFERENCES product (id),
  subject TEXT NOT NULL,
  count INTEGER NOT NULL,
  good_until TEXT NOT NULL,
  note TEXT NOT NULL,
  cancelled TEXT CHECK (cancelled LIKE '____-__-__')
) STRICT;

CREATE TABLE authority (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  name TEXT NOT NULL UNIQUE,
  zone TEXT NOT NULL,
  calendar TEXT NOT NULL,
  post_days INTEGER NOT NULL
) STRICT;

CREATE TABLE permit (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  number TEXT NOT NULL UNIQUE,
  class TEXT NOT NULL,
  authority BLOB REFERENCES authority (id),
  holder TEXT NOT NULL,
  sites TEXT,
  any_place INTEGER NOT NULL,
  animals TEXT,
  grants TEXT,
  issued TEXT CHECK (issued LIKE '____-__-__'),
  valid_from TEXT CHECK (valid_from LIKE '____-__-__'),
  expires TEXT NOT NULL,
  renewable INTEGER NOT NULL CHECK (renewable BETWEEN 0 AND 2),
  renews BLOB REFERENCES permit (id),
  applications TEXT,
  suspensions TEXT,
  revoked TEXT CHECK (revoked LIKE '____-__-__'),
  surrendered TEXT CHECK (surrendered LIKE '____-__-__')
) STRICT;

CREATE TABLE activity (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  what TEXT NOT NULL,
  subject TEXT NOT NULL,
  done_on TEXT NOT NULL CHECK (done_on LIKE '____-__-__'),
  done_by BLOB REFERENCES person (id),
  passed INTEGER NOT NULL CHECK (passed BETWEEN 0 AND 2),
  good_until TEXT NOT NULL,
  for_year INTEGER NOT NULL,
  note TEXT NOT NULL
) STRICT;

CREATE TABLE feed (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  topic TEXT NOT NULL,
  site BLOB REFERENCES site (id),
  keeper TEXT NOT NULL,
  complete_from TEXT NOT NULL CHECK (complete_from LIKE '____-__-__'),
  confirmed TEXT,
  max_age_days INTEGER NOT NULL CHECK (max_age_days > 0)
) STRICT;
CREATE UNIQUE INDEX feed_topic_site ON feed (topic, ifnull(site, x'00'));

CREATE TABLE not_watched (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  subject TEXT NOT NULL,
  declared_by BLOB NOT NULL REFERENCES person (id),
  why TEXT NOT NULL,
  from_day TEXT NOT NULL CHECK (from_day LIKE '____-__-__'),
  last_day TEXT NOT NULL CHECK (last_day LIKE '____-__-__')
) STRICT;

CREATE TABLE decision (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  ruling TEXT NOT NULL,
  subject TEXT NOT NULL,
  decided_by BLOB NOT NULL REFERENCES person (id),
  decided_on TEXT NOT NULL CHECK (decided_on LIKE '____-__-__'),
  last_day TEXT CHECK (last_day LIKE '____-__-__'),
  why TEXT NOT NULL,
  consequence TEXT NOT NULL
) STRICT;

-- The journal: what was changed, by whom, when, with the full after-image.
-- chain covers digest, and digest covers salt and payload; those two alone may
-- be erased, and the chain still holds.
CREATE TABLE journal (
  position INTEGER PRIMARY KEY,
  id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
  at INTEGER NOT NULL,
  actor TEXT NOT NULL,
  change TEXT NOT NULL,
  subject TEXT NOT NULL,
  schema INTEGER NOT NULL,
  payload TEXT,
  salt BLOB,
  digest BLOB NOT NULL CHECK (length(digest) = 32),
  chain BLOB NOT NULL CHECK (length(chain) = 32),
  CHECK ((payload IS NULL) = (salt IS NULL))
) STRICT;
CREATE INDEX journal_subject ON journal (subject, position);
CREATE TRIGGER journal_stays BEFORE DELETE ON journal
BEGIN SELECT raise(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER journal_erases_only BEFORE UPDATE ON journal
WHEN NOT (NEW.payload IS NULL AND NEW.salt IS NULL
  AND NEW.position = OLD.position AND NEW.id = OLD.id AND NEW.at = OLD.at AND NEW.actor = OLD.actor
  AND NEW.change = OLD.change AND NEW.subject = OLD.subject AND NEW.schema = OLD.schema
  AND NEW.digest = OLD.digest AND NEW.chain = OLD.chain)
BEGIN SELECT raise(ABORT, 'the journal is append-only'); END;

CREATE TABLE sweep (
  number INTEGER PRIMARY KEY,
  id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
  started INTEGER NOT NULL,
  finished INTEGER NOT NULL,
  head INTEGER NOT NULL,
  pack_hash TEXT NOT NULL,
  holiday_hash TEXT NOT NULL,
  engine TEXT NOT NULL,
  judged INTEGER NOT NULL
) STRICT;

CREATE TABLE finding (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  requirement TEXT NOT NULL,
  subject TEXT NOT NULL,
  occurrence TEXT NOT NULL,
  site BLOB,
  layer TEXT NOT NULL,
  severity TEXT NOT NULL,
  rule TEXT NOT NULL,
  standing INTEGER NOT NULL,
  state TEXT NOT NULL,
  step TEXT,
  cause TEXT NOT NULL,
  opened INTEGER NOT NULL,
  lapsed INTEGER NOT NULL,
  missed INTEGER NOT NULL,
  worsened INTEGER NOT NULL,
  arm INTEGER NOT NULL,
  closed INTEGER,
  how TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX finding_open ON finding (requirement, subject, occurrence) WHERE closed IS NULL;

-- What changed in which sweep: what people were told rests on this, so it is
-- never altered.
CREATE TABLE finding_transition (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  sweep BLOB NOT NULL REFERENCES sweep (id),
  finding BLOB NOT NULL REFERENCES finding (id),
  move TEXT NOT NULL,
  after TEXT NOT NULL,
  at INTEGER NOT NULL
) STRICT;
CREATE INDEX finding_transition_finding ON finding_transition (finding);
CREATE TRIGGER finding_transition_stays BEFORE DELETE ON finding_transition
BEGIN SELECT raise(ABORT, 'what was told stays told'); END;
CREATE TRIGGER finding_transition_same BEFORE UPDATE ON finding_transition
BEGIN SELECT raise(ABORT, 'what was told stays told'); END;

CREATE TABLE outbox (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  kind TEXT NOT NULL,
  recipient BLOB NOT NULL,
  address TEXT NOT NULL,
  local_day TEXT NOT NULL CHECK (local_day LIKE '____-__-__'),
  subject TEXT NOT NULL,
  message_id TEXT NOT NULL UNIQUE,
  bytes BLOB NOT NULL,
  queued_at INTEGER NOT NULL,
  state TEXT NOT NULL,
  attempts INTEGER NOT NULL,
  next_attempt INTEGER NOT NULL,
  token BLOB,
  lease_until INTEGER,
  data_started INTEGER,
  finished_at INTEGER,
  code INTEGER NOT NULL,
  enhanced TEXT NOT NULL,
  reply TEXT NOT NULL,
  UNIQUE (kind, recipient, local_day)
) STRICT;
CREATE INDEX outbox_due ON outbox (next_attempt) WHERE finished_at IS NULL;

CREATE TABLE reminder (
  requirement TEXT NOT NULL,
  subject TEXT NOT NULL,
  occurrence TEXT NOT NULL,
  step_do TEXT NOT NULL,
  instance TEXT NOT NULL,
  arm INTEGER NOT NULL,
  threshold INTEGER NOT NULL,
  recipient BLOB NOT NULL,
  mail BLOB NOT NULL REFERENCES outbox (id),
  at INTEGER NOT NULL,
  PRIMARY KEY (requirement, subject, occurrence, step_do, instance, arm, threshold, recipient)
) STRICT, WITHOUT ROWID;
