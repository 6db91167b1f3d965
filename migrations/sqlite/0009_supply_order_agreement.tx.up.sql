-- What suppliers offer, what was ordered, and which partners hand out
-- antivenom under a signed agreement; which sites vials of a place reach; and
-- several sources of what a product is good for, by the origin of the animals.
-- Money is in minor units of its currency.

ALTER TABLE site ADD COLUMN antivenom TEXT;
ALTER TABLE animal ADD COLUMN region TEXT;
UPDATE animal SET region = '';
ALTER TABLE product ADD COLUMN approval TEXT;
UPDATE product SET approval = '';
ALTER TABLE place ADD COLUMN reach TEXT;

-- SQLite cannot take a rule out of a table: coverage is made again, without
-- the one that a product has one row for a species.
ALTER TABLE coverage RENAME TO coverage_by_one;
CREATE TABLE coverage (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  product BLOB NOT NULL REFERENCES product (id),
  species BLOB NOT NULL REFERENCES species (id),
  locality TEXT NOT NULL,
  basis TEXT NOT NULL,
  vials TEXT,
  source TEXT NOT NULL,
  certainty TEXT NOT NULL,
  UNIQUE (product, species, locality, source)
) STRICT;
INSERT INTO coverage (id, product, species, locality, basis, vials, source, certainty)
SELECT id, product, species, '', basis, vials, source, certainty FROM coverage_by_one;
DROP TABLE coverage_by_one;

CREATE TABLE supply (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  product BLOB NOT NULL REFERENCES product (id),
  supplier TEXT NOT NULL,
  pack_size INTEGER NOT NULL,
  min_packs INTEGER NOT NULL,
  pack_price INTEGER NOT NULL,
  order_fee INTEGER NOT NULL,
  currency TEXT NOT NULL,
  lead_days INTEGER NOT NULL,
  paper TEXT NOT NULL,
  paper_days INTEGER NOT NULL,
  customs_days INTEGER NOT NULL,
  check_days INTEGER NOT NULL,
  life_days INTEGER NOT NULL,
  offered_from TEXT CHECK (offered_from LIKE '____-__-__'),
  offered_until TEXT NOT NULL,
  source TEXT NOT NULL,
  certainty TEXT NOT NULL
) STRICT;

CREATE TABLE vial_order (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  number TEXT NOT NULL UNIQUE,
  product BLOB NOT NULL REFERENCES product (id),
  place BLOB NOT NULL REFERENCES place (id),
  supply BLOB REFERENCES supply (id),
  ordered_from TEXT NOT NULL,
  vials INTEGER NOT NULL CHECK (vials > 0),
  expected TEXT CHECK (expected LIKE '____-__-__'),
  labelled TEXT NOT NULL,
  life_days INTEGER NOT NULL,
  note TEXT NOT NULL,
  stages TEXT NOT NULL
) STRICT;

CREATE TABLE agreement (
  id BLOB PRIMARY KEY CHECK (length(id) = 16),
  number TEXT NOT NULL,
  partner TEXT NOT NULL,
  site BLOB NOT NULL REFERENCES site (id),
  product BLOB NOT NULL REFERENCES product (id),
  minutes INTEGER NOT NULL,
  access TEXT NOT NULL,
  signed TEXT NOT NULL CHECK (signed LIKE '____-__-__'),
  good_until TEXT NOT NULL,
  ended TEXT CHECK (ended LIKE '____-__-__'),
  fresh_days INTEGER NOT NULL,
  confirmations TEXT,
  note TEXT NOT NULL,
  UNIQUE (product, site, number)
) STRICT;
