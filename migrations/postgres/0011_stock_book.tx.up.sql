-- Vials have a condition: those that are recorded counted, so they are written
-- down as checked. A lot has promises and loans, a place has seals (JSON lists,
-- NULL for none), and an activity a witness (a person, NULL for none) or why
-- there was none.

ALTER TABLE lot ADD COLUMN promises TEXT COLLATE "C";
ALTER TABLE lot ADD COLUMN loans TEXT COLLATE "C";
ALTER TABLE place ADD COLUMN seals TEXT COLLATE "C";
ALTER TABLE activity ADD COLUMN witness BYTEA REFERENCES person (id) DEFERRABLE;
ALTER TABLE activity ADD COLUMN unwitnessed TEXT COLLATE "C";

UPDATE lot SET movements = (
  SELECT jsonb_agg(m.value || '{"condition": "checked"}'::jsonb ORDER BY m.at)::text
  FROM jsonb_array_elements(lot.movements::jsonb) WITH ORDINALITY AS m (value, at)
) WHERE movements IS NOT NULL;
