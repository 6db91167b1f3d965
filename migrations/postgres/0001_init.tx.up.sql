-- The same tables as for SQLite, column for column: a test compares them.
-- Identifiers are BYTEA of 16 bytes made by the client. Days are TEXT YYYY-MM-DD,
-- NULL where unset; ends are a day, 'never' or 'unknown'. Instants are BIGINT
-- microseconds since 1970 UTC. Lists within a record are JSON in TEXT, not JSONB,
-- which would not keep them byte for byte. Text compares by its bytes (COLLATE
-- "C"), whatever the locale of the server, so that both databases order alike.
-- Foreign keys can wait for the commit: records refer to each other in any order.

CREATE TABLE organisation (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  name TEXT COLLATE "C" NOT NULL,
  mailed BOOLEAN NOT NULL,
  victims BIGINT NOT NULL CHECK (victims BETWEEN 1 AND 9)
);

CREATE TABLE site (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  organisation BYTEA NOT NULL REFERENCES organisation (id) DEFERRABLE,
  name TEXT COLLATE "C" NOT NULL UNIQUE,
  zone TEXT COLLATE "C" NOT NULL,
  site_use TEXT COLLATE "C" NOT NULL,
  jurisdiction TEXT COLLATE "C",
  contacts TEXT COLLATE "C"
);

CREATE TABLE enclosure (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  site BYTEA NOT NULL REFERENCES site (id) DEFERRABLE,
  code TEXT COLLATE "C" NOT NULL,
  room TEXT COLLATE "C" NOT NULL,
  state TEXT COLLATE "C" NOT NULL,
  UNIQUE (site, code)
);

CREATE TABLE species (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  accepted_name TEXT COLLATE "C" NOT NULL UNIQUE,
  family TEXT COLLATE "C" NOT NULL,
  common_name TEXT COLLATE "C" NOT NULL,
  synonyms TEXT COLLATE "C",
  venomous BIGINT NOT NULL CHECK (venomous BETWEEN 0 AND 2),
  hazards TEXT COLLATE "C" NOT NULL,
  native_to TEXT COLLATE "C",
  range_known BIGINT NOT NULL CHECK (range_known BETWEEN 0 AND 2),
  pressure_bandage BIGINT NOT NULL CHECK (pressure_bandage BETWEEN 0 AND 2),
  no_antivenom TEXT COLLATE "C" NOT NULL,
  certainty TEXT COLLATE "C" NOT NULL
);

CREATE TABLE person (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  name TEXT COLLATE "C" NOT NULL,
  email TEXT COLLATE "C" NOT NULL,
  site BYTEA REFERENCES site (id) DEFERRABLE,
  offices TEXT COLLATE "C",
  joined TEXT COLLATE "C" CHECK (joined LIKE '____-__-__'),
  leaves TEXT COLLATE "C" CHECK (leaves LIKE '____-__-__')
);

CREATE TABLE animal (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  accession TEXT COLLATE "C" NOT NULL UNIQUE,
  species BYTEA NOT NULL REFERENCES species (id) DEFERRABLE,
  received_as TEXT COLLATE "C" NOT NULL,
  owner TEXT COLLATE "C" NOT NULL,
  custodian TEXT COLLATE "C" NOT NULL,
  bred BIGINT NOT NULL CHECK (bred BETWEEN 0 AND 2),
  country TEXT COLLATE "C" NOT NULL,
  born TEXT COLLATE "C" CHECK (born LIKE '____-__-__'),
  arrived TEXT COLLATE "C" CHECK (arrived LIKE '____-__-__'),
  received_from TEXT COLLATE "C" NOT NULL,
  left_how TEXT COLLATE "C" NOT NULL,
  left_on TEXT COLLATE "C" CHECK (left_on LIKE '____-__-__'),
  left_to TEXT COLLATE "C" NOT NULL,
  stays TEXT COLLATE "C"
);

