-- Vials have a condition: those that are recorded counted, so they are written
-- down as checked. A lot has promises and loans, a place has seals (JSON lists,
-- NULL for none), and an activity a witness (a person, NULL for none) or why
-- there was none.

ALTER TABLE lot ADD COLUMN promises TEXT;
ALTER TABLE lot ADD COLUMN loans TEXT;
ALTER TABLE place ADD COLUMN seals TEXT;
ALTER TABLE activity ADD COLUMN witness BLOB REFERENCES person (id);
ALTER TABLE activity ADD COLUMN unwitnessed TEXT;

UPDATE lot SET movements = (
  SELECT json_group_array(json(json_set(m.value, '$.condition', 'checked')) ORDER BY m.key)
  FROM json_each(lot.movements) AS m
) WHERE movements IS NOT NULL;
