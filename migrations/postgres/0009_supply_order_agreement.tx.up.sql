-- What suppliers offer, what was ordered, and which partners hand out
-- antivenom under a signed agreement; which sites vials of a place reach; and
-- several sources of what a product is good for, by the origin of the animals.
-- Money is in minor units of its currency.

ALTER TABLE site ADD COLUMN antivenom TEXT COLLATE "C";
ALTER TABLE animal ADD COLUMN region TEXT COLLATE "C";
UPDATE animal SET region = '';
ALTER TABLE product ADD COLUMN approval TEXT COLLATE "C";
UPDATE product SET approval = '';
ALTER TABLE place ADD COLUMN reach TEXT COLLATE "C";

ALTER TABLE coverage ADD COLUMN locality TEXT COLLATE "C" NOT NULL DEFAULT '';
ALTER TABLE coverage ALTER COLUMN locality DROP DEFAULT;
ALTER TABLE coverage DROP CONSTRAINT coverage_product_species_key;
ALTER TABLE coverage ADD UNIQUE (product, species, locality, source);

CREATE TABLE supply (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  product BYTEA NOT NULL REFERENCES product (id) DEFERRABLE,
  supplier TEXT COLLATE "C" NOT NULL,
  pack_size BIGINT NOT NULL,
  min_packs BIGINT NOT NULL,
  pack_price BIGINT NOT NULL,
  order_fee BIGINT NOT NULL,
  currency TEXT COLLATE "C" NOT NULL,
  lead_days BIGINT NOT NULL,
  paper TEXT COLLATE "C" NOT NULL,
  paper_days BIGINT NOT NULL,
  customs_days BIGINT NOT NULL,
  check_days BIGINT NOT NULL,
  life_days BIGINT NOT NULL,
  offered_from TEXT COLLATE "C" CHECK (offered_from LIKE '____-__-__'),
  offered_until TEXT COLLATE "C" NOT NULL,
  source TEXT COLLATE "C" NOT NULL,
  certainty TEXT COLLATE "C" NOT NULL
);

CREATE TABLE vial_order (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  number TEXT COLLATE "C" NOT NULL UNIQUE,
  product BYTEA NOT NULL REFERENCES product (id) DEFERRABLE,
  place BYTEA NOT NULL REFERENCES place (id) DEFERRABLE,
  supply BYTEA REFERENCES supply (id) DEFERRABLE,
  ordered_from TEXT COLLATE "C" NOT NULL,
  vials BIGINT NOT NULL CHECK (vials > 0),
  expected TEXT COLLATE "C" CHECK (expected LIKE '____-__-__'),
  labelled TEXT COLLATE "C" NOT NULL,
  life_days BIGINT NOT NULL,
  note TEXT COLLATE "C" NOT NULL,
  stages TEXT COLLATE "C" NOT NULL
);

CREATE TABLE agreement (
  id BYTEA PRIMARY KEY CHECK (length(id) = 16),
  number TEXT COLLATE "C" NOT NULL,
  partner TEXT COLLATE "C" NOT NULL,
  site BYTEA NOT NULL REFERENCES site (id) DEFERRABLE,
  product BYTEA NOT NULL REFERENCES product (id) DEFERRABLE,
  minutes BIGINT NOT NULL,
  access TEXT COLLATE "C" NOT NULL,
  signed TEXT COLLATE "C" NOT NULL CHECK (signed LIKE '____-__-__'),
  good_until TEXT COLLATE "C" NOT NULL,
  ended TEXT COLLATE "C" CHECK (ended LIKE '____-__-__'),
  fresh_days BIGINT NOT NULL,
  confirmations TEXT COLLATE "C",
  note TEXT COLLATE "C" NOT NULL,
  UNIQUE (product, site, number)
);
