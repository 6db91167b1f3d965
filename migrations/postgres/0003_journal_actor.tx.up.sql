-- Who made a change is people's data too. The chain covers a salted digest of
-- the actor; actor and actor_salt may be erased, and the chain still holds.
-- Entries from before have no actor_digest: the chain covers their actor as it
-- stands, so that one stays.

ALTER TABLE journal ADD COLUMN actor_salt BYTEA;
ALTER TABLE journal ADD COLUMN actor_digest BYTEA CHECK (actor_digest IS NULL OR length(actor_digest) = 32);

CREATE OR REPLACE FUNCTION journal_erases_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NOT (NEW.position = OLD.position AND NEW.id = OLD.id AND NEW.at = OLD.at
    AND NEW.change = OLD.change AND NEW.subject = OLD.subject AND NEW.schema = OLD.schema
    AND NEW.digest = OLD.digest AND NEW.chain = OLD.chain AND NEW.actor_digest IS NOT DISTINCT FROM OLD.actor_digest
    AND (NEW.payload IS NOT DISTINCT FROM OLD.payload AND NEW.salt IS NOT DISTINCT FROM OLD.salt
      OR NEW.payload IS NULL AND NEW.salt IS NULL)
    AND (NEW.actor = OLD.actor AND NEW.actor_salt IS NOT DISTINCT FROM OLD.actor_salt
      OR OLD.actor_digest IS NOT NULL AND NEW.actor = '' AND NEW.actor_salt IS NULL)) THEN
    RAISE EXCEPTION 'the journal is append-only' USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END $$;