CREATE TABLE product (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  type TEXT COLLATE "C" NOT NULL UNIQUE,
  form TEXT COLLATE "C" NOT NULL,
  store_min_mc BIGINT NOT NULL,
  store_max_mc BIGINT NOT NULL,
  pack_size BIGINT NOT NULL,
  lead_days BIGINT NOT NULL,
  source TEXT COLLATE "C" NOT NULL,
  certainty TEXT COLLATE "C" NOT NULL
);

CREATE TABLE coverage (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  product BYTEA NOT NULL REFERENCES product (id) DEFERRABLE,
  species BYTEA NOT NULL REFERENCES species (id) DEFERRABLE,
  basis TEXT COLLATE "C" NOT NULL,
  vials TEXT COLLATE "C",
  source TEXT COLLATE "C" NOT NULL,
  certainty TEXT COLLATE "C" NOT NULL,
  UNIQUE (product, species)
);

CREATE TABLE place (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  site BYTEA NOT NULL REFERENCES site (id) DEFERRABLE,
  name TEXT COLLATE "C" NOT NULL,
  min_mc BIGINT NOT NULL,
  max_mc BIGINT NOT NULL,
  UNIQUE (site, name)
);

CREATE TABLE lot (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  product BYTEA NOT NULL REFERENCES product (id) DEFERRABLE,
  number TEXT COLLATE "C" NOT NULL,
  labelled TEXT COLLATE "C" NOT NULL,
  month_only BOOLEAN NOT NULL,
  extensions TEXT COLLATE "C",
  holds TEXT COLLATE "C",
  movements TEXT COLLATE "C",
  UNIQUE (product, number)
);

CREATE TABLE planned (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  kind TEXT COLLATE "C" NOT NULL,
  expected TEXT COLLATE "C" NOT NULL CHECK (expected LIKE '____-__-__'),
  site BYTEA REFERENCES site (id) DEFERRABLE,
  species BYTEA REFERENCES species (id) DEFERRABLE,
  product BYTEA REFERENCES product (id) DEFERRABLE,
  subject TEXT COLLATE "C" NOT NULL,
  count BIGINT NOT NULL,
  good_until TEXT COLLATE "C" NOT NULL,
  note TEXT COLLATE "C" NOT NULL,
  cancelled TEXT COLLATE "C" CHECK (cancelled LIKE '____-__-__')
);

CREATE TABLE authority (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  name TEXT COLLATE "C" NOT NULL UNIQUE,
  zone TEXT COLLATE "C" NOT NULL,
  calendar TEXT COLLATE "C" NOT NULL,
  post_days BIGINT NOT NULL
);

CREATE TABLE permit (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  number TEXT COLLATE "C" NOT NULL UNIQUE,
  class TEXT COLLATE "C" NOT NULL,
  authority BYTEA REFERENCES authority (id) DEFERRABLE,
  holder TEXT COLLATE "C" NOT NULL,
  sites TEXT COLLATE "C",
  any_place BOOLEAN NOT NULL,
  animals TEXT COLLATE "C",
  grants TEXT COLLATE "C",
  issued TEXT COLLATE "C" CHECK (issued LIKE '____-__-__'),
  valid_from TEXT COLLATE "C" CHECK (valid_from LIKE '____-__-__'),
  expires TEXT COLLATE "C" NOT NULL,
  renewable BIGINT NOT NULL CHECK (renewable BETWEEN 0 AND 2),
  renews BYTEA REFERENCES permit (id) DEFERRABLE,
  applications TEXT COLLATE "C",
  suspensions TEXT COLLATE "C",
  revoked TEXT COLLATE "C" CHECK (revoked LIKE '____-__-__'),
  surrendered TEXT COLLATE "C" CHECK (surrendered LIKE '____-__-__')
);

CREATE TABLE activity (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  what TEXT COLLATE "C" NOT NULL,
  subject TEXT COLLATE "C" NOT NULL,
  done_on TEXT COLLATE "C" NOT NULL CHECK (done_on LIKE '____-__-__'),
  done_by BYTEA REFERENCES person (id) DEFERRABLE,
  passed BIGINT NOT NULL CHECK (passed BETWEEN 0 AND 2),
  good_until TEXT COLLATE "C" NOT NULL,
  for_year BIGINT NOT NULL,
  note TEXT COLLATE "C" NOT NULL
);

CREATE TABLE feed (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  topic TEXT COLLATE "C" NOT NULL,
  site BYTEA REFERENCES site (id) DEFERRABLE,
  keeper TEXT COLLATE "C" NOT NULL,
  complete_from TEXT COLLATE "C" NOT NULL CHECK (complete_from LIKE '____-__-__'),
  confirmed TEXT COLLATE "C",
  max_age_days BIGINT NOT NULL CHECK (max_age_days > 0)
);
CREATE UNIQUE INDEX feed_topic_site ON feed (topic, coalesce(site, '\x00'::bytea));

CREATE TABLE not_watched (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  subject TEXT COLLATE "C" NOT NULL,
  declared_by BYTEA NOT NULL REFERENCES person (id) DEFERRABLE,
  why TEXT COLLATE "C" NOT NULL,
  from_day TEXT COLLATE "C" NOT NULL CHECK (from_day LIKE '____-__-__'),
  last_day TEXT COLLATE "C" NOT NULL CHECK (last_day LIKE '____-__-__')
);

CREATE TABLE decision (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  ruling TEXT COLLATE "C" NOT NULL,
  subject TEXT COLLATE "C" NOT NULL,
  decided_by BYTEA NOT NULL REFERENCES person (id) DEFERRABLE,
  decided_on TEXT COLLATE "C" NOT NULL CHECK (decided_on LIKE '____-__-__'),
  last_day TEXT COLLATE "C" CHECK (last_day LIKE '____-__-__'),
  why TEXT COLLATE "C" NOT NULL,
  consequence TEXT COLLATE "C" NOT NULL
);

-- The journal: what was changed, by whom, when, with the full after-image.
-- chain covers digest, and digest covers salt and payload; those two alone may
-- be erased, and the chain still holds.
CREATE TABLE journal (
  position BIGINT PRIMARY KEY,
  id BYTEA NOT NULL UNIQUE CHECK (length(id) = 16),
  at BIGINT NOT NULL,
  actor TEXT COLLATE "C" NOT NULL,
  change TEXT COLLATE "C" NOT NULL,
  subject TEXT COLLATE "C" NOT NULL,
  schema BIGINT NOT NULL,
  payload TEXT COLLATE "C",
  salt BYTEA,
  digest BYTEA NOT NULL CHECK (length(digest) = 32),
  chain BYTEA NOT NULL CHECK (length(chain) = 32),
  CHECK ((payload IS NULL) = (salt IS NULL))
);
CREATE INDEX journal_subject ON journal (subject, position);

CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'restrict_violation';
END $$;

CREATE FUNCTION journal_erases_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NOT (NEW.payload IS NULL AND NEW.salt IS NULL
    AND NEW.position = OLD.position AND NEW.id = OLD.id AND NEW.at = OLD.at AND NEW.actor = OLD.actor
    AND NEW.change = OLD.change AND NEW.subject = OLD.subject AND NEW.schema = OLD.schema
    AND NEW.digest = OLD.digest AND NEW.chain = OLD.chain) THEN
    RAISE EXCEPTION 'the journal is append-only' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END $$;

CREATE TRIGGER journal_stays BEFORE DELETE ON journal
FOR EACH ROW EXECUTE FUNCTION refuse_change('the journal is append-only');
CREATE TRIGGER journal_erases_only BEFORE UPDATE ON journal
FOR EACH ROW EXECUTE FUNCTION journal_erases_only();

CREATE TABLE sweep (
  number BIGINT GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY,
  id BYTEA NOT NULL UNIQUE CHECK (length(id) = 16),
  started BIGINT NOT NULL,
  finished BIGINT NOT NULL,
  head BIGINT NOT NULL,
  pack_hash TEXT COLLATE "C" NOT NULL,
  holiday_hash TEXT COLLATE "C" NOT NULL,
  engine TEXT COLLATE "C" NOT NULL,
  judged BIGINT NOT NULL
);

CREATE TABLE finding (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  requirement TEXT COLLATE "C" NOT NULL,
  subject TEXT COLLATE "C" NOT NULL,
  occurrence TEXT COLLATE "C" NOT NULL,
  site BYTEA,
  layer TEXT COLLATE "C" NOT NULL,
  severity TEXT COLLATE "C" NOT NULL,
  rule TEXT COLLATE "C" NOT NULL,
  standing BIGINT NOT NULL,
  state TEXT COLLATE "C" NOT NULL,
  step TEXT COLLATE "C",
  cause TEXT COLLATE "C" NOT NULL,
  opened BIGINT NOT NULL,
  lapsed BOOLEAN NOT NULL,
  missed BOOLEAN NOT NULL,
  worsened BIGINT NOT NULL,
  arm BIGINT NOT NULL,
  closed BIGINT,
  how TEXT COLLATE "C" NOT NULL
);
CREATE UNIQUE INDEX finding_open ON finding (requirement, subject, occurrence) WHERE closed IS NULL;

-- What changed in which sweep: what people were told rests on this, so it is
-- never altered.
CREATE TABLE finding_transition (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  sweep BYTEA NOT NULL REFERENCES sweep (id) DEFERRABLE,
  finding BYTEA NOT NULL REFERENCES finding (id) DEFERRABLE,
  move TEXT COLLATE "C" NOT NULL,
  after TEXT COLLATE "C" NOT NULL,
  at BIGINT NOT NULL
);
CREATE INDEX finding_transition_finding ON finding_transition (finding);
CREATE TRIGGER finding_transition_stays BEFORE DELETE ON finding_transition
FOR EACH ROW EXECUTE FUNCTION refuse_change('what was told stays told');
CREATE TRIGGER finding_transition_same BEFORE UPDATE ON finding_transition
FOR EACH ROW EXECUTE FUNCTION refuse_change('what was told stays told');

CREATE TABLE outbox (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  kind TEXT COLLATE "C" NOT NULL,
  recipient BYTEA NOT NULL,
  address TEXT COLLATE "C" NOT NULL,
  local_day TEXT COLLATE "C" NOT NULL CHECK (local_day LIKE '____-__-__'),
  subject TEXT COLLATE "C" NOT NULL,
  message_id TEXT COLLATE "C" NOT NULL UNIQUE,
  bytes BYTEA NOT NULL,
  queued_at BIGINT NOT NULL,
  state TEXT COLLATE "C" NOT NULL,
  attempts BIGINT NOT NULL,
  next_attempt BIGINT NOT NULL,
  token BYTEA,
  lease_until BIGINT,
  data_started BIGINT,
  finished_at BIGINT,
  code BIGINT NOT NULL,
  enhanced TEXT COLLATE "C" NOT NULL,
  reply TEXT COLLATE "C" NOT NULL,
  UNIQUE (kind, recipient, local_day)
);
CREATE INDEX outbox_due ON outbox (next_attempt) WHERE finished_at IS NULL;

CREATE TABLE reminder (
  requirement TEXT COLLATE "C" NOT NULL,
  subject TEXT COLLATE "C" NOT NULL,
  occurrence TEXT COLLATE "C" NOT NULL,
  step_do TEXT COLLATE "C" NOT NULL,
  instance TEXT COLLATE "C" NOT NULL,
  arm BIGINT NOT NULL,
  threshold BIGINT NOT NULL,
  recipient BYTEA NOT NULL,
  mail BYTEA NOT NULL REFERENCES outbox (id) DEFERRABLE,
  at BIGINT NOT NULL,
  PRIMARY KEY (requirement, subject, occurrence, step_do, instance, arm, threshold, recipient)
);
